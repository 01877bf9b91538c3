// SPDX-License-Identifier: Apache-2.0
// Oracle: docs/formats/fixture.md, and the small board's drawing: pads on the 1 mm rows at x = 2 and
// 12 with tracks between; nothing at [40, 40].
#include <gtest/gtest.h>

#include "isthmus/plan/plan.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::plan {
namespace {

formats::FixtureFile fixture_at(std::vector<Position> places) {
  formats::FixtureFile f;
  f.path = "f.yaml";
  f.channels = 8;
  f.placements = {{"A", Side::top, {}, {}}};
  Channel channel = 0;
  for (const Position p : places) {
    formats::ProbeEntry& probe = f.placements[0].probes[++channel];
    probe.at = p;
    probe.line = 5;
    probe.column = channel;
  }
  return f;
}

// A place on a track of the board, well off its pads.
Position on_track(const expect::Board& board) {
  for (const formats::Object& o : board.design.copper[0].objects) {
    if (o.kind == formats::ObjectKind::stroke && distance_nm(o.spine[0], o.spine[1]) > 4e6)
      return {(o.spine[0].x * 3 + o.spine[1].x) / 4, (o.spine[0].y * 3 + o.spine[1].y) / 4};
  }
  throw std::runtime_error("no long track");
}

TEST(BarePlaces, OnATrackBecomeAPointThatIsTouched) {
  const test::SmallBoard small;
  expect::Board board = small.board();
  const Position at = on_track(board);
  const auto fixture = fixture_at({at, at});
  const std::size_t points = board.expectation.points.size();
  ASSERT_TRUE(add_bare_places(board, fixture));
  ASSERT_EQ(board.expectation.points.size(), points + 1);
  Diagnostics notes;
  const auto placements = placements_of(board, fixture, notes);
  ASSERT_TRUE(placements) << format(placements.problem());
  EXPECT_EQ(index(placements->at(0).probe(1).point), points);
  EXPECT_EQ(placements->at(0).probe(1).at, at);
  EXPECT_EQ(placements->at(0).probe(1).side, Side::top);
  ASSERT_EQ(notes.list().size(), 1u);  // the second tip at one place
  EXPECT_EQ(notes.list()[0].what.code, "PLN-006");
}

TEST(BarePlaces, OnAPadAreThatPadAndNoNewPoint) {
  const test::SmallBoard small;
  expect::Board board = small.board();
  const std::size_t points = board.expectation.points.size();
  ASSERT_TRUE(add_bare_places(board, fixture_at({board.expectation.points[0].at})));
  EXPECT_EQ(board.expectation.points.size(), points);
}

TEST(BarePlaces, OffCopperAreRefusedWithTheNearestCopper) {
  const test::SmallBoard small;
  expect::Board board = small.board();
  const auto refused = add_bare_places(board, fixture_at({on_track(board), position_mm(40, 40)}));
  ASSERT_FALSE(refused);
  const Problem& p = refused.problem();
  EXPECT_EQ(p.code, "PLN-004");
  EXPECT_EQ(std::pair(p.line, p.column), std::pair(5, 2));
  EXPECT_EQ(p.message, "no copper lies at 40.000, 40.000 on the top side");
  EXPECT_TRUE(p.hint.starts_with("the nearest copper of the top side lies at [")) << p.hint;
}

TEST(BarePlaces, OfAnotherBoardsFixtureAreNotLookedAt) {
  const test::SmallBoard small;
  expect::Board board = small.board();
  auto fixture = fixture_at({position_mm(40, 40)});
  fixture.made_for_hash = "of another revision";
  EXPECT_EQ(add_bare_places(board, fixture).problem().code, "PLN-005");
}

}  // namespace
}  // namespace isthmus::plan
