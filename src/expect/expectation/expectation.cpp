// SPDX-License-Identifier: Apache-2.0
#include "isthmus/expect/expectation.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "expect/disagreements/disagreements.hpp"
#include "expect/expectation/checks.hpp"
#include "expect/expectation/ground.hpp"
#include "expect/holes/hole_gaps.hpp"
#include "expect/holes/parted.hpp"

namespace isthmus::expect {
namespace {

using formats::NetlistSource;

std::string_view basis_of(NetlistSource source) {
  switch (source) {
    case NetlistSource::file:
      return "netlist";
    case NetlistSource::gerber_x2:
      return "gerber-x2";
    case NetlistSource::artwork:
      return "artwork";
  }
  return "";
}

Result<std::vector<Pad>> collect_pads(const Ground& ground, const Holes& holes,
                                      Diagnostics& notes) {
  std::vector<Pad> pads;
  switch (ground.design.board.netlist_source) {
    case NetlistSource::file:
      ENSURE(ground.design.netlist.has_value());
      pads = pads_of_netlist(ground, holes, notes);
      break;
    case NetlistSource::gerber_x2:
      pads = pads_of_x2(ground, holes);
      break;
    case NetlistSource::artwork:
      pads = pads_of_artwork(ground, holes);
      break;
  }
  if (pads.empty()) return no_points(ground);
  pads = name_pads(std::move(pads), holes);
  place_pads(ground, holes, pads);
  if (ground.design.board.netlist_source == NetlistSource::artwork) {
    // A flash that was cleared away again is no pad.
    std::erase_if(pads, [](const Pad& pad) { return !pad.has_copper(); });
  }
  return pads;
}

void append(std::vector<Disagreement>& all, std::vector<Disagreement> more) {
  std::move(more.begin(), more.end(), std::back_inserter(all));
}

std::vector<Disagreement> find_disagreements(const Case& c) {
  std::vector<Disagreement> all = find_opens(c);
  append(all, find_bridges(c));
  append(all, find_missing_copper(c));
  append(all, find_missing_nets(c));
  append(all, find_breakouts(c));
  append(all, find_marginals(c));
  return all;
}

// Whether its pads are no points: an X2 pad that merely lacks its net's name is one, and is tested.
bool unlisted(const Disagreement& d) {
  return d.kind == DisagreementKind::no_net && d.nets.front().starts_with('#');
}

std::set<std::string> unlisted_pads(const std::vector<Disagreement>& disagreements) {
  std::set<std::string> names;
  for (const Disagreement& d : disagreements) {
    if (unlisted(d)) names.insert(d.points.begin(), d.points.end());
  }
  return names;
}

void list_waivers(const formats::Design& design, Expectation& e) {
  for (const Point& p : e.points) {
    if (p.waived) e.waivers.push_back({p.id, p.net, p.waive_why});
  }
  for (const Disagreement& d : e.disagreements) {
    if (!unlisted(d)) continue;
    for (const auto& entry : design.board.waive) {
      if (entry.kind == formats::WaiveKind::point &&
          std::ranges::find(d.points, entry.point) != d.points.end())
        e.waivers.push_back({entry.point, d.nets.front(), entry.why});
    }
  }
}

// Opens, bridges, missing copper and copper that the netlist does not know forbid a pass, pads that
// are waived by name left out; the tight places are warnings.
std::vector<Blocker> find_blockers(const Expectation& e) {
  std::vector<Blocker> blockers;
  for (const Disagreement& d : e.disagreements) {
    std::vector<std::string> points = d.points;
    std::string why;
    if (d.kind == DisagreementKind::open) {
      why = joins_count(e.stage) ? fmt::format("split at {}", name(e.stage))
                                 : "disagreement: open in the artwork";
    } else if (d.kind == DisagreementKind::bridge) {
      why = fmt::format("disagreement: shares copper with {}", d.nets.back());
    } else if (d.kind == DisagreementKind::no_copper) {
      why = "disagreement: no copper in the artwork";
    } else if (unlisted(d)) {
      std::erase_if(points, [&](const std::string& p) {
        return std::ranges::find(e.waivers, p, &Waiver::point) != e.waivers.end();
      });
      if (points.empty()) continue;
      why = "disagreement: the netlist knows no pad on this copper";
    } else {
      continue;
    }
    blockers.push_back({d.nets.front(), std::move(points), std::move(why)});
  }
  return blockers;
}

}  // namespace

std::string_view name(DisagreementKind k) {
  switch (k) {
    case DisagreementKind::open:
      return "open";
    case DisagreementKind::bridge:
      return "bridge";
    case DisagreementKind::no_copper:
      return "no-copper";
    case DisagreementKind::no_net:
      return "no-net";
    case DisagreementKind::breakout:
      return "breakout";
    case DisagreementKind::marginal:
      return "marginal";
  }
  return "";
}

Result<Expectation> expect_board(const formats::Design& design, const copper::Copper& copper,
                                 const std::vector<copper::Gap>& gaps, Diagnostics& notes,
                                 const copper::ConductorGraph* conductors) {
  ENSURE(copper.layers > 0 && copper.layers == design.copper.size());
  const copper::IslandIndex index(copper);
  const Ground ground{design, copper, gaps, index, conductors};
  auto holes = find_holes(ground, notes);
  if (!holes) return holes.problem();
  auto links = find_links(ground);
  if (!links) return links.problem();
  auto pads = collect_pads(ground, *holes, notes);
  if (!pads) return pads.problem();
  if (auto fits = check_origin(ground, *pads); !fits) return fits.problem();

  const bool artwork = design.board.netlist_source == NetlistSource::artwork;
  StagePoints stage = points_at_stage(ground, *holes, *pads);
  const Pieces pieces = pieces_at_stage(ground, holes->joins, *links);
  const Pieces promised = pieces_promised(ground, holes->joins, *links, *pads);
  Grouping grouping = group_points(pieces, stage, artwork);
  mark_required(ground.stage(), stage.points, copper.islands.size());
  const Ties ties(design.board.net_ties);
  note_unknown_ties(ground, stage.points, notes);

  Expectation e;
  e.stage = ground.stage();
  e.basis = basis_of(design.board.netlist_source);
  e.disagreements =
      find_disagreements({ground, *holes, *pads, stage, pieces, promised, grouping, ties, *links});
  add_unlisted(ground, *holes, *pads, pieces, promised, stage);
  grouping = group_points(pieces, stage, artwork);
  Pairs pairs = find_pairs(ground, pieces, grouping, ties);
  if (auto done = waive_points(ground, *pads, unlisted_pads(e.disagreements), stage.points, notes);
      !done) {
    return done.problem();
  }
  warn_of_parting_holes(ground, *holes, stage.points, notes);
  e.points = std::move(stage.points);
  e.groups = std::move(grouping.groups);
  e.pairs = std::move(pairs.near);
  e.pairs_beyond_window = pairs.beyond;
  e.sheet = find_sheet(ground, *holes);
  e.joins = std::move(holes->joins);
  e.links = std::move(*links);
  list_waivers(design, e);
  e.blockers = find_blockers(e);
  return e;
}

}  // namespace isthmus::expect
