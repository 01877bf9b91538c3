// SPDX-License-Identifier: Apache-2.0
#include "tests/random_boards/touch.hpp"

namespace isthmus::random_boards {
namespace {

constexpr double kReach = 0.05;  // mm from a tip's middle to copper

std::optional<std::size_t> in_hole(const RandomBoard& b, const Network& network, Pt at,
                                   std::size_t layer) {
  for (std::size_t h = 0; h < b.holes.size(); ++h) {
    const Hole& hole = b.holes[h];
    if (length(at - hole.at) > hole.drill / 2) continue;
    if (b.seed % 2 == 0 && network.has_metal(h)) return network.piece_of_metal(h);
    return network.piece_of_node(hole.rings[layer]);
  }
  return std::nullopt;
}

}  // namespace

std::optional<std::size_t> touched(const RandomBoard& b, const Network& network, Pt at,
                                   std::size_t layer) {
  if (!b.has_layer(layer)) return std::nullopt;
  if (const auto hole = in_hole(b, network, at, layer)) return hole;
  for (const bool tracks : {false, true}) {
    for (const Shape& s : b.shapes) {
      if (s.layer != layer || (s.edge != kNone) != tracks || distance(at, s) > kReach) continue;
      if (!tracks) return network.piece_of_node(s.node);
      const Pt d = s.b - s.a, e = at - s.a;
      return network.piece({kNone, s.edge, (d.x * e.x + d.y * e.y) / (d.x * d.x + d.y * d.y)});
    }
  }
  return std::nullopt;
}

}  // namespace isthmus::random_boards
