// SPDX-License-Identifier: Apache-2.0
#include "expect/holes/hole_gaps.hpp"

#include <algorithm>
#include <limits>

#include "expect/holes/link_gaps.hpp"

namespace isthmus::expect {
namespace {

bool hand_made(const Holes& holes, std::size_t join) {
  return holes.joined[join] && holes.joins[join].kind != formats::JoinKind::plated &&
         !holes.joins[join].islands.empty();
}

struct Approach {
  double distance_nm{std::numeric_limits<double>::infinity()};
  Position on_axis, on_copper;
};

void take_edges(const formats::Hole& leg, const Contour& contour, Approach& best) {
  for (std::size_t i = 0; i < contour.size(); ++i) {
    const Segment edge{contour[i], contour[(i + 1) % contour.size()]};
    const Closest c = closest(Segment{leg.from, leg.to}, edge);
    if (c.distance_nm >= best.distance_nm) continue;
    best = {c.distance_nm, c.on_first, c.on_second};
  }
}

// From the hole's axis to an island that does not contain it.
Approach approach(const Ground& ground, const Join& join, const copper::Island& island) {
  Approach best;
  for (const formats::Hole& leg : legs_of(ground.design, join.hole)) {
    for (std::size_t p = 0; p < island.pieces(); ++p) {
      take_edges(leg, island.piece(p).outer, best);
      for (const Contour& hole : island.piece(p).holes) take_edges(leg, hole, best);
    }
  }
  return best;
}

copper::Gap gap_to(const Ground& ground, const Join& join, IslandId other, const Approach& near) {
  const double radius = static_cast<double>(join.diameter.value) / 2;
  copper::Gap gap;
  gap.kind = copper::GapKind::hole;
  gap.layer = ground.copper.island(other).layer;
  gap.a = std::min(join.islands.front(), other);
  gap.b = std::max(join.islands.front(), other);
  gap.distance_nm = std::max(near.distance_nm - radius, 0.0);
  gap.on_a = gap.a == other ? near.on_copper : near.on_axis;
  gap.on_b = gap.a == other ? near.on_axis : near.on_copper;
  gap.weight = 2 * radius / std::max(gap.distance_nm, copper::kLeastGapOfWeight);
  gap.facings.push_back({gap.distance_nm,
                         gap.on_a,
                         gap.on_b,
                         {near.on_axis, near.on_copper},
                         2 * radius,
                         gap.weight,
                         false});
  return gap;
}

bool at_rim(const Ground& ground, const Join& join, LayerId layer) {
  return std::ranges::any_of(join.islands,
                             [&](IslandId i) { return ground.copper.island(i).layer == layer; });
}

}  // namespace

std::vector<copper::WideWindow> hand_made_places(const Ground& ground, const Holes& holes) {
  std::vector<copper::WideWindow> places;
  for (std::size_t i = 0; i < holes.joins.size(); ++i) {
    if (!hand_made(holes, i)) continue;
    const Nanometres reach = kHandReach + holes.joins[i].diameter / 2;
    places.push_back({holes.joins[i].at, reach, kHandReach});
    for (const formats::Hole& leg : legs_of(ground.design, holes.joins[i].hole)) {
      if (leg.from != leg.to)
        places.insert(places.end(), {{leg.from, reach, kHandReach}, {leg.to, reach, kHandReach}});
    }
  }
  return places;
}

std::vector<copper::Gap> hole_gaps(const Ground& ground, const Holes& holes) {
  std::vector<copper::Gap> gaps;
  for (std::size_t i = 0; i < holes.joins.size(); ++i) {
    const Join& join = holes.joins[i];
    if (!holes.joined[i] || join.islands.empty()) continue;
    for (std::size_t l = 0; l < ground.layers(); ++l) {
      if (!in_span(ground, join, l) || at_rim(ground, join, ground.layer(l))) continue;
      const bool outer = l == 0 || l == ground.last();
      Nanometres reach = join.diameter / 2 + ground.design.board.process.drill_wander;
      if (outer && hand_made(holes, i)) reach = reach + kHandReach;
      for (const IslandId other : islands_along(ground, join, l, reach)) {
        const Approach near = approach(ground, join, ground.copper.island(other));
        if (near.distance_nm <= static_cast<double>(reach.value))
          gaps.push_back(gap_to(ground, join, other, near));
      }
    }
  }
  return gaps;
}

std::optional<Sheet> find_sheet(const Ground& ground, const Holes& holes) {
  const bool top = ground.stage() == Stage::etched_top;
  const formats::BoardFile& file = ground.design.board;
  if ((!top && ground.stage() != Stage::etched_bottom) || !file.top || !file.bottom)
    return std::nullopt;
  Sheet sheet{top ? Side::bottom : Side::top, {}};
  const std::size_t etched = top ? 0 : ground.last();
  for (std::size_t i = 0; i < holes.joins.size(); ++i) {
    const Join& join = holes.joins[i];
    if (!in_span(ground, join, 0) || !in_span(ground, join, ground.last())) continue;
    const Nanometres reach = join.diameter / 2 + ground.design.board.process.drill_wander;
    for (const IslandId island : islands_along(ground, join, etched, reach))
      sheet.burrs.push_back({i, island});
  }
  return sheet;
}

std::vector<copper::Gap> gaps_at_stage(const formats::Design& design,
                                       const copper::Copper& copper) {
  const copper::IslandIndex index(copper);
  const std::vector<copper::Gap> none;
  const Ground ground{design, copper, none, index};
  Diagnostics said_later;
  const auto holes = find_holes(ground, said_later);
  const Nanometres window = design.board.limits.window;
  if (!holes) return copper::find_gaps(copper, window);
  std::vector<Link> links;
  if (auto found = find_links(ground)) links = std::move(*found);
  std::vector<copper::WideWindow> by_hand = hand_made_places(ground, *holes);
  for (const Link& link : links) {
    for (const Position end : {link.from_at, link.to_at})
      by_hand.push_back({end, kHandReach, kHandReach});
  }
  std::vector<copper::Gap> gaps = copper::find_gaps(copper, window, by_hand);
  for (copper::Gap& gap : hole_gaps(ground, *holes)) gaps.push_back(std::move(gap));
  for (copper::Gap& gap : link_gaps(ground, links)) gaps.push_back(std::move(gap));
  copper::sort_gaps(gaps);
  return gaps;
}

}  // namespace isthmus::expect
