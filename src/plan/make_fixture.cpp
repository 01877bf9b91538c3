// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "plan/close_tips.hpp"
#include "plan/make_fixture_layout.hpp"
#include "plan/make_fixture_sides.hpp"

namespace isthmus::plan {
namespace {

bool reaches(Side probes, Side point) { return point == Side::both || point == probes; }

// A group's points by how they can be reached.
struct ByReach {
  std::vector<PointId> top, bottom, both;  // required, not waived
  std::vector<PointId> further;            // not required: may stand in
};

ByReach by_reach(const expect::Board& board, const expect::Group& group) {
  ByReach out;
  for (const PointId id : group.points) {
    const expect::Point& point = board.expectation.point(id);
    if (point.waived) continue;
    if (!point.required) {
      out.further.push_back(id);
    } else if (point.side == Side::both) {
      out.both.push_back(id);
    } else {
      (point.side == Side::top ? out.top : out.bottom).push_back(id);
    }
  }
  return out;
}

class Demands {
 public:
  Demands(const expect::Board& board, Nanometres tip) : board_(board) {
    const auto& groups = board.expectation.groups;
    std::size_t tops = 0;
    std::size_t bottoms = 0;
    for (const expect::Group& group : groups) {
      reach_.push_back(by_reach(board, group));
      tops += reach_.back().top.size();
      bottoms += reach_.back().bottom.size();
    }
    usual_ = bottoms > tops ? Side::bottom : Side::top;
    for (SideDemand* demand : {&top_, &bottom_}) {
      demand->wanted.resize(groups.size());
      demand->usable.resize(groups.size());
    }
    bottom_.side = Side::bottom;
    for (SideDemand* demand : {&top_, &bottom_})
      demand->spots = find_spots(board, demand->side, tip);
    for (std::size_t g = 0; g < groups.size(); ++g) share_out(g);
    for (const expect::Pair& pair : board.expectation.pairs) {
      share_out_pair(index(pair.a), index(pair.b));
    }
  }
  [[nodiscard]] const SideDemand& top() const { return top_; }
  [[nodiscard]] const SideDemand& bottom() const { return bottom_; }

 private:
  // Holes go with the surface pads of their group. Where a group has pads on both sides, they stay
  // on top, and as many are touched from below, too, as it takes to tie the sides.
  void share_out(std::size_t g) {
    const ByReach& r = reach_[g];
    const Side home = r.top.empty() == r.bottom.empty() ? usual_
                      : r.bottom.empty()                ? Side::top
                                                        : Side::bottom;
    const bool split = !r.top.empty() && !r.bottom.empty();
    auto& top = top_.wanted[g];
    auto& bottom = bottom_.wanted[g];
    top = r.top;
    bottom = r.bottom;
    auto& holes = split || home == Side::top ? top : bottom;
    holes.insert(holes.end(), r.both.begin(), r.both.end());
    for (SideDemand* demand : {&top_, &bottom_}) {
      std::sort(demand->wanted[g].begin(), demand->wanted[g].end());
      demand->usable[g] = demand->wanted[g];
      add_usable(r, *demand, demand->usable[g]);
    }
    if (split) tie(g);
  }

  void tie(std::size_t g) {
    const ByReach& r = reach_[g];
    std::vector<PointId> holes = r.both;
    std::copy_if(r.further.begin(), r.further.end(), std::back_inserter(holes),
                 [&](PointId p) { return board_.expectation.point(p).side == Side::both; });
    Sides sides =
        tie_sides(board_, static_cast<GroupId>(g), {top_.wanted[g], bottom_.wanted[g]}, holes);
    top_.wanted[g] = std::move(sides.top);
    bottom_.wanted[g] = std::move(sides.bottom);
  }

  void add_usable(const ByReach& r, const SideDemand& demand, std::vector<PointId>& usable) const {
    for (const auto* list : {&r.top, &r.bottom, &r.both, &r.further}) {
      for (const PointId p : *list) {
        const bool known = std::find(usable.begin(), usable.end(), p) != usable.end();
        if (!known && reaches(demand.side, board_.expectation.point(p).side)) usable.push_back(p);
      }
    }
  }

