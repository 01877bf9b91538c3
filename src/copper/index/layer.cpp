// SPDX-License-Identifier: Apache-2.0
#include "copper/index/layer.hpp"

#include <utility>

namespace isthmus::copper {

LayerEdges layer_edges(std::span<const Island> islands, std::size_t first, std::size_t last,
                       std::int64_t cell) {
  LayerEdges out;
  std::vector<Segment> segments;
  const auto add = [&](const Contour& contour, std::size_t island) {
    const auto begin = static_cast<std::uint32_t>(segments.size());
    for (std::size_t i = 0; i < contour.size(); ++i) {
      segments.push_back({contour[i], contour[(i + 1) % contour.size()]});
      out.owners.push_back(
          {static_cast<std::uint32_t>(island), static_cast<std::uint32_t>(out.contours.size())});
    }
    out.contours.emplace_back(begin, static_cast<std::uint32_t>(segments.size()));
  };
  for (std::size_t i = first; i < last; ++i) {
    for (std::size_t p = 0; p < islands[i].pieces(); ++p) {
      const Polygon& piece = islands[i].piece(p);
      add(piece.outer, i);
      for (const Contour& hole : piece.holes) add(hole, i);
    }
  }
  out.grid = SegmentGrid(std::move(segments), cell);
  return out;
}

std::vector<std::size_t> layer_starts(const Copper& copper) {
  std::vector<std::size_t> starts(copper.layers + 1, 0);
  for (const Island& island : copper.islands) ++starts[index(island.layer) + 1];
  for (std::size_t l = 1; l < starts.size(); ++l) starts[l] += starts[l - 1];
  return starts;
}

}  // namespace isthmus::copper
