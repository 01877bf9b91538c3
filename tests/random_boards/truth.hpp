// SPDX-License-Identifier: Apache-2.0
// What hangs together on a random board with faults, and whether that is right.
#pragma once

#include <string>
#include <vector>

#include "tests/random_boards/board.hpp"

namespace isthmus::random_boards {

// A place on copper: a node, or a share t of the way along an edge.
struct Spot {
  std::size_t node{kNone}, edge{kNone};
  double t{};
};

struct Fault {
  enum class Kind { open, bridge, no_join } kind{};
  std::size_t layer{};
  Spot at, to;              // open: at; bridge: both
  Pt from_place, to_place;  // open: from_place
  double size{};            // diameter or width
  std::size_t hole{kNone};  // no_join
  std::size_t side{kNone};  // no_join on that side alone; kNone: nothing in the hole
};

class Network {
 public:
  Network(const RandomBoard& board, const std::vector<Fault>& faults);
  // Equal numbers conduct to each other.
  [[nodiscard]] std::size_t piece(const Spot& spot) const { return root(index(spot)); }
  [[nodiscard]] std::size_t piece_of_node(std::size_t node) const { return root(node); }
  // The wire, pin or rivet in a hole, where one is fixed on at least one side.
  [[nodiscard]] bool has_metal(std::size_t hole) const { return metal_[hole]; }
  [[nodiscard]] std::size_t piece_of_metal(std::size_t hole) const { return root(nodes_ + hole); }

 private:
  struct Cut {
    std::size_t edge{};
    std::vector<double> at;          // ascending
    std::vector<std::size_t> parts;  // one more
  };
  void cut(const RandomBoard& board, const std::vector<Fault>& faults);
  void fill_holes(const RandomBoard& board, const std::vector<Fault>& faults);
  void unite(std::size_t a, std::size_t b) { parent_[root(a)] = root(b); }
  [[nodiscard]] std::size_t index(const Spot& spot) const;
  [[nodiscard]] std::size_t root(std::size_t n) const;

  std::size_t nodes_;
  std::vector<std::size_t> parent_, start_;  // start_: by edge, its first node
  std::vector<Cut> cuts_;
  std::vector<bool> metal_;
};

// bad: places that must hang together do not, or places of nets that must not, do.
// unclear: only what is no place of its own is concerned: the ring of a joined hole that leads
// nowhere, the metal in a hole that lost the side that leads on, a pour narrower than 3 mm, a
// stretch between two cuts of copper between joins (one place, wherever it is touched), one bridge
// to copper on which no record names anything (no netlist says whose it is). A fault is there; a
// pass is no false pass, a finding no false alarm.
enum class Truth { good, unclear, bad };
struct Verdict {
  Truth truth{Truth::good};
  std::string why;  // the first two places that it is about
};
Verdict truth_of(const RandomBoard& board, const std::vector<Fault>& faults);

}  // namespace isthmus::random_boards
