// SPDX-License-Identifier: Apache-2.0
// Small boards drawn for a test: written as files, read back through the whole chain.
#pragma once

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "isthmus/expect/board.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::audit {

// All lengths in millimetres.
class DrawnBoard {
 public:
  using Way = std::vector<std::pair<double, double>>;

  DrawnBoard(std::string stage, std::string joins, bool two_sided = true)
      : stage_(std::move(stage)), joins_(std::move(joins)), two_sided_(two_sided) {}

  DrawnBoard& pad(Side side, double x, double y, double d = 1.0);
  DrawnBoard& track(Side side, const Way& way, double width = 0.5);
  DrawnBoard& area(Side side, const Way& corners);
  // A pad and its record.
  DrawnBoard& surface(const std::string& net, const std::string& ref, const std::string& pin,
                      double x, double y, Side side = Side::top, double d = 1.0);
  // A hole with rings on both sides, and its record.
  DrawnBoard& through(const std::string& net, const std::string& ref, const std::string& pin,
                      double x, double y, double drill = 0.8, double d = 1.6);
  DrawnBoard& hole(double x, double y, double drill = 0.8, double d = 1.6);  // without a record
  DrawnBoard& slot(double x0, double y0, double x1, double y1, double width);
  DrawnBoard& through_record(const std::string& net, const std::string& ref, const std::string& pin,
                             double x, double y, double drill, bool plated);
  DrawnBoard& unplated();
  DrawnBoard& netlist(const std::string& source);
  DrawnBoard& more(const std::string& yaml);

  [[nodiscard]] std::unique_ptr<expect::Board> load() const;

 private:
  struct Layer {
    std::string words;
    std::vector<std::pair<double, int>> apertures;
  };
  Layer& layer(Side side) { return side == Side::bottom ? bottom_ : top_; }
  static int aperture(Layer& layer, double d);
  static std::string gerber(const Layer& layer);
  [[nodiscard]] std::string drills() const;
  [[nodiscard]] std::string yaml() const;

  std::string stage_, joins_;
  bool two_sided_;
  Layer top_, bottom_;
  std::vector<std::pair<double, std::string>> drills_;  // diameter, words
  std::string records_, netlist_{"net.d356"}, more_;
  bool plated_{true};
};

}  // namespace isthmus::audit
