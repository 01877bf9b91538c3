// SPDX-License-Identifier: Apache-2.0
#include "isthmus/copper/islands.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>
#include <utility>

#include "copper/islands/join.hpp"
#include "copper/islands/marginal.hpp"
#include "copper/islands/paint.hpp"

namespace isthmus::copper {
namespace {

std::optional<Problem> check(const formats::Design& design) {
  bool any = false;
  const Box safe{{-kMaxCoordinate, -kMaxCoordinate}, {kMaxCoordinate, kMaxCoordinate}};
  for (const formats::LayerImage& image : design.copper) {
    for (const formats::Object& object : image.objects) {
      for (const Polygon& shape : object.shape) {
        const Box box = box_of(shape.outer);
        if (box.empty()) continue;
        any = any || object.dark;
        if (safe.contains(box.lo) && safe.contains(box.hi)) continue;
        return Problem{
            image.file,
            object.line,
            0,
            "CPR-001",
            fmt::format("copper reaches beyond {} mm from the origin", to_mm(kMaxCoordinate)),
            "check the units and the number format of the file",
            ""};
      }
    }
  }
  if (any) return std::nullopt;
  const std::string file = design.copper.empty() ? std::string() : design.copper.front().file;
  return Problem{file,
                 0,
                 0,
                 "CPR-002",
                 "the artwork holds no copper",
                 "check that `artwork:` names the copper layers, not masks or outlines",
                 ""};
}

Island make_island(LayerId layer, Polygons pieces) {
  Island island{layer, std::move(pieces.front()), {}, 0, {}};
  island.more.assign(std::make_move_iterator(pieces.begin() + 1),
                     std::make_move_iterator(pieces.end()));
  for (std::size_t i = 0; i < island.pieces(); ++i) {
    island.box.add(box_of(island.piece(i).outer));
    island.area_nm2 += area_nm2(island.piece(i));
  }
  return island;
}

std::vector<Island> islands_of(const formats::LayerImage& image, LayerId layer) {
  Polygons pieces = paint(image);
  std::vector<Island> islands;
  for (const std::vector<std::size_t>& group : join_pieces(pieces)) {
    Polygons joined;
    if (group.size() == 1) {
      joined.push_back(std::move(pieces[group.front()]));
    } else {
      std::vector<const Polygon*> all;
      all.reserve(group.size());
      for (std::size_t i : group) all.push_back(&pieces[i]);
      joined = unite(all);
    }
    if (!joined.empty()) islands.push_back(make_island(layer, std::move(joined)));
  }
  std::sort(islands.begin(), islands.end(), [](const Island& a, const Island& b) {
    const auto key = [](const Island& i) { return std::tie(i.box.lo.x, i.box.lo.y, i.area_nm2); };
    return key(a) != key(b) ? key(a) < key(b) : a.outline.outer < b.outline.outer;
  });
  return islands;
}

}  // namespace

Where locate(Position p, const Island& island) {
  Where best = Where::outside;
  for (std::size_t i = 0; i < island.pieces() && best != Where::boundary; ++i) {
    const Where here = isthmus::locate(p, island.piece(i));
    if (here != Where::outside) best = here;
  }
  return best;
}

Result<Copper> extract_copper(const formats::Design& design) {
  if (std::optional<Problem> problem = check(design)) return *std::move(problem);
  Copper copper;
  copper.layers = design.copper.size();
  for (std::size_t l = 0; l < design.copper.size(); ++l) {
    const std::size_t first = copper.islands.size();
    for (Island& island : islands_of(design.copper[l], static_cast<LayerId>(l))) {
      copper.islands.push_back(std::move(island));
    }
    const auto marginals = find_marginals(copper.islands, first, copper.islands.size());
    copper.marginals.insert(copper.marginals.end(), marginals.begin(), marginals.end());
  }
  return copper;
}

}  // namespace isthmus::copper