  [[nodiscard]] bool needed(std::size_t g) const {
    return !top_.wanted[g].empty() || !bottom_.wanted[g].empty();
  }

  // Where both are laid anyway, else where both can be reached. No side: the plan will say so.
  void share_out_pair(std::size_t a, std::size_t b) {
    if (!needed(a) && !needed(b)) return;
    for (const bool laid : {true, false}) {
      for (SideDemand* demand : {&top_, &bottom_}) {
        const auto& points = laid ? demand->wanted : demand->usable;
        if (points[a].empty() || points[b].empty()) continue;
        represent(*demand, a);
        represent(*demand, b);
        demand->pairs.push_back({a, b});
        return;
      }
    }
  }

  // A group laid only on the other side is touched here through as many holes as prove that they
  // hang on it; a group of vias alone, which nobody needs, by one of them.
  void represent(SideDemand& demand, std::size_t g) {
    if (!demand.wanted[g].empty()) return;
    if (needed(g)) {
      tie(g);
    } else {
      demand.wanted[g].push_back(demand.usable[g].front());
    }
  }

  const expect::Board& board_;
  std::vector<ByReach> reach_;
  Side usual_{Side::top};
  SideDemand top_, bottom_;
};

// A, B ... Z, AA, AB ...
std::string letters(std::size_t i) {
  std::string text;
  for (++i; i > 0; i = (i - 1) / 26) {
    text.insert(text.begin(), static_cast<char>('A' + static_cast<int>((i - 1) % 26)));
  }
  return text;
}

// Without a contact check every tip has a twin on its pad: only then can a pad that conducts to
// nothing be told from a tip that touches nothing. An adapter of few channels makes do with a
// second point of the net.
constexpr int kTwinsFrom = 8;

void append(const expect::Board& board, const SideDemand& demand, const FixtureWish& wish,
            formats::FixtureFile& fixture) {
  const bool all_twins = !wish.contact_check && wish.channels >= kTwinsFrom;
  const FixtureWish laying = all_twins ? FixtureWish{wish.channels / 2, true} : wish;
  for (const Laid& laid : lay_out(board, demand, laying)) {
    formats::PlacementEntry placement;
    placement.name = letters(fixture.placements.size());
    placement.side = demand.side;
    Channel channel = 0;
    for (const LaidPoint& one : laid) {
      const expect::Point& point = board.expectation.point(one.point);
      formats::ProbeEntry entry;
      entry.point = point.id;
      entry.at = demand.spots.at[index(one.point)];
      const Channel own = ++channel;
      if (one.twin || all_twins) entry.twin = ++channel;
      placement.probes.emplace(own, std::move(entry));
    }
    ENSURE(channel <= wish.channels);
    fixture.placements.push_back(std::move(placement));
  }
}

}  // namespace

Result<formats::FixtureFile> make_fixture(const expect::Board& board, const FixtureWish& wish,
                                          Diagnostics& notes) {
  if (wish.channels < 2 || wish.channels > 256) {
    return Problem{"",
                   0,
                   0,
                   "PLN-101",
                   fmt::format("{} channels: a fixture has 2 to 256", wish.channels),
                   "give the number of probe channels of the adapter",
                   ""};
  }
  formats::FixtureFile fixture;
  fixture.channels = wish.channels;
  fixture.contact_check = wish.contact_check;
  fixture.made_for_board = board.design.board.name;
  fixture.made_for_stage = name(board.expectation.stage);
  fixture.made_for_hash = board.hash;
  const Demands demands(board, fixture.tip_diameter);
  append(board, demands.top(), wish, fixture);
  append(board, demands.bottom(), wish, fixture);
  if (fixture.placements.empty()) {
    return Problem{
        board.design.board.path.string(),
        0,
        0,
        "PLN-102",
        fmt::format("no point needs a probe at stage {}: all are waived or without copper",
                    name(board.expectation.stage)),
        "isthmus inspect BOARD --json lists the points",
        ""};
  }
  warn_of_thin_walls(fixture, notes);
  return fixture;
}

}  // namespace isthmus::plan
