// SPDX-License-Identifier: Apache-2.0
#include "expect/holes/joins.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "isthmus/formats/whereabouts.hpp"

namespace isthmus::expect {
namespace {

using formats::Hole;
using formats::JoinsMode;

constexpr Nanometres kListedReach = 150_um;
constexpr Nanometres kHoleReach = 100_um;

bool continues(const Hole& before, const Hole& leg) {
  return leg.slot >= 0 && leg.slot == before.slot && before.to == leg.from;
}

// The middle of the middle leg: a place on the axis.
Position middle_of(std::span<const Hole> legs) {
  const Hole& leg = legs[legs.size() / 2];
  if (legs.size() % 2 == 0) return leg.from;
  return {(leg.from.x + leg.to.x) / 2, (leg.from.y + leg.to.y) / 2};
}

// Places along the axis so close together that no copper at the rim is missed by more than r / 30.
std::vector<Position> axis_places(std::span<const Hole> legs, Nanometres diameter) {
  std::vector<Position> places{middle_of(legs)};
  for (const Hole& leg : legs) {
    if (leg.from == leg.to) continue;
    const double length = distance_nm(leg.from, leg.to);
    const double step = std::max(1.0, static_cast<double>(diameter.value) / 4);
    const auto n = static_cast<std::int64_t>(length / step) + 1;
    for (std::int64_t i = 0; i <= n; ++i) {
      places.push_back({leg.from.x + (leg.to.x - leg.from.x) * i / n,
                        leg.from.y + (leg.to.y - leg.from.y) * i / n});
    }
  }
  return places;
}

std::vector<IslandId> islands_at_rim(const Ground& ground, const Join& join) {
  std::vector<IslandId> found;
  for (std::size_t layer = 0; layer < ground.layers(); ++layer) {
    if (!in_span(ground, join, layer)) continue;
    const auto here = islands_along(ground, join, layer, join.diameter / 2);
    found.insert(found.end(), here.begin(), here.end());
  }
  return found;
}

bool repeats(const Ground& ground, const std::vector<Join>& joins, std::size_t hole) {
  const Hole& h = ground.design.holes[hole];
  return !h.is_slot() && std::any_of(joins.begin(), joins.end(), [&](const Join& j) {
    const Hole& other = ground.design.holes[j.hole];
    return !other.is_slot() && other.from == h.from && other.span == h.span;
  });
}

std::vector<Join> all_holes(const Ground& ground) {
  std::vector<Join> joins;
  const auto& holes = ground.design.holes;
  for (std::size_t i = 0; i < holes.size(); ++i) {
    if (i > 0 && continues(holes[i - 1], holes[i])) continue;
    if (repeats(ground, joins, i)) continue;
    Join join;
    join.hole = i;
    join.at = middle_of(legs_of(ground.design, i));
    join.diameter = holes[i].diameter;
    if (holes[i].plated.value_or(false)) join.kind = formats::JoinKind::plated;
    join.islands = islands_at_rim(ground, join);
    joins.push_back(std::move(join));
  }
  return joins;
}

std::vector<bool> tooling_holes(const Ground& ground, const std::vector<Join>& joins) {
  std::vector<bool> tooling;
  for (const Join& join : joins) {
    tooling.push_back(!ground.design.holes[join.hole].plated.value_or(true));
  }
  if (!ground.design.netlist) return tooling;
  for (const auto& record : ground.design.netlist->records) {
    if (record.kind != formats::FeatureKind::tooling) continue;
    if (const auto hole = hole_at(ground, joins, record.at)) tooling[*hole] = true;
  }
  return tooling;
}

std::string text_of_place(Position p) { return "[" + text_mm(p.x) + ", " + text_mm(p.y) + "]"; }

// A wire that meets fewer than two islands joins nothing, whatever was meant.
void warn_if_one_sided(const Ground& ground, const Join& join, Diagnostics& notes) {
  if (join.islands.size() > 1) return;
  const std::string where = join.islands.empty() ? "no copper reaches its rim"
                                                 : "copper reaches its rim on one side alone";
  notes.warn(problem(
      ground.design, "EXP-024",
      "joins lists the hole at " + text_of_place(join.at) + ", but " + where + ": it joins nothing",
      "if a wire was meant to lead to the other side there, its pad is missing from "
      "the artwork, or the place is another hole's; else remove the entry"));
}

// Whether all of the hole is farther by its box: cheaper than the distance, and most holes are.
bool beyond(const formats::Design& design, const Join& join, Position p, Nanometres reach) {
  const auto far = [&](Position a, Position b) {
    return std::max(a.x, b.x) < p.x - reach.value || std::min(a.x, b.x) > p.x + reach.value ||
           std::max(a.y, b.y) < p.y - reach.value || std::min(a.y, b.y) > p.y + reach.value;
  };
  return far(join.at, join.at) &&
         std::ranges::all_of(legs_of(design, join.hole),
                             [&](const Hole& leg) { return far(leg.from, leg.to); });
}

// "the nearest hole lies at [9.500, 26.000], 0.40 mm away"
std::string nearest_hole(const Ground& ground, const Holes& holes, Position at) {
  const std::string how = "give the hole's place within 0.15 mm, in millimetres of the artwork";
  if (holes.joins.empty()) return how;
  const auto far = [&](const Join& j) { return distance_to_axis(ground.design, j, at); };
  const auto nearest = std::ranges::min_element(holes.joins, {}, far);
  return fmt::format("the nearest hole lies at {}, {:.2f} mm away; {}", text_of_place(nearest->at),
                     far(*nearest) * 1e-6, how);
}

Result<Done> fit_listed(const Ground& ground, Holes& holes, Diagnostics& notes) {
  std::vector<bool> seen(holes.joins.size(), false);
  for (const auto& entry : ground.design.board.joins) {
    std::optional<std::size_t> hole;
    double nearest = static_cast<double>(kListedReach.value);
    for (std::size_t i = 0; i < holes.joins.size(); ++i) {
      if (beyond(ground.design, holes.joins[i], entry.at, kListedReach)) continue;
      const double d = distance_to_axis(ground.design, holes.joins[i], entry.at);
      if (d > nearest || (hole && d == nearest)) continue;
      hole = i;
      nearest = d;
    }
    if (!hole && !joins_count(ground.stage())) continue;  // nothing rests on it yet
    if (!hole) {
      Problem p = problem(ground.design, "EXP-003",
                          "joins lists " + text_of_place(entry.at) + ", but no hole lies there",
                          nearest_hole(ground, holes, entry.at));
      const auto at = formats::where_join_is_listed(ground.design.board.path, entry.at);
      p.line = at ? at->line : 0;
      p.column = at ? at->column : 0;
      return p;
    }
    if (seen[*hole]) {
      notes.warn(problem(
          ground.design, "EXP-004",
          "joins lists the hole at " + text_of_place(entry.at) + " twice; the last entry counts"));
    }
    seen[*hole] = true;
    holes.joins[*hole].kind = entry.kind;
    holes.joins[*hole].deferred = entry.deferred;
    holes.joined[*hole] = !entry.deferred;
    if (joins_count(ground.stage())) warn_if_one_sided(ground, holes.joins[*hole], notes);
  }
  return Done{};
}

bool joined_by_mode(JoinsMode mode, const Ground& ground, const Holes& holes, std::size_t i) {
  if (mode == JoinsMode::all) return !holes.tooling[i];
  if (mode == JoinsMode::plated) {
    return ground.design.holes[holes.joins[i].hole].plated.value_or(false);
  }
  return false;
}

// Straight to the island that contains the place, else the nearest within the reach.
std::optional<IslandId> island_for_link(const Ground& ground, std::size_t layer, Position p) {
  if (const auto island = ground.index.at(ground.layer(layer), p)) return island;
  const auto near = ground.index.near(ground.layer(layer), p, kListedReach);
  if (near.empty()) return std::nullopt;
  return near.front();
}

}  // namespace

std::span<const Hole> legs_of(const formats::Design& design, std::size_t hole) {
  std::size_t end = hole + 1;
  while (end < design.holes.size() && continues(design.holes[end - 1], design.holes[end])) ++end;
  return std::span(design.holes).subspan(hole, end - hole);
}

bool in_span(const Ground& ground, const Join& join, std::size_t layer) {
  const Hole& hole = ground.design.holes[join.hole];
  if (!hole.span) return true;
  const auto number = static_cast<int>(layer) + 1;
  const auto [low, high] = std::minmax(hole.span->first, hole.span->second);
  // A span that names the outer layers of the board goes through, however many layers were given.
  return (number >= low && number <= high) ||
         (low <= 1 && high >= static_cast<int>(ground.layers()));
}

std::vector<IslandId> islands_along(const Ground& ground, const Join& join, std::size_t layer,
                                    Nanometres reach) {
  std::vector<IslandId> found;
  for (const Position p : axis_places(legs_of(ground.design, join.hole), join.diameter)) {
    for (const IslandId island : ground.index.near(ground.layer(layer), p, reach)) {
      if (std::ranges::find(found, island) == found.end()) found.push_back(island);
    }
  }
  return found;
}

double distance_to_axis(const formats::Design& design, const Join& join, Position p) {
  double nearest = distance_nm(join.at, p);
  for (const Hole& leg : legs_of(design, join.hole)) {
    nearest = std::min(nearest, closest(p, Segment{leg.from, leg.to}).distance_nm);
  }
  return nearest;
}

std::optional<std::size_t> hole_at(const Ground& ground, const std::vector<Join>& joins,
                                   Position p) {
  std::optional<std::size_t> found;
  double nearest = 0;
  for (std::size_t i = 0; i < joins.size(); ++i) {
    const Nanometres reach = std::max(joins[i].diameter / 2, kHoleReach);
    if (beyond(ground.design, joins[i], p, reach)) continue;
    const double d = distance_to_axis(ground.design, joins[i], p);
    if (d > static_cast<double>(reach.value) || (found && d >= nearest)) continue;
    found = i;
    nearest = d;
  }
  return found;
}

Result<Holes> find_holes(const Ground& ground, Diagnostics& notes) {
  Holes holes;
  holes.joins = all_holes(ground);
  holes.tooling = tooling_holes(ground, holes.joins);
  const JoinsMode mode = ground.design.board.joins_mode;
  for (std::size_t i = 0; i < holes.joins.size(); ++i) {
    holes.joined.push_back(joined_by_mode(mode, ground, holes, i));
  }
  if (mode == JoinsMode::listed) {
    if (auto done = fit_listed(ground, holes, notes); !done) return done.problem();
  }
  for (std::size_t i = 0; i < holes.joins.size(); ++i) {
    if (!joins_count(ground.stage())) holes.joined[i] = false;
    Join& join = holes.joins[i];
    join.conducts = holes.joined[i] && join.islands.size() > 1;
  }
  return holes;
}

Result<std::vector<Link>> find_links(const Ground& ground) {
  std::vector<Link> links;
  if (!joins_count(ground.stage())) return links;
  for (const auto& entry : ground.design.board.links) {
    const std::size_t layer = entry.side == Side::bottom ? ground.last() : 0;
    const auto from = island_for_link(ground, layer, entry.from);
    const auto to = island_for_link(ground, layer, entry.to);
    if (!from || !to) {
      return problem(ground.design, "EXP-005",
                     "links names " + text_of_place(from ? entry.to : entry.from) + " on side " +
                         std::string(name(entry.side)) + ", but no copper lies there",
                     "give a place on the pad the wire is soldered to, and its side");
    }
    links.push_back({*from, *to, entry.from, entry.to});
  }
  return links;
}

}  // namespace isthmus::expect
