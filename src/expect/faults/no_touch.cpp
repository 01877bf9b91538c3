// SPDX-License-Identifier: Apache-2.0
#include "isthmus/expect/wiring.hpp"

namespace isthmus::expect {
namespace {

// As if one placement touched every place of a good board, from both sides.
Facts all_touched(const Wiring& wiring) {
  Facts facts;
  std::vector<std::uint32_t> first;  // place of each piece
  for (std::uint32_t n = 0; n < wiring.nodes.size(); ++n) {
    const Wiring::Node& node = wiring.nodes[n];
    if (node.piece >= first.size()) first.resize(node.piece + 1, Wiring::kNone);
    if (!node.place) continue;
    if (first[node.piece] == Wiring::kNone) first[node.piece] = n;
    facts.touched.push_back(n);
    facts.one_piece.push_back({first[node.piece], n});
  }
  for (std::uint32_t a = 0; a < first.size(); ++a) {
    for (std::uint32_t b = a + 1; b < first.size(); ++b) {
      if (first[a] != Wiring::kNone && first[b] != Wiring::kNone && !wiring.may_conduct(a, b))
        facts.two_pieces.push_back({first[a], first[b]});
    }
  }
  return facts;
}

}  // namespace

std::vector<bool> told_by_no_touch(const Wiring& wiring) {
  std::vector<bool> out;
  for (const FaultState state : derive(wiring, all_touched(wiring)).state)
    out.push_back(state == FaultState::cannot_tell);
  return out;
}

}  // namespace isthmus::expect
