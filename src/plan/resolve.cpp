// SPDX-License-Identifier: Apache-2.0
#include "plan/resolve.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <utility>

#include "isthmus/formats/text.hpp"
#include "plan/pads.hpp"
#include "plan/sides.hpp"

namespace isthmus::plan {
namespace {

Problem at_probe(const formats::FixtureFile& fixture, const formats::ProbeEntry& probe,
                 std::string code, std::string message, std::string hint) {
  return {fixture.path.string(), probe.line, probe.column, std::move(code), std::move(message),
          std::move(hint),       ""};
}

std::string text_mm(Position p) { return fmt::format("{:.3f}, {:.3f}", to_mm(p.x), to_mm(p.y)); }

// From where it may touch; the first side is taken from which its point can be reached.
std::vector<Side> sides_of(const formats::PlacementEntry& placement,
                           const formats::ProbeEntry& probe) {
  if (probe.side) return {*probe.side};
  if (placement.side == Side::both) return {Side::top, Side::bottom};
  if (probe.clip) return {other(placement.side), placement.side};
  return {placement.side};
}

std::string in_words(const std::vector<Side>& sides) {
  return sides.size() == 1 ? std::string(name(sides[0])) : "top or bottom";
}

struct Touched {
  PointId point{};
  Side side{};
};

class Resolver {
 public:
  Resolver(const expect::Board& board, const formats::FixtureFile& fixture)
      : board_(board),
        points_(board.expectation.points),
        fixture_(fixture),
        top_(board, Side::top),
        bottom_(board, Side::bottom) {}

  [[nodiscard]] Result<Touched> touched(const formats::ProbeEntry& probe,
                                        const std::vector<Side>& sides) const {
    return probe.point.empty() ? under(probe, sides) : named(probe, sides);
  }

  [[nodiscard]] std::optional<PointId> pad_under(Position at, Side side) const {
    std::optional<std::size_t> best;
    const auto distance = [&](std::size_t i) { return distance_nm(points_[i].at, at); };
    for (std::size_t i = 0; i < points_.size(); ++i) {
      if (!reaches(side, points_[i].side) || (best && distance(i) >= distance(*best))) continue;
      if (pads(side).on_pad_of(points_[i], at)) best = i;
    }
    if (!best) return std::nullopt;
    return PointId{static_cast<std::uint32_t>(*best)};
  }

 private:
  [[nodiscard]] const Pads& pads(Side side) const { return side == Side::top ? top_ : bottom_; }

  // The pad at a bare place; else the place itself, once it was made a point.
  [[nodiscard]] Result<Touched> under(const formats::ProbeEntry& probe,
                                      const std::vector<Side>& sides) const {
    for (const Side side : sides) {
      if (const auto point = pad_under(*probe.at, side)) return Touched{*point, side};
    }
    return at_probe(
        fixture_, probe, "PLN-004",
        fmt::format("no pad lies at {} on the {} side", text_mm(*probe.at), in_words(sides)),
        "name a point, or correct the place (mm, the artwork's own coordinates)");
  }

  // Where it has copper, else where it should have.
  [[nodiscard]] Result<Touched> named(const formats::ProbeEntry& probe,
                                      const std::vector<Side>& sides) const {
    std::vector<Touched> reached;
    for (const Side side : sides) {
      const Result<PointId> found = expect::find_point(board_.expectation, probe.point, side);
      if (!found) {
        const Problem& why = found.problem();
        return at_probe(fixture_, probe, "PLN-001", why.message, why.hint);
      }
      const expect::Point& point = board_.expectation.point(*found);
      if (reaches(side, point.side)) reached.push_back({*found, side});
      if (reached.empty() && side == sides.back()) return out_of_reach(probe, point, side);
    }
    const auto with_copper = std::ranges::find_if(reached, [&](const Touched& t) {
      return expect::electrode_at(board_, t.point, t.side, 0_um).has_value();
    });
    const Touched touched = with_copper == reached.end() ? reached.front() : *with_copper;
    const expect::Point& point = board_.expectation.point(touched.point);
    if (probe.at && !pads(touched.side).on_pad_of(point, *probe.at)) return off_pad(probe, point);
    return touched;
  }

  [[nodiscard]] Problem out_of_reach(const formats::ProbeEntry& probe, const expect::Point& point,
                                     Side side) const {
    return at_probe(
        fixture_, probe, "PLN-002",
        fmt::format("{} lies on the {} side, this {} touches the {} side", point.id,
                    name(point.side), probe.clip ? "clip" : "probe", name(side)),
        probe.clip ? "correct the clip's side" : "move it to a placement of the other side");
  }

