// SPDX-License-Identifier: Apache-2.0
#include "copper/islands/clip.hpp"

#include <algorithm>
#include <polyclipping/clipper.hpp>
#include <utility>

#include "isthmus/base/ensure.hpp"

namespace isthmus::copper {
namespace {

using ClipperLib::Clipper;
using ClipperLib::Path;
using ClipperLib::PolyNode;
using ClipperLib::PolyTree;

Path path_of(const Contour& contour) {
  Path path;
  path.reserve(contour.size());
  for (Position p : contour) path.emplace_back(p.x, p.y);
  return path;
}

void add(Clipper& clipper, const Polygon& polygon, ClipperLib::PolyType role) {
  clipper.AddPath(path_of(polygon.outer), role, true);
  for (const Contour& hole : polygon.holes) clipper.AddPath(path_of(hole), role, true);
}

Contour contour_of(const Path& path) {
  Contour contour;
  contour.reserve(path.size());
  for (const ClipperLib::IntPoint& p : path) contour.push_back({p.X, p.Y});
  return contour;
}

// Walks the whole tree: polygons lie nested in the holes of others.
Polygons polygons_of(const PolyTree& tree) {
  Polygons out;
  for (const PolyNode* node = tree.GetFirst(); node != nullptr; node = node->GetNext()) {
    if (node->IsHole()) continue;
    Polygon polygon{contour_of(node->Contour), {}};
    for (const PolyNode* hole : node->Childs) polygon.holes.push_back(contour_of(hole->Contour));
    polygon = tidy(std::move(polygon));
    if (!polygon.outer.empty()) out.push_back(std::move(polygon));
  }
  std::vector<std::pair<double, std::size_t>> order;
  for (std::size_t i = 0; i < out.size(); ++i) order.emplace_back(-area_nm2(out[i]), i);
  std::sort(order.begin(), order.end(), [&out](const auto& a, const auto& b) {
    return a.first != b.first ? a.first < b.first : out[a.second].outer < out[b.second].outer;
  });
  Polygons sorted;
  sorted.reserve(out.size());
  for (const auto& [area, i] : order) sorted.push_back(std::move(out[i]));
  return sorted;
}

Polygons run(Clipper& clipper, ClipperLib::ClipType what) {
  PolyTree tree;
  ENSURE(clipper.Execute(what, tree, ClipperLib::pftNonZero, ClipperLib::pftNonZero));
  return polygons_of(tree);
}

void tidy(Contour& contour, bool counter_clockwise) {
  contour.erase(std::unique(contour.begin(), contour.end()), contour.end());
  while (contour.size() > 1 && contour.front() == contour.back()) contour.pop_back();
  const double area = contour.size() < 3 ? 0 : signed_area_nm2(contour);
  if (area == 0) return contour.clear();
  if ((area > 0) != counter_clockwise) std::reverse(contour.begin(), contour.end());
  std::rotate(contour.begin(), std::min_element(contour.begin(), contour.end()), contour.end());
}

}  // namespace

Polygon tidy(Polygon polygon) {
  tidy(polygon.outer, true);
  for (Contour& hole : polygon.holes) tidy(hole, false);
  std::erase_if(polygon.holes, [](const Contour& hole) { return hole.empty(); });
  std::sort(polygon.holes.begin(), polygon.holes.end());
  return polygon;
}

Polygons unite(std::span<const Polygon* const> all) {
  Clipper clipper;
  for (const Polygon* polygon : all) add(clipper, *polygon, ClipperLib::ptSubject);
  return run(clipper, ClipperLib::ctUnion);
}

Polygons subtract(const Polygon& from, std::span<const Polygon* const> what) {
  Clipper clipper;
  add(clipper, from, ClipperLib::ptSubject);
  for (const Polygon* polygon : what) add(clipper, *polygon, ClipperLib::ptClip);
  return run(clipper, ClipperLib::ctDifference);
}

Polygons erode(std::span<const Polygon> all, Nanometres by) {
  ClipperLib::ClipperOffset offset;
  for (const Polygon& polygon : all) {
    offset.AddPath(path_of(polygon.outer), ClipperLib::jtMiter, ClipperLib::etClosedPolygon);
    for (const Contour& hole : polygon.holes) {
      offset.AddPath(path_of(hole), ClipperLib::jtMiter, ClipperLib::etClosedPolygon);
    }
  }
  PolyTree tree;
  offset.Execute(tree, -static_cast<double>(by.value));
  return polygons_of(tree);
}

}  // namespace isthmus::copper
