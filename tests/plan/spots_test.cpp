// SPDX-License-Identifier: Apache-2.0
// Oracle: the promises, measured on the finished fixture. A tip of 0.5 mm (the fixture's default)
// and a wall of 0.25 mm (common practice, no source) make 0.75 mm from tip to tip.
#include "plan/spots.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "tests/support/paths.hpp"
#include "tests/support/plain_list.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::plan {
namespace {

constexpr double kApart = 750'000;

Polygon rectangle(Position at, double width, double height) {
  const Position half = position_mm(width / 2, height / 2), across{half.x, -half.y};
  return {{at - half, at + across, at + half, at - across}, {}};
}

// One net a pad, in the order given; neighbours must be isolated.
class Row {
 public:
  Row(std::size_t pads, double pitch, double width, double height, const std::string& nets = "") {
    board.expectation.stage = Stage::joined;
    formats::LayerImage image;
    copper::Island island;
    for (std::size_t i = 0; i < pads; ++i) {
      expect::Point p;
      p.id = "U1." + std::to_string(i + 1);
      p.net = nets.empty() ? p.id : std::string(1, nets[i]);
      p.at = position_mm(pitch * static_cast<double>(i), 0);
      auto& groups = board.expectation.groups;
      auto group = std::ranges::find(groups, p.net, &expect::Group::net);
      if (group == groups.end()) groups.push_back({p.net, {}, {}, {}}), group = groups.end() - 1;
      p.group = static_cast<GroupId>(group - groups.begin());
      p.islands = {static_cast<IslandId>(i)};
      group->points.push_back(static_cast<PointId>(i));
      formats::Object pad;
      pad.spine = {p.at};
      pad.shape = {rectangle(p.at, width, height)};
      island.outline = pad.shape[0];
      board.copper.islands.push_back(island);
      image.objects.push_back(pad);
      board.expectation.points.push_back(std::move(p));
    }
    board.design.copper.push_back(std::move(image));
    for (std::uint32_t g = 1; g < board.expectation.groups.size(); ++g) {
      expect::Pair pair;
      pair.a = GroupId{g - 1};
      pair.b = GroupId{g};
      board.expectation.pairs.push_back(pair);
    }
  }
  formats::FixtureFile fixture(int channels, bool check = true) {
    test::list_plainly(board);
    auto made = make_fixture(board, {channels, check}, notes);
    EXPECT_TRUE(made);
    return *made;
  }
  expect::Board board;
  Diagnostics notes;
};

double closest_tips(const formats::FixtureFile& fixture) {
  double closest = INFINITY;
  for (const auto& placement : fixture.placements) {
    for (const auto& [a, one] : placement.probes) {
      for (const auto& [b, other] : placement.probes) {
        if (a < b && !one.clip && !other.clip)
          closest = std::min(closest, distance_nm(*one.at, *other.at));
      }
    }
  }
  return closest;
}

std::size_t pairs_met(const Row& row, const formats::FixtureFile& fixture) {
  std::set<std::pair<std::string, std::string>> met;
  for (const auto& placement : fixture.placements) {
    std::set<std::string> nets;
    for (const auto& [c, probe] : placement.probes) {
      for (const auto& p : row.board.expectation.points) {
        if (p.id == probe.point) nets.insert(p.net);
      }
    }
    for (const auto& a : nets) {
      for (const auto& b : nets) met.insert({a, b});
    }
  }
  return static_cast<std::size_t>(
      std::ranges::count_if(row.board.expectation.pairs, [&](const expect::Pair& p) {
        return met.contains(
            {row.board.expectation.group(p.a).net, row.board.expectation.group(p.b).net});
      }));
}

TEST(Spots, LongPadsOfFinePitchAreTouchedNearAlternateEnds) {
  Row row(12, 0.5, 0.3, 1.5);
  const auto f = row.fixture(16);
  ASSERT_EQ(f.placements.size(), 1u);
  EXPECT_GE(closest_tips(f), kApart);
  for (const auto& [channel, probe] : f.placements[0].probes)
    EXPECT_EQ(std::abs(probe.at->y), 500'000) << probe.point;  // a radius from the end
  EXPECT_TRUE(row.notes.list().empty());
}

TEST(Spots, PadsWithRoomBetweenThemAreTouchedInTheMiddle) {
  Row row(6, 0.8, 0.4, 1.5);
  for (const Position at : find_spots(row.board, Side::top, 500_um).at) EXPECT_EQ(at.y, 0);
}

TEST(Spots, ShortPadsOfFinePitchGoToDifferentPlacementsAndStillMeet) {
  for (const int channels : {4, 8, 16}) {
    Row row(12, 0.4, 0.25, 0.4);
    row.board.expectation.pairs.clear();
    for (std::uint32_t g = 2; g < 12; ++g) {
      expect::Pair pair;
      pair.a = GroupId{g - 2};
      pair.b = GroupId{g};
      row.board.expectation.pairs.push_back(pair);
    }
    const auto f = row.fixture(channels);
    EXPECT_GE(closest_tips(f), kApart) << channels;
    EXPECT_EQ(pairs_met(row, f), 10u) << channels;
    EXPECT_TRUE(row.notes.list().empty());
  }
}

TEST(Spots, NeighboursThatMustMeetAndCannotMoveAreLaidTogetherWithAWarning) {
  for (const bool check : {true, false}) {
    Row row(4, 0.4, 0.25, 0.4);
    const auto f = row.fixture(4, check);
    EXPECT_EQ(pairs_met(row, f), 3u);
    ASSERT_FALSE(row.notes.list().empty());
    std::string all;
    for (const auto& d : row.notes.list()) {
      EXPECT_EQ(d.what.code, "PLN-103");
      all += d.what.message;
    }
    for (const char* names : {"U1.1 and U1.2 (0.40 mm)", "U1.2 and U1.3", "U1.3 and U1.4"})
      EXPECT_NE(all.find(names), std::string::npos) << all;
  }
}

TEST(Spots, NeighboursOfOneNetAreTiedThroughOthersOfIt) {
  Row row(6, 0.4, 0.25, 0.4, "aaaaaa");
  const auto f = row.fixture(16);
  EXPECT_GE(closest_tips(f), kApart);
  std::set<std::string> tied{f.placements.at(0).probes.at(1).point};
  for (std::size_t round = 0; round < 6; ++round) {
    for (const auto& placement : f.placements) {
      const bool known = std::ranges::any_of(
          placement.probes, [&](const auto& p) { return tied.contains(p.second.point); });
      for (const auto& [c, p] : placement.probes) {
        if (known) tied.insert(p.point);
      }
    }
  }
  EXPECT_EQ(tied.size(), 6u);
}

TEST(Plan, WarnsOfTipsThatTouchInAFixtureWrittenByHand) {
  const test::SmallBoard small;
  formats::FixtureFile f;
  f.channels = 4;
  f.tip_diameter = 700_um;
  f.placements = {{"A", Side::top, {}, {}}};
  f.placements[0].probes[1] = {"U1.1", position_mm(2, 2.2), std::nullopt};
  f.placements[0].probes[2] = {"U1.2", position_mm(2, 2.8), std::nullopt};
  f.placements[0].probes[3] = {"U2.1", std::nullopt, std::nullopt};
  Diagnostics notes;
  ASSERT_TRUE(make_plan(small.board(), f, {}, notes));
  ASSERT_EQ(notes.list().size(), 1u);
  EXPECT_EQ(notes.list()[0].what.code, "PLN-008");
  EXPECT_NE(notes.list()[0].what.message.find("1 pair of tips"), std::string::npos);
  EXPECT_NE(notes.list()[0].what.message.find("U1.1 and U1.2 (0.60 mm)"), std::string::npos);
}

// The demo's controller has pads of 0.3 by 1.5 mm at 0.5 mm pitch.
TEST(Spots, TheTideGaugesTipsKeepApartOnTheirPadsAndReachEverything) {
  for (const char* stage : {"etched", "joined"}) {
    auto file = formats::read_board_file(test::source_dir() / "fixtures/tide-gauge/board.yaml",
                                         {{"stage", stage}});
    ASSERT_TRUE(file);
    Diagnostics notes;
    const auto board = expect::load_board(*file, notes);
    ASSERT_TRUE(board);
    for (const int channels : {64}) {
      Diagnostics warnings;
      const auto f = make_fixture(**board, {channels, true}, warnings);
      ASSERT_TRUE(f);
      EXPECT_GE(closest_tips(*f), kApart) << stage << channels;
      EXPECT_TRUE(warnings.list().empty());
      const copper::IslandIndex islands((*board)->copper);
      for (const auto& placement : f->placements) {
        const LayerId layer{static_cast<std::uint16_t>(placement.side == Side::bottom ? 1 : 0)};
        for (const auto& [c, probe] : placement.probes) {
          if (probe.clip) continue;  // in the middle of its pad
          const auto id = expect::find_point((*board)->expectation, probe.point, placement.side);
          ASSERT_TRUE(id);
          EXPECT_EQ(islands.at(layer, *probe.at),
                    (*board)->expectation.point(*id).islands[index(layer)])
              << probe.point;
        }
      }
      const auto plan = make_plan(**board, *f, {}, warnings);
      ASSERT_TRUE(plan);
      EXPECT_TRUE(plan->untested.empty()) << plan->untested[0].why;
      EXPECT_TRUE(warnings.list().empty());
    }
  }
}

}  // namespace
}  // namespace isthmus::plan
