// SPDX-License-Identifier: Apache-2.0
#include "plan/resolve.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

namespace isthmus::plan {
namespace {

Problem at_probe(const formats::FixtureFile& fixture, const formats::ProbeEntry& probe,
                 std::string code, std::string message, std::string hint) {
  return {fixture.path.string(), probe.line, probe.column, std::move(code), std::move(message),
          std::move(hint),       ""};
}

bool reaches(Side placement, Side point) { return point == Side::both || point == placement; }

std::string text_mm(Position p) { return fmt::format("{:.3f}, {:.3f}", to_mm(p.x), to_mm(p.y)); }

// A bare place must lie on a pad: a probe on nameless copper would prove nothing about a point.
Result<PointId> point_under(const expect::Board& board, const formats::FixtureFile& fixture,
                            const formats::ProbeEntry& probe, Side side) {
  const auto& points = board.expectation.points;
  std::optional<std::size_t> best;
  double best_distance = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (!reaches(side, points[i].side)) continue;
    const double d = distance_nm(points[i].at, *probe.at);
    const double pad = std::max(static_cast<double>(points[i].size.value) / 2, 100e3);
    if (d <= pad && (!best || d < best_distance)) {
      best = i;
      best_distance = d;
    }
  }
  if (!best) {
    return at_probe(fixture, probe, "PLN-004",
                    fmt::format("no pad lies at {} on the {} side", text_mm(*probe.at), name(side)),
                    "name a point, or correct the place (mm, the artwork's own coordinates)");
  }
  return PointId{static_cast<std::uint32_t>(*best)};
}

Result<PointId> point_of(const expect::Board& board, const formats::FixtureFile& fixture,
                         const formats::ProbeEntry& probe, Side side) {
  if (probe.point.empty()) return point_under(board, fixture, probe, side);
  Result<PointId> found = expect::find_point(board.expectation, probe.point, side);
  if (!found) {
    const Problem& why = found.problem();
    return at_probe(fixture, probe, "PLN-001", why.message, why.hint);
  }
  const expect::Point& point = board.expectation.point(*found);
  if (!reaches(side, point.side)) {
    return at_probe(fixture, probe, "PLN-002",
                    fmt::format("{} lies on the {} side, the placement probes the {} side",
                                point.id, name(point.side), name(side)),
                    "move it to a placement of the other side");
  }
  if (probe.at && distance_nm(*probe.at, point.at) > 2e6) {
    return at_probe(fixture, probe, "PLN-003",
                    fmt::format("{} is at {}, the fixture says {}", point.id, text_mm(point.at),
                                text_mm(*probe.at)),
                    "the fixture was made for another board: make it again");
  }
  return found;
}

std::optional<Problem> made_for_another(const expect::Board& board,
                                        const formats::FixtureFile& fixture) {
  const auto problem = [&](const std::string& what) {
    return Problem{fixture.path.string(),
                   0,
                   0,
                   "PLN-005",
                   what,
                   "make the fixture again: isthmus fixture",
                   ""};
  };
  const std::string stage{name(board.expectation.stage)};
  if (!fixture.made_for_board.empty() && fixture.made_for_board != board.design.board.name) {
    return problem(fmt::format("the fixture was made for board \"{}\", this is \"{}\"",
                               fixture.made_for_board, board.design.board.name));
  }
  if (!fixture.made_for_stage.empty() && fixture.made_for_stage != stage) {
    return problem(fmt::format("the fixture was made for stage {}, the board is at {}",
                               fixture.made_for_stage, stage));
  }
  if (!fixture.made_for_hash.empty() && fixture.made_for_hash != board.hash) {
    return problem("the design files have changed since the fixture was made");
  }
  return std::nullopt;
}

}  // namespace

Result<std::vector<Placement>> resolve_placements(const expect::Board& board,
                                                  const formats::FixtureFile& fixture,
                                                  Diagnostics& notes) {
  if (auto problem = made_for_another(board, fixture)) return *problem;
  std::vector<Placement> placements;
  for (const formats::PlacementEntry& entry : fixture.placements) {
    Placement placement{entry.name, entry.side, {}, {}};
    std::map<PointId, Channel> seen;
    for (const auto& [channel, probe] : entry.probes) {
      Result<PointId> point = point_of(board, fixture, probe, entry.side);
      if (!point) return point.problem();
      const auto [first, fresh] = seen.emplace(*point, channel);
      if (!fresh) {
        notes.warn(
            at_probe(fixture, probe, "PLN-006",
                     fmt::format("{} is already under channel {} in placement {}",
                                 board.expectation.point(*point).id, first->second, entry.name),
                     "a second tip on the same pad is a twin: {point: …, twin: …}"));
      }
      const Position at = probe.at.value_or(board.expectation.point(*point).at);
      placement.probes.push_back({channel, *point, at, probe.twin});
    }
    placements.push_back(std::move(placement));
  }
  return placements;
}

}  // namespace isthmus::plan
