// SPDX-License-Identifier: Apache-2.0
// Draws small wirings for the tests: pieces, pads, tracks, joins, facings; numbers the entries.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "isthmus/expect/wiring.hpp"

namespace isthmus::test {

// Entries are numbered as docs/proof.md has it, and by trying every cut, not by src/:
//   breaks   a stretch or a join, unless it ends on loose copper without a feature
//   ways     a feature on a ring, that up to 4 faults part from all others of its piece
//   bridges  a facing, unless its two pieces may conduct to each other
class Sketch {
 public:
  using Node = std::uint32_t;
  using Piece = std::uint32_t;

  Piece piece();
  Node pad(Piece p) { return node(p, true); }
  Node spot(Piece p) { return node(p, false); }
  Sketch& track(Node a, Node b) { return stretch({a, b}); }
  Sketch& stretch(const std::vector<Node>& in_series);  // one entry
  Sketch& join(Node a, Node b);                         // metal in a hole with a foot on each
  Sketch& face(Node a, Node b) { return faces({{a, b}}); }
  Sketch& faces(const std::vector<std::pair<Node, Node>>& one_entry);
  Sketch& tied(Piece a, Piece b);
  Sketch& one_net(Piece a, Piece b);  // that nothing joins yet

  [[nodiscard]] expect::Wiring wiring() const;

 private:
  Node node(Piece p, bool feature);
  void number_breaks(expect::Wiring& w) const;
  void number_ways(expect::Wiring& w) const;
  void number_bridges(expect::Wiring& w) const;

  expect::Wiring w_;
  std::vector<std::uint32_t> run_of_edge_, run_of_facing_;  // what shares an entry
  std::uint32_t runs_{};
};

// Fewest edges that part `node` from all other features of its piece, all joins counting as one,
// found by trying every way to split the piece; nothing parts a piece's only feature: kNone.
std::uint32_t fewest_ways_to(const expect::Wiring& w, std::uint32_t node);

// By node: on copper that hangs on one edge and has no feature, or on a piece of fewer than two.
std::vector<bool> dead_nodes(const expect::Wiring& w);

// True if the loss of the edges named parts some feature of `among` from `node`; all = every one.
bool parts_from(const expect::Wiring& w, const std::vector<bool>& lost_edges, std::uint32_t node,
                bool all);

std::string text(const expect::Wiring& w, const std::vector<std::uint32_t>& touched);

}  // namespace isthmus::test
