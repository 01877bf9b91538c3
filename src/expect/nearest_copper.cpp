// SPDX-License-Identifier: Apache-2.0
#include "expect/nearest_copper.hpp"

#include <fmt/format.h>

#include <optional>

#include "expect/expectation/ground.hpp"

namespace isthmus::expect {
namespace {

struct Nearest {
  Position at;
  double distance_nm{};
};

void look(const Contour& contour, Position p, std::optional<Nearest>& best) {
  for (std::size_t i = 0; i < contour.size(); ++i) {
    const Closest c = closest(p, Segment{contour[i], contour[(i + 1) % contour.size()]});
    if (!best || c.distance_nm < best->distance_nm) best = {c.on_second, c.distance_nm};
  }
}

}  // namespace

std::string nearest_copper_in_words(const copper::Copper& copper, LayerId layer, Position p) {
  const std::string name = layer_name(layer, copper.layers);
  const std::string where = name.starts_with("L") ? "layer " + name : "the " + name + " side";
  std::optional<Nearest> best;
  for (const copper::Island& island : copper.islands) {
    if (island.layer != layer) continue;
    for (std::size_t i = 0; i < island.pieces(); ++i) {
      look(island.piece(i).outer, p, best);
      for (const Contour& hole : island.piece(i).holes) look(hole, p, best);
    }
  }
  if (!best) return where + " has no copper";
  return fmt::format("the nearest copper of {} lies at [{}, {}], {:.3f} mm away", where,
                     text_mm(best->at.x), text_mm(best->at.y), best->distance_nm * 1e-6);
}

}  // namespace isthmus::expect
