// SPDX-License-Identifier: Apache-2.0
// A random two-sided board, right by construction, with its own truth: a graph of what hangs
// together by which copper and which holes. docs/random-boards.md.
#pragma once

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "isthmus/base/terms.hpp"
#include "tests/random_boards/random.hpp"
#include "tests/random_boards/shapes.hpp"

namespace isthmus::random_boards {

enum class NodeKind { bend, end, pad, ring, pour };

// Copper that nothing drawn here can part: a pad, a ring, a pour, a place where tracks meet.
struct Node {
  NodeKind kind{};
  std::size_t layer{};
  Pt at;
  std::size_t net{kNone};   // kNone: copper of no net
  std::size_t hole{kNone};  // of a ring
  bool listed{};            // in the netlist
  std::string ref, pin;
  double size_x{}, size_y{};  // of a pad or a pour
};

// A straight track, or a spoke, between two nodes; its shape runs from a to b.
struct Edge {
  std::size_t a{}, b{}, shape{};
  bool spoke{};
};

struct Hole {
  Pt at;
  double drill{}, ring{};
  std::size_t rings[2]{kNone, kNone};  // nodes: top, bottom
  std::size_t net{kNone};
  bool via{}, listed{};
  std::string ref, pin;
  bool conducts{}, deferred{};  // at this stage
  std::string kind{"wire"};
};

struct Slot {
  Pt from, to;
  double width{};
};

struct RandomBoard {
  std::uint64_t seed{};
  Stage stage{Stage::etched};
  double grid{};
  std::vector<Node> nodes;
  std::vector<Edge> edges;
  std::vector<Shape> shapes;
  std::vector<Hole> holes;
  std::vector<Slot> slots;
  std::vector<std::string> nets;                       // names; several may be "N/C"
  std::set<std::pair<std::size_t, std::size_t>> ties;  // lower first
  std::string joins;                                   // as in board.yaml; empty: none said
  bool plated{}, x2{};
  int channels{64};
  bool contact_check{true};

  [[nodiscard]] bool has_layer(std::size_t layer) const {
    return stage == Stage::etched_top      ? layer == 0
           : stage == Stage::etched_bottom ? layer == 1
                                           : true;
  }
  [[nodiscard]] bool may_touch(std::size_t net_a, std::size_t net_b) const {
    return net_a == net_b || ties.contains(std::minmax(net_a, net_b));
  }
};

// The same board for the same seed.
RandomBoard make_board(std::uint64_t seed);

// A spot of copper etched away, or left standing, drawn into the artwork: of an etched twin.
struct Blot {
  Shape shape;
  bool dark{};
};
// top.gbr, bottom.gbr, drill.xnc, slots.xnc, net.d356, board.yaml.
void write_board(const RandomBoard& board, const std::filesystem::path& folder,
                 const std::vector<Blot>& blots = {});

}  // namespace isthmus::random_boards
