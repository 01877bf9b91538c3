// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <string_view>

#include "expect/expectation/checks.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::expect {
namespace {

bool is_called(const Point& point, const std::string& name) {
  return point.id == name ||
         std::find(point.aliases.begin(), point.aliases.end(), name) != point.aliases.end();
}

std::optional<PointId> exact(const Expectation& e, const std::string& name) {
  for (std::size_t i = 0; i < e.points.size(); ++i) {
    if (is_called(e.points[i], name)) return static_cast<PointId>(i);
  }
  return std::nullopt;
}

Problem unknown(const Expectation& e, const std::string& id) {
  std::vector<std::string> names;
  for (const Point& point : e.points) {
    names.push_back(point.id);
    names.insert(names.end(), point.aliases.begin(), point.aliases.end());
  }
  Problem p;
  p.code = "EXP-006";
  p.message = fmt::format("the board has no point {} at stage {}", id, name(e.stage));
  const auto near = names_near(names, id);
  p.hint = near.empty() ? "isthmus inspect BOARD --json lists the points"
                        : fmt::format("did you mean {}?", fmt::join(near, ", "));
  return p;
}

// The one name that differs from `id` in capitals alone, with the side left out where `id` leaves it
// out; nothing where there is none, or more than one.
std::optional<std::string> in_other_capitals(const Expectation& e, const std::string& id) {
  std::optional<std::string> only;
  const std::string wanted = formats::lower(id);
  const auto consider = [&](const std::string& name) {
    std::string alike = name;
    for (const std::string_view end : {"@top", "@bottom"}) {
      if (alike.ends_with(end) && id.find('@') == std::string::npos)
        alike.resize(alike.size() - end.size());
    }
    if (formats::lower(alike) != wanted) return true;
    if (only && *only != alike) return false;
    only = alike;
    return true;
  };
  for (const Point& point : e.points) {
    if (!consider(point.id)) return std::nullopt;
    for (const std::string& alias : point.aliases) {
      if (!consider(alias)) return std::nullopt;
    }
  }
  return only == id ? std::nullopt : only;
}

}  // namespace

Result<PointId> find_point(const Expectation& e, const std::string& id, std::optional<Side> side) {
  if (const auto point = exact(e, id)) return *point;
  const auto top = exact(e, id + "@top");
  const auto bottom = exact(e, id + "@bottom");
  if (!top && !bottom) {
    const auto meant = in_other_capitals(e, id);
    return meant ? find_point(e, *meant, side) : unknown(e, id);
  }
  if (top && bottom) {
    if (side == Side::top) return *top;
    if (side == Side::bottom) return *bottom;
    Problem p;
    p.code = "EXP-007";
    p.message = fmt::format("{} is two points at stage {}: nothing joins the sides of its hole yet",
                            id, name(e.stage));
    p.hint = fmt::format("write {0}@top or {0}@bottom", id);
    return p;
  }
  return top ? *top : *bottom;
}

}  // namespace isthmus::expect
