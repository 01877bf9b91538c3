// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <iterator>

#include "plan/close_tips.hpp"
#include "plan/ideal.hpp"
#include "plan/make_fixture_demands.hpp"
#include "plan/resolve.hpp"

namespace isthmus::plan {
namespace {

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
  for (const Laid& laid : lay_out(demand, laying)) {
    formats::PlacementEntry placement;
    placement.name = letters(fixture.placements.size());
    placement.side = demand.side;
    Channel channel = 0;
    for (const LaidPoint& one : laid) {
      const bool behind = demand.spots.behind(one.spot);
      formats::ProbeEntry entry;
      entry.point = board.expectation.point(demand.spots.point(one.spot)).id;
      if (behind) {
        entry.clip = true;
        entry.side = demand.side == Side::top ? Side::bottom : Side::top;
      } else {
        entry.at = demand.spots.at[index(one.spot)];
      }
      const Channel own = ++channel;
      if (one.twin || all_twins) entry.twin = ++channel;
      placement.probes.emplace(own, std::move(entry));
    }
    ENSURE(channel <= wish.channels);
    fixture.placements.push_back(std::move(placement));
  }
}

void lay(const expect::Board& board, const Demands& demands, const FixtureWish& wish,
         formats::FixtureFile& fixture) {
  fixture.placements.clear();
  append(board, demands.side(Side::top), wish, fixture);
  append(board, demands.side(Side::bottom), wish, fixture);
}

// What the first laying leaves out (spots that clash, lone tips that nothing proves) is asked for
// again a few times; what remains the plan names.
constexpr int kMostRounds = 4;

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
  Demands demands(board, fixture.tip_diameter);
  lay(board, demands, wish, fixture);
  for (int again = 0; again < kMostRounds && !fixture.placements.empty(); ++again) {
    auto placements = resolve_placements(board, fixture, notes);
    if (!placements) return placements.problem();
    if (!demands.answer(ideal_facts(board, *placements, wish.contact_check))) break;
    lay(board, demands, wish, fixture);
  }
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
