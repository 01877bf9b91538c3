// SPDX-License-Identifier: Apache-2.0
// Boards by their wiring alone: no geometry, so that any nets and pairs can be had.
#pragma once

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "isthmus/plan/plan.hpp"

namespace isthmus::test {

// A net is a piece. Its surface points, and what its holes reach, hang on one hub a side; a side
// without surface points has a hub only if the other has none either, else the rings of its holes
// hang on their joins alone. A pair of nets faces at their first hubs.
class Nets {
 public:
  Nets() {
    board_.design.board.name = "tide-gauge";
    board_.hash = "cafe";
    board_.expectation.stage = Stage::joined;
  }
  // Points of one net; 't' top, 'T' top and large enough for a clip, 'b' bottom, 'h' hole, 'v' via
  // that is not required, 'w' waived.
  Nets& net(const std::string& kinds);
  // Of the holes of later nets: else wires.
  Nets& joins(formats::JoinKind kind) {
    kind_ = kind;
    return *this;
  }
  Nets& pair(std::size_t a, std::size_t b);
  Nets& all_pairs() {
    for (std::size_t a = 0; a < board_.expectation.groups.size(); ++a) {
      for (std::size_t b = a + 1; b < board_.expectation.groups.size(); ++b) pair(a, b);
    }
    return *this;
  }
  [[nodiscard]] const expect::Board& board() const { return board_; }
  [[nodiscard]] std::size_t points() const { return board_.expectation.points.size(); }

 private:
  using Node = std::uint32_t;
  struct Hubs {
    Node top{expect::Wiring::kNone}, bottom{expect::Wiring::kNone};
  };
  Node node(Position at, bool feature, bool place);
  std::uint32_t entry(expect::FaultKind kind, Position at);
  void stretch(Node hub, Node end, bool listed);
  void place_point(const std::string& net, char kind, std::size_t pin, const Hubs& hubs);
  Node end_of(Node hub, const expect::Point& p, bool feature, bool listed);

  expect::Board board_;
  formats::JoinKind kind_{formats::JoinKind::wire};
  std::vector<Node> near_;  // by net: where it faces others
};

}  // namespace isthmus::test
