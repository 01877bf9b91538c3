// SPDX-License-Identifier: Apache-2.0
#include "formats/gerber/clip.hpp"

#include <cmath>
#include <cstdint>
#include <optional>
#include <polyclipping/clipper.hpp>

#include "isthmus/base/ensure.hpp"

namespace isthmus::formats::gerber {
namespace {

namespace lib = ClipperLib;

lib::Path to_path(const Contour& contour) {
  lib::Path path;
  path.reserve(contour.size());
  for (const Position p : contour) path.emplace_back(p.x, p.y);
  return path;
}

lib::Paths to_paths(const Polygons& polygons) {
  lib::Paths paths;
  for (const Polygon& polygon : polygons) {
    paths.push_back(to_path(polygon.outer));
    for (const Contour& hole : polygon.holes) paths.push_back(to_path(hole));
  }
  return paths;
}

Contour to_contour(const lib::Path& path) {
  Contour contour;
  contour.reserve(path.size());
  for (const lib::IntPoint& p : path) contour.push_back({p.X, p.Y});
  return contour;
}

// The whole tree: outers lie below holes, to any depth. Iterative, so that depth costs no stack.
Polygons to_polygons(const lib::PolyTree& tree) {
  Polygons result;
  for (const lib::PolyNode* node = tree.GetFirst(); node != nullptr; node = node->GetNext()) {
    if (node->IsHole() || node->Contour.size() < 3) continue;
    Polygon polygon;
    polygon.outer = to_contour(node->Contour);
    for (const lib::PolyNode* hole : node->Childs) {
      if (hole->Contour.size() >= 3) polygon.holes.push_back(to_contour(hole->Contour));
    }
    result.push_back(std::move(polygon));
  }
  return result;
}

// Moves every vertex by up to two nanometres, the same way in every run: coincident edges part.
void jitter(Polygons& polygons, std::uint32_t& state) {
  const auto next = [&state] {
    state = state * 1664525u + 1013904223u;
    return static_cast<std::int64_t>(state >> 24) % 5 - 2;
  };
  const auto move = [&next](Contour& contour) {
    for (Position& p : contour) {
      p.x += next();
      p.y += next();
    }
  };
  for (Polygon& polygon : polygons) {
    move(polygon.outer);
    for (Contour& hole : polygon.holes) move(hole);
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

Polygons run(ClipKind kind, Polygons subject, Polygons other, const Clip& clip) {
  if (auto result = clip(kind, subject, other)) return std::move(*result);
  std::uint32_t state = 12345;
  for (int attempt = 0; attempt < 8; ++attempt) {
    jitter(subject, state);
    jitter(other, state);
    if (auto result = clip(kind, subject, other)) return without_slivers(std::move(*result));
  }
  const bool combined = false;
  ENSURE(combined);
  return {};
}

}  // namespace

std::optional<Polygons> clip_once(ClipKind kind, const Polygons& subject, const Polygons& other) {
  lib::Clipper clipper;
  const bool any = clipper.AddPaths(to_paths(subject), lib::ptSubject, true);
  const bool more = clipper.AddPaths(to_paths(other), lib::ptClip, true);
  if (!any && !more) return Polygons{};  // nothing with an area; Execute would call it a failure
  lib::PolyTree tree;
  const auto type = kind == ClipKind::unite ? lib::ctUnion : lib::ctDifference;
  try {
    if (!clipper.Execute(type, tree, lib::pftNonZero, lib::pftNonZero)) return std::nullopt;
  } catch (const lib::clipperException&) {
    return std::nullopt;
  }
  return to_polygons(tree);
}

Polygons fill(const Contour& contour, const Clip& clip) {
  return run(ClipKind::unite, {{contour, {}}}, {}, clip);
}

Polygons unite(const Polygons& all, const Clip& clip) {
  if (all.size() < 3) return run(ClipKind::unite, all, {}, clip);
  if (auto result = clip(ClipKind::unite, all, {})) return std::move(*result);
  // Fewer crossings at once.
  const auto middle = all.begin() + static_cast<std::ptrdiff_t>(all.size() / 2);
  Polygons halves = unite({all.begin(), middle}, clip);
  const Polygons rest = unite({middle, all.end()}, clip);
  halves.insert(halves.end(), rest.begin(), rest.end());
  return run(ClipKind::unite, std::move(halves), {}, clip);
}

Polygons subtract(const Polygons& from, const Polygons& what, const Clip& clip) {
  return run(ClipKind::subtract, from, what, clip);
}

}  // namespace isthmus::formats::gerber
