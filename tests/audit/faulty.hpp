// SPDX-License-Identifier: Apache-2.0
// A raster with faults on it: only what the faults touch is flooded again.
#pragma once

#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "tests/audit/raster.hpp"

namespace isthmus::audit {

enum class FaultKind { slit, hole, ways, splash, masked };
const char* name(FaultKind k);

// A place where a splash takes hold: copper, or the metal in a hole.
struct Hold {
  Cell cell;
  std::optional<std::size_t> metal{};
};
struct Fault {
  FaultKind kind{};
  std::vector<Cell> removed;         // copper gone
  std::vector<std::size_t> emptied;  // metals gone
  std::vector<std::pair<Hold, Hold>> joined;
  Position at;
  Side side{Side::top};  // both: a hole, or an inner layer
  std::int32_t layer{};
};

// REQUIRES: the raster outlives it. One at a time: apply() takes the last faults off first.
class Faulty {
 public:
  explicit Faulty(const Raster& raster);

  void apply(const Fault& fault);
  // Conductors that the fault touches, by their labels on the good board.
  [[nodiscard]] const std::vector<Label>& touched() const { return touched_; }
  // False: every label is that of the good board (what is removed apart).
  [[nodiscard]] bool changes_anything() const { return next_ > raster_.labels || !unions_.empty(); }
  [[nodiscard]] bool removed(Cell c) const;
  [[nodiscard]] bool emptied(std::size_t metal) const;
  // kNone where the fault has taken it away.
  [[nodiscard]] Label at(Cell c) const;
  [[nodiscard]] Label of_metal(std::size_t metal) const;
  // Labels of what is left of these cells, added to `out`.
  void labels_of(const Span& span, std::vector<Label>& out) const;
  [[nodiscard]] const Raster& raster() const { return raster_; }

 private:
  struct Piece {  // of a run that lost cells
    std::uint32_t run;
    std::int32_t x0, x1;
  };
  struct Front {  // first in, first out: floods that start side by side meet soon
    std::vector<Node> nodes;
    std::size_t head{0};
    [[nodiscard]] std::size_t left() const { return nodes.size() - head; }
  };
  void cut(const Fault& fault);
  void collect_seeds(const Fault& fault);
  void add_seed(Node n);
  void flood();
  void flood_label(Label label, const std::vector<std::uint32_t>& seeds);
  void meet(std::uint32_t a, std::uint32_t b);
  void join(const Fault& fault);
  template <class F>
  void around(Node n, F&& f) const;
  template <class F>
  void parts_over(std::uint32_t run, std::int32_t x0, std::int32_t x1, F&& f) const;
  [[nodiscard]] bool is_cut(std::uint32_t run) const { return cut_[run] == epoch_; }
  [[nodiscard]] bool gone(std::size_t metal) const { return gone_[metal] == epoch_; }
  [[nodiscard]] Label raw(Node n) const;  // before splashes
  [[nodiscard]] Label joined(Label l) const;
  [[nodiscard]] std::uint32_t root(std::uint32_t seed) const;
  [[nodiscard]] Label good_label(Node n) const;

  const Raster& raster_;
  std::uint32_t epoch_{0};
  std::vector<std::uint32_t> cut_, gone_;    // epoch, by run and by metal
  std::vector<std::uint32_t> seen_, owner_;  // by node: epoch, seed
  std::unordered_map<std::uint32_t, std::pair<std::uint32_t, std::uint32_t>> pieces_of_;
  std::vector<Piece> pieces_;  // node = raster.nodes() + index
  std::vector<Node> seeds_;
  mutable std::vector<std::uint32_t> parent_;  // of seeds
  std::vector<Front> front_;                   // by seed
  std::vector<Label> seed_label_;              // by root, after the flood
  std::vector<Label> touched_;
  std::vector<std::pair<Label, Label>> unions_;
  Label next_{0};
};

}  // namespace isthmus::audit
