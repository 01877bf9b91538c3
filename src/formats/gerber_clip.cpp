// SPDX-License-Identifier: Apache-2.0
#include "formats/gerber_clip.hpp"

#include <polyclipping/clipper.hpp>

#include "isthmus/base/ensure.hpp"

namespace isthmus::formats::gerber {
namespace {

namespace clip = ClipperLib;

clip::Path to_path(const Contour& contour) {
  clip::Path path;
  path.reserve(contour.size());
  for (const Position p : contour) path.emplace_back(p.x, p.y);
  return path;
}

void add(clip::Paths& paths, const Polygons& polygons) {
  for (const Polygon& polygon : polygons) {
    paths.push_back(to_path(polygon.outer));
    for (const Contour& hole : polygon.holes) paths.push_back(to_path(hole));
  }
}

Contour to_contour(const clip::Path& path) {
  Contour contour;
  contour.reserve(path.size());
  for (const clip::IntPoint& p : path) contour.push_back({p.X, p.Y});
  return contour;
}

// The whole tree: outers lie below holes, to any depth. Iterative, so that depth costs no stack.
Polygons to_polygons(const clip::PolyTree& tree) {
  Polygons result;
  for (const clip::PolyNode* node = tree.GetFirst(); node != nullptr; node = node->GetNext()) {
    if (node->IsHole() || node->Contour.size() < 3) continue;
    Polygon polygon;
    polygon.outer = to_contour(node->Contour);
    for (const clip::PolyNode* hole : node->Childs) {
      if (hole->Contour.size() >= 3) polygon.holes.push_back(to_contour(hole->Contour));
    }
    result.push_back(std::move(polygon));
  }
  return result;
}

Polygons run(clip::ClipType type, const clip::Paths& subject, const clip::Paths& other) {
  clip::Clipper clipper;
  clipper.AddPaths(subject, clip::ptSubject, true);
  clipper.AddPaths(other, clip::ptClip, true);
  clip::PolyTree tree;
  ENSURE(clipper.Execute(type, tree, clip::pftNonZero, clip::pftNonZero));
  return to_polygons(tree);
}

}  // namespace

Polygons fill(const Contour& contour) { return run(clip::ctUnion, {to_path(contour)}, {}); }

Polygons unite(const Polygons& all) {
  clip::Paths paths;
  add(paths, all);
  return run(clip::ctUnion, paths, {});
}

Polygons subtract(const Polygons& from, const Polygons& what) {
  clip::Paths subject, other;
  add(subject, from);
  add(other, what);
  return run(clip::ctDifference, subject, other);
}

Polygons intersect(const Polygons& a, const Polygons& b) {
  clip::Paths subject, other;
  add(subject, a);
  add(other, b);
  return run(clip::ctIntersection, subject, other);
}

}  // namespace isthmus::formats::gerber
