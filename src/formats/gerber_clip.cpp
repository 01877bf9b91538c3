// SPDX-License-Identifier: Apache-2.0
#include "formats/gerber_clip.hpp"

#include <cmath>
#include <cstdint>
#include <optional>
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

// Nothing when Clipper gives up: it can where many edges coincide.
std::optional<Polygons> try_run(clip::ClipType type, const clip::Paths& subject,
                                const clip::Paths& other) {
  clip::Clipper clipper;
  const bool any = clipper.AddPaths(subject, clip::ptSubject, true);
  const bool more = clipper.AddPaths(other, clip::ptClip, true);
  if (!any && !more) return Polygons{};  // nothing with an area; Execute would call it a failure
  clip::PolyTree tree;
  try {
    if (!clipper.Execute(type, tree, clip::pftNonZero, clip::pftNonZero)) return std::nullopt;
  } catch (const clip::clipperException&) {
    return std::nullopt;
  }
  return to_polygons(tree);
}

// Moves every vertex by up to two nanometres, the same way in every run: coincident edges part.
void jitter(clip::Paths& paths) {
  std::uint32_t state = 12345;
  const auto next = [&state] {
    state = state * 1664525u + 1013904223u;
    return static_cast<clip::cInt>(state >> 24) % 5 - 2;
  };
  for (clip::Path& path : paths) {
    for (clip::IntPoint& p : path) p = {p.X + next(), p.Y + next()};
  }
}

// What jitter leaves between edges that were one: nowhere wider than some nanometres.
bool is_sliver(const Contour& contour) {
  double perimeter = 0;
  for (std::size_t i = 0; i < contour.size(); ++i) {
    perimeter += distance_nm(contour[i], contour[(i + 1) % contour.size()]);
  }
  return std::abs(signed_area_nm2(contour)) <= 4 * perimeter;
}

Polygons without_slivers(Polygons polygons) {
  for (Polygon& polygon : polygons) std::erase_if(polygon.holes, is_sliver);
  std::erase_if(polygons, [](const Polygon& polygon) { return is_sliver(polygon.outer); });
  return polygons;
}

Polygons run(clip::ClipType type, clip::Paths subject, clip::Paths other) {
  if (auto result = try_run(type, subject, other)) return std::move(*result);
  for (int attempt = 0; attempt < 8; ++attempt) {
    jitter(subject);
    jitter(other);
    if (auto result = try_run(type, subject, other)) return without_slivers(std::move(*result));
  }
  const bool combined = false;
  ENSURE(combined);
  return {};
}

}  // namespace

Polygons fill(const Contour& contour) { return run(clip::ctUnion, {to_path(contour)}, {}); }

Polygons unite(const Polygons& all) {
  clip::Paths paths;
  add(paths, all);
  if (auto result = try_run(clip::ctUnion, paths, {})) return std::move(*result);
  if (all.size() < 3) return run(clip::ctUnion, std::move(paths), {});
  // Fewer crossings at once.
  const auto middle = all.begin() + static_cast<std::ptrdiff_t>(all.size() / 2);
  Polygons halves = unite({all.begin(), middle});
  const Polygons rest = unite({middle, all.end()});
  halves.insert(halves.end(), rest.begin(), rest.end());
  clip::Paths both;
  add(both, halves);
  return run(clip::ctUnion, std::move(both), {});
}

Polygons subtract(const Polygons& from, const Polygons& what) {
  clip::Paths subject, other;
  add(subject, from);
  add(other, what);
  return run(clip::ctDifference, subject, other);
}

}  // namespace isthmus::formats::gerber