  [[nodiscard]] Problem off_pad(const formats::ProbeEntry& probe,
                                const expect::Point& point) const {
    if (distance_nm(*probe.at, point.at) > 2e6) {
      return at_probe(fixture_, probe, "PLN-003",
                      fmt::format("{} is at {}, the fixture says {}", point.id, text_mm(point.at),
                                  text_mm(*probe.at)),
                      "the fixture was made for another board: make it again");
    }
    return at_probe(fixture_, probe, "PLN-009",
                    fmt::format("{} does not lie on the pad of {}, which is at {}",
                                text_mm(*probe.at), point.id, text_mm(point.at)),
                    "what is touched beside the pad proves nothing about the pad: correct `at`, or "
                    "leave it out to touch the middle");
  }

  const expect::Board& board_;
  const std::vector<expect::Point>& points_;
  const formats::FixtureFile& fixture_;
  Pads top_, bottom_;
};

std::optional<Problem> made_for_another(const expect::Board& board,
                                        const formats::FixtureFile& fixture) {
  const auto problem = [&](const std::string& what, const std::string& first = "") {
    return Problem{fixture.path.string(),
                   0,
                   0,
                   "PLN-005",
                   what,
                   first + "make the fixture again: isthmus fixture",
                   ""};
  };
  const std::string stage{name(board.expectation.stage)};
  if (!fixture.made_for_board.empty() && fixture.made_for_board != board.design.board.name) {
    return problem(fmt::format("the fixture was made for board \"{}\", this is \"{}\"",
                               fixture.made_for_board, board.design.board.name));
  }
  if (!fixture.made_for_stage.empty() && fixture.made_for_stage != stage) {
    return problem(fmt::format("the fixture was made for stage {}, the board is at {}",
                               fixture.made_for_stage, stage),
                   fmt::format("give --stage {} if the board has got there; else ",
                               formats::shown(fixture.made_for_stage)));
  }
  if (!fixture.made_for_hash.empty() && fixture.made_for_hash != board.hash) {
    return problem("the design files have changed since the fixture was made");
  }
  return std::nullopt;
}

}  // namespace

Result<Done> add_bare_places(expect::Board& board, const formats::FixtureFile& fixture) {
  if (auto problem = made_for_another(board, fixture)) return *problem;
  struct Place {
    const formats::ProbeEntry* probe;
    std::vector<Side> sides;
  };
  std::vector<Place> places;
  const Resolver resolver(board, fixture);
  for (const formats::PlacementEntry& entry : fixture.placements) {
    for (const auto& [channel, probe] : entry.probes) {
      if (!probe.point.empty()) continue;
      std::vector<Side> sides = sides_of(entry, probe);
      const Position at = *probe.at;
      const bool on_pad = std::ranges::any_of(
          sides, [&](Side side) { return resolver.pad_under(at, side).has_value(); });
      if (!on_pad) places.push_back({&probe, std::move(sides)});
    }
  }
  for (const Place& place : places) {
    std::string hint;
    const bool added = std::ranges::any_of(place.sides, [&](Side side) {
      const Result<PointId> point = expect::add_place(board, *place.probe->at, side);
      if (!point) hint += (hint.empty() ? "" : "; ") + point.problem().hint;
      return point.ok();
    });
    if (added) continue;
    return at_probe(fixture, *place.probe, "PLN-004",
                    fmt::format("no copper lies at {} on the {} side", text_mm(*place.probe->at),
                                in_words(place.sides)),
                    hint);
  }
  return Done{};
}

Result<std::vector<Placement>> resolve_placements(const expect::Board& board,
                                                  const formats::FixtureFile& fixture,
                                                  Diagnostics& notes) {
  if (auto problem = made_for_another(board, fixture)) return *problem;
  const Resolver resolver(board, fixture);
  std::vector<Placement> placements;
  for (const formats::PlacementEntry& entry : fixture.placements) {
    if (!entry.needles.empty()) {
      return Problem{fixture.path.string(),
                     0,
                     0,
                     "PLN-010",
                     fmt::format("placement {} is played by hand", entry.name),
                     "isthmus guide BOARD --clips " + fixture.path.string(),
                     ""};
    }
    Placement placement{entry.name, entry.side, {}, {}};
    std::map<std::pair<PointId, Side>, Channel> seen;
    for (const auto& [channel, probe] : entry.probes) {
      const Result<Touched> touched = resolver.touched(probe, sides_of(entry, probe));
      if (!touched) return touched.problem();
      const expect::Point& point = board.expectation.point(touched->point);
      const auto [first, fresh] = seen.emplace(std::pair(touched->point, touched->side), channel);
      if (!fresh) {
        notes.warn(at_probe(fixture, probe, "PLN-006",
                            fmt::format("{} is already under channel {} in placement {}", point.id,
                                        first->second, entry.name),
                            "a second tip on the same pad is a twin: {point: …, twin: …}"));
      }
      placement.probes.push_back({channel, touched->point, probe.at.value_or(point.at), probe.twin,
                                  touched->side, probe.clip});
    }
    placements.push_back(std::move(placement));
  }
  return placements;
}

}  // namespace isthmus::plan
