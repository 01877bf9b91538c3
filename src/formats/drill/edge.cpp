// SPDX-License-Identifier: Apache-2.0
#include "formats/drill/edge.hpp"

#include <algorithm>
#include <map>

#include "isthmus/base/sets.hpp"

namespace isthmus::formats {
namespace {

std::vector<Position> middles(const std::vector<LayerImage>& copper) {
  std::vector<Position> out;
  for (const LayerImage& layer : copper) {
    for (const Object& o : layer.objects) {
      if (!o.dark || o.shape.empty()) continue;
      const Box box = box_of(o.shape[0].outer);
      out.push_back({box.lo.x + (box.hi.x - box.lo.x) / 2, box.lo.y + (box.hi.y - box.lo.y) / 2});
    }
  }
  return out;
}

struct Path {
  Box box;
  double length{};
};

// Three of its four sides' length at least, so that slots in the corners are none.
bool runs_around(const Path& path, const std::vector<Position>& copper) {
  const double sides = 2 * (static_cast<double>(path.box.hi.x - path.box.lo.x) +
                            static_cast<double>(path.box.hi.y - path.box.lo.y));
  if (path.length < 0.75 * sides || copper.empty()) return false;
  const auto in = std::ranges::count_if(copper, [&](Position p) { return path.box.contains(p); });
  return 20 * static_cast<std::size_t>(in) >= 19 * copper.size();
}

}  // namespace

std::vector<bool> edge_routes(const std::vector<Hole>& holes,
                              const std::vector<LayerImage>& copper) {
  std::vector<bool> out(holes.size(), false);
  const auto may = [&](std::size_t i) {
    return holes[i].from != holes[i].to && holes[i].plated != true;
  };
  // Legs that meet are one path.
  Sets met(holes.size());
  std::map<Position, std::size_t> ends;
  for (std::size_t i = 0; i < holes.size(); ++i) {
    if (!may(i)) continue;
    for (const Position end : {holes[i].from, holes[i].to}) {
      const auto [it, fresh] = ends.emplace(end, i);
      if (!fresh) met.unite(it->second, i);
    }
  }
  std::map<std::size_t, Path> paths;
  for (std::size_t i = 0; i < holes.size(); ++i) {
    if (!may(i)) continue;
    Path& path = paths[met.find(i)];
    path.box.add(holes[i].from);
    path.box.add(holes[i].to);
    path.length += distance_nm(holes[i].from, holes[i].to);
  }
  const std::vector<Position> all = paths.empty() ? std::vector<Position>() : middles(copper);
  std::map<std::size_t, bool> edge;
  for (const auto& [root, path] : paths) edge[root] = runs_around(path, all);
  for (std::size_t i = 0; i < holes.size(); ++i) out[i] = may(i) && edge[met.find(i)];
  return out;
}

}  // namespace isthmus::formats
