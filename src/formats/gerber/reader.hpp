// SPDX-License-Identifier: Apache-2.0
// Reads the commands of a Gerber file one after the other and has them plotted.
#pragma once

#include <optional>

#include "formats/gerber/plotter.hpp"

namespace isthmus::formats::gerber {

// How coordinate digits become nanometres.
struct CoordinateFormat {
  bool known{false};
  bool trailing_omitted{false};
  bool incremental{false};
  int integers_x{}, decimals_x{}, integers_y{}, decimals_y{};
};

class Reader {
 public:
  Reader(std::string_view bytes, const std::string& file, Diagnostics& notes);
  Result<LayerImage> read();

 private:
  // One data block's operation, gathered until it can be carried out.
  struct Operation {
    std::optional<std::int64_t> x, y, i, j;  // nm as written
    int code{0};                             // 1, 2, 3; 0 none given
    std::size_t at{};
    [[nodiscard]] bool any() const { return x || y || i || j; }
  };

  // gerber_reader.cpp: characters, words, data blocks
  bool looks_like_gerber();
  bool read_all();
  void skip_space();
  bool read_data_block();
  bool read_word(char letter, Operation& op);
  bool read_coordinate(char axis, Operation& op);
  bool read_integer(char letter, long& value);
  bool comment();
  bool g_code(long code, Operation& op, std::size_t at);
  bool d_code(long code, Operation& op, std::size_t at);
  bool m_code(long code, std::size_t at);
  bool perform(Operation& op);
  bool finish();
  bool require_units(std::size_t at);

  // gerber_operations.cpp: D01 D02 D03
  bool target(const Operation& op, Position& to);
  bool plot_to(const Operation& op, Position to, Spot spot);
  bool arc_to(const Operation& op, Position to, Spot spot);
  std::optional<Arc> find_arc(const Operation& op, Position to, Spot spot);
  std::optional<Arc> single_quadrant_arc(Position offset, Position to, Spot spot);

  // gerber_extended.cpp: commands between % signs
  bool read_extended();
  bool extended(std::string_view command);
  bool format_specification(std::string_view text);
  bool units(std::string_view text);
  bool set_units(double nm, std::size_t at);
  bool polarity(std::string_view text);
  bool mirror(std::string_view text);
  bool rotate_or_scale(std::string_view text);
  bool step_repeat(std::string_view text);
  bool block(std::string_view text);
  bool deprecated(std::string_view text);
  bool only_default(std::string_view text);

  std::string_view bytes_;
  std::size_t pos_{0};
  int line_{1};
  LayerImage image_;
  Report report_;
  Apertures apertures_;
  AttributeDictionary attributes_;
  Plotter plotter_;

  CoordinateFormat format_;
  double unit_{0};  // nm per file unit; 0 unknown
  Position current_;
  bool current_known_{false};
  int interpolation_{0};  // 1 line, 2 clockwise, 3 counter-clockwise; 0 not set: line
  int quadrants_{0};      // 74 single, 75 multi, 0 not set
  int last_code_{0};      // for coordinates without D code
  bool ended_{false};
};

}  // namespace isthmus::formats::gerber
