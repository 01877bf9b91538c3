// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <numeric>
#include <set>

#include "isthmus/plan/laying.hpp"
#include "isthmus/plan/plan.hpp"
#include "plan/close_tips.hpp"
#include "plan/reach.hpp"
#include "plan/resolve.hpp"
#include "plan/steps.hpp"

namespace isthmus::plan {
namespace {

std::size_t channels_in(const Placement& p) {
  return std::accumulate(
      p.probes.begin(), p.probes.end(), std::size_t{0},
      [](std::size_t n, const Probe& probe) { return n + (probe.twin ? 2u : 1u); });
}

// At least so many layings: the required points over the channels; or the largest group, of which
// each further placement must share a point with those before. Pairs are not counted.
void bound_placements(const expect::Board& board, const formats::FixtureFile& fixture, Plan& plan) {
  std::size_t points = 0, largest = 0;
  for (const expect::Group& g : board.expectation.groups) {
    std::size_t needed = 0;
    for (PointId p : g.points) {
      if (board.expectation.point(p).required && !board.expectation.point(p).waived) ++needed;
    }
    points += needed;
    largest = std::max(largest, needed);
  }
  const auto n = static_cast<std::size_t>(fixture.channels);
  const auto up = [](std::size_t a, std::size_t b) { return b == 0 ? a : (a + b - 1) / b; };
  plan.placements_bound = up(points, n);
  plan.bound_reason = fmt::format("{} points over {} channels", points, n);
  if (n > 1 && largest > 1 && up(largest - 1, n - 1) > plan.placements_bound) {
    plan.placements_bound = up(largest - 1, n - 1);
    plan.bound_reason = fmt::format("the largest net has {} points", largest);
  }
}

void count_steps(const expect::Board& board, Plan& plan) {
  std::set<PointId> probed;
  std::set<GroupId> groups;
  for (const Placement& p : plan.placements) {
    for (const Probe& probe : p.probes) {
      if (!board.expectation.point(probe.point).group) continue;
      probed.insert(probe.point);
      groups.insert(*board.expectation.point(probe.point).group);
    }
  }
  for (const Step& s : plan.steps) {
    if (s.kind == StepKind::continuity) ++plan.continuity.steps;
    if (s.kind == StepKind::isolation) ++plan.isolation.steps;
    if (s.kind == StepKind::contact && !s.expects_no_contact()) ++plan.contact_steps;
  }
  plan.continuity.bound =
      probed.size() - groups.size();  // each conducting reading merges at most two
  for (std::size_t p = 0; p < plan.placements.size(); ++p) {
    if (!partitions(board, groups_in(board, plan.placements[p])).empty()) ++plan.isolation.bound;
  }
  plan.pairs = board.expectation.pairs.size();
  plan.pairs_beyond_window = board.expectation.pairs_beyond_window;
}

}  // namespace

Result<std::vector<Placement>> placements_of(const expect::Board& board,
                                             const formats::FixtureFile& fixture,
                                             Diagnostics& notes) {
  Result<std::vector<Placement>> placements = resolve_placements(board, fixture, notes);
  if (!placements) return placements;
  for (const Placement& p : *placements) {
    if (channels_in(p) > static_cast<std::size_t>(fixture.channels)) {
      return Problem{fixture.path.string(),
                     0,
                     0,
                     "PLN-007",
                     fmt::format("placement {} uses {} channels of {}", p.name, channels_in(p),
                                 fixture.channels),
                     "spread its probes over two placements",
                     ""};
    }
  }
  warn_of_touching_tips(board, fixture, *placements, notes);
  return placements;
}

Result<Done> check_fixture(const expect::Board& board, const formats::FixtureFile& fixture) {
  Diagnostics notes;
  const auto placements = placements_of(board, fixture, notes);
  if (!placements) return placements.problem();
  return Done{};
}

Result<Shortfall> shortfall_of(const expect::Board& board, const formats::FixtureFile& fixture) {
  Diagnostics notes;
  const auto placements = placements_of(board, fixture, notes);
  if (!placements) return placements.problem();
  Shortfall s = shortfall_of(board, *placements, fixture.contact_check);
  s.channels = fixture.channels;
  return s;
}

Result<Plan> make_plan(const expect::Board& board, const formats::FixtureFile& fixture,
                       const Means& means, Diagnostics& notes) {
  Result<std::vector<Placement>> placements = placements_of(board, fixture, notes);
  if (!placements) return placements.problem();
  Plan plan;
  plan.placements = std::move(placements).value();
  plan.contact_check = fixture.contact_check;
  plan.wires = means.wires;
  plan.contact = fixture.tip_contact;
  plan.contact_spread = fixture.tip_contact_spread;
  plan.tip = fixture.tip_diameter;
  StepBuilder builder(board, means, fixture.channels, plan);
  const Pieces pieces(board);
  for (std::size_t p = 0; p < plan.placements.size(); ++p) {
    builder.placement(p);
    plan.placements[p].cannot_tell = indistinguishable_layings(board, pieces, plan.placements[p]);
  }
  bound_placements(board, fixture, plan);
  count_steps(board, plan);
  plan.untested = out_of_reach(board, plan.placements, plan.contact_check);
  return plan;
}

}  // namespace isthmus::plan
