// SPDX-License-Identifier: Apache-2.0
// A fixture laid wrongly is no fault of the board, and a board's faults are no wrong laying. The
// bench knows where each tip really came down (tests/support/fake_bench).
#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <memory>

#include "isthmus/diagnose/diagnosis.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/foretold.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::diagnose {
namespace {

plan::Plan plan_of(const expect::Board& board) {
  Diagnostics notes;
  auto fixture = plan::make_fixture(board, {64, true}, notes);
  EXPECT_TRUE(fixture);
  auto plan = test::foretold_plan(board, *fixture, {4, {10.0}}, notes);
  EXPECT_TRUE(plan);
  return *plan;
}

std::string remarks_of(const Diagnosis& d) {
  std::string all;
  for (const std::string& remark : d.remarks) all += remark + "\n";
  return all;
}

bool suspects(const Diagnosis& d) { return remarks_of(d).find(" seem") != std::string::npos; }

void expect_held_back(const Diagnosis& d, const std::string& words) {
  EXPECT_TRUE(d.findings.empty());
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_NE(remarks_of(d).find(words), std::string::npos) << remarks_of(d);
  EXPECT_TRUE(std::ranges::any_of(d.untested, [&](const Untested& u) {
    return u.why == "doubtful" && u.detail.find(words) != std::string::npos;
  }));
}

class LaidOnSmallBoard : public ::testing::Test {
 protected:
  static void SetUpTestSuite() { small_ = new test::SmallBoard; }
  static void TearDownTestSuite() {
    delete small_;
    small_ = nullptr;
  }
  static test::FakeBench bench() { return {small_->board(), plan_of(small_->board())}; }
  static formats::Channel under(const test::FakeBench& bench, const std::string& id) {
    for (const plan::Probe& p : bench.plan().placements.at(0).probes) {
      if (small_->board().expectation.point(p.point).id == id) return p.channel;
    }
    ADD_FAILURE() << id;
    return 0;
  }
  static std::string words(formats::Channel a, formats::Channel b) {
    return "channels " + std::to_string(std::min(a, b)) + " and " + std::to_string(std::max(a, b)) +
           " seem swapped";
  }

 private:
  static inline test::SmallBoard* small_ = nullptr;
};

TEST_F(LaidOnSmallBoard, TwoSwappedWiresOfTwoNetsAreNamed) {
  for (const auto& [one, other] : {std::pair{"U2.1", "U2.2"}, {"U1.1", "U3.2"}, {"U1.4", "U2.5"}}) {
    auto b = bench();
    const auto x = under(b, one), y = under(b, other);
    b.swap(0, x, y);
    // Any tip of one net may stand for any other of it.
    expect_held_back(b.run(), "seem swapped");
    if (std::string(one) == "U2.1") {
      EXPECT_NE(remarks_of(b.run()).find(words(x, y)), std::string::npos);
    }
  }
}

TEST_F(LaidOnSmallBoard, TheSameReadingsBetweenNeighboursMayBeFaultsAndStay) {
  auto b = bench();
  b.cut("U1.2", "U2.2");
  b.tie("U1.3", "U2.2", 0.2);
  const Diagnosis d = b.run();
  EXPECT_EQ(d.findings.size(), 2u);
  EXPECT_EQ(d.verdict, Verdict::fail);
  EXPECT_FALSE(suspects(d)) << remarks_of(d);
  EXPECT_NE(remarks_of(d).find("exchanged wires of channels"), std::string::npos) << remarks_of(d);
}

TEST_F(LaidOnSmallBoard, AnOpenAloneIsNoExchange) {
  auto b = bench();
  b.cut("U1.2", "U2.2");
  EXPECT_EQ(remarks_of(b.run()).find("exchanged wires"), std::string::npos);
}

TEST_F(LaidOnSmallBoard, SixFaultsOfTheBoardAreSixFindings) {
  auto b = bench();
  b.cut("U1.1", "U2.1");
  b.cut("U2.2", "U3.2");
  b.cut("U1.5", "U2.5");
  b.cut("J1.2", "J1.3");
  b.tie("U2.1", "U2.2", 0.2);
  b.tie("U1.4", "U1.5", 0.2);
  const Diagnosis d = b.run();
  EXPECT_EQ(d.findings.size(), 6u);
  EXPECT_FALSE(suspects(d)) << remarks_of(d);
}

TEST_F(LaidOnSmallBoard, APlateThatHangsInTheAirIsSaidSo) {
  auto b = bench();
  for (const plan::Probe& p : b.plan().placements[0].probes) {
    if (p.channel > 6) b.land(0, p.channel, std::nullopt);
  }
  b.cut("U1.1", "U2.1");
  expect_held_back(b.run(), "tips touch nothing");
}

TEST_F(LaidOnSmallBoard, AFewLiftedTipsAreNoWrongLaying) {
  auto b = bench();
  for (const char* point : {"U3.1", "U3.2", "J1.1"}) b.lift(point);
  b.cut("U1.1", "U2.1");
  const Diagnosis d = b.run();
  EXPECT_EQ(d.findings.size(), 1u);
  EXPECT_FALSE(suspects(d)) << remarks_of(d);
}

class LaidOnTideGauge : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    auto read = formats::read_board_file(test::source_dir() / "fixtures/tide-gauge/board.yaml",
                                         {{"stage", "joined"}});
    ASSERT_TRUE(read);
    Diagnostics notes;
    auto board = expect::load_board(*read, notes);
    ASSERT_TRUE(board);
    board_ = std::move(board).value();
    plan_ = std::make_unique<plan::Plan>(plan_of(*board_));
  }
  static void TearDownTestSuite() {
    plan_.reset();
    board_.reset();
  }
  static test::FakeBench bench() { return {*board_, *plan_}; }

  // Each of the plate's tips comes down on whatever copper lies where `map` puts it; clips stay.
  template <class Map>
  static void lay(test::FakeBench& bench, std::size_t placement, const Map& map) {
    const copper::IslandIndex islands(board_->copper);
    for (const plan::Probe& probe : bench.plan().placements.at(placement).probes) {
      if (probe.clip) continue;
      const LayerId layer{static_cast<std::uint16_t>(probe.side == Side::bottom ? 1 : 0)};
      const auto island = islands.at(layer, map(probe.at));
      std::optional<std::string> on;
      for (const expect::Group& g : board_->expectation.groups) {
        if (island && std::ranges::find(g.islands, *island) != g.islands.end())
          on = board_->expectation.point(g.points[0]).id;
      }
      bench.land(placement, probe.channel, on);
    }
  }
  static Position middle() {  // of the copper, doubled
    Box box;
    for (const auto& island : board_->copper.islands) box.add(island.box);
    return box.lo + box.hi;
  }
  static inline std::unique_ptr<expect::Board> board_;
  static inline std::unique_ptr<plan::Plan> plan_;
};

TEST_F(LaidOnTideGauge, EveryPlacementTurnedMirroredOrShiftedIsHeldBack) {
  const Position m = middle();
  const std::vector<std::function<Position(Position)>> wrong{
      [m](Position p) { return m - p; },
      [m](Position p) {
        return Position{m.x - p.x, p.y};
      },
      [m](Position p) {
        return Position{p.x, m.y - p.y};
      },
      [](Position p) { return p + position_mm(1.27, 0); },
      [](Position p) { return p + position_mm(0, -2.54); },
      [](Position p) { return p + position_mm(3.1, 4.7); }};
  for (std::size_t i = 0; i < wrong.size(); ++i) {
    auto b = bench();
    for (std::size_t p = 0; p < plan_->placements.size(); ++p) lay(b, p, wrong[i]);
    const Diagnosis d = b.run();
    EXPECT_TRUE(d.findings.empty()) << i << ": " << d.findings.size() << "\n" << remarks_of(d);
    EXPECT_EQ(d.verdict, Verdict::incomplete) << i;
    EXPECT_TRUE(suspects(d)) << i;
  }
}

// Every fifth probe a clip: it says the same whichever way the plate lies.
TEST_F(LaidOnTideGauge, ATurnedPlateBesideClipsIsHeldBack) {
  const Position m = middle();
  plan::Plan with_clips = *plan_;
  for (plan::Placement& p : with_clips.placements) {
    for (std::size_t i = 0; i < p.probes.size(); i += 5) p.probes[i].clip = true;
  }
  test::FakeBench b(*board_, with_clips);
  for (std::size_t p = 0; p < with_clips.placements.size(); ++p) {
    // The last has a probe or two a net: fewer than four contradictions are taken for faults.
    if (with_clips.placements[p].probes.size() > 20) lay(b, p, [m](Position q) { return m - q; });
  }
  const Diagnosis d = b.run();
  EXPECT_TRUE(d.findings.empty()) << remarks_of(d);
  EXPECT_EQ(d.verdict, Verdict::incomplete);
  EXPECT_NE(remarks_of(d).find("turned by 180 degrees"), std::string::npos) << remarks_of(d);
}

TEST_F(LaidOnTideGauge, AFaultSeenByAnotherPlacementIsStillFound) {
  const Position m = middle();
  auto b = bench();
  lay(b, 0, [m](Position p) { return m - p; });
  ASSERT_GT(plan_->placements.size(), 1u);
  const auto& other = plan_->placements.back();
  const auto& e = board_->expectation;
  std::vector<std::string> tied;
  for (const expect::Pair& pair : e.pairs) {
    const auto touched = [&](GroupId g) {
      return std::ranges::find_if(
          other.probes, [&](const plan::Probe& p) { return e.point(p.point).group == g; });
    };
    const auto one = touched(pair.a), two = touched(pair.b);
    if (one == other.probes.end() || two == other.probes.end()) continue;
    b.tie(e.point(one->point).id, e.point(two->point).id, 0.2);
    tied = {e.group(pair.a).net, e.group(pair.b).net};
    break;
  }
  const Diagnosis d = b.run();
  // The bench's nets are chains, so its large nets have more resistance than their copper.
  const auto of_kind = [&](FindingKind kind) {
    return std::ranges::count(d.findings, kind, &Finding::kind);
  };
  std::ranges::sort(tied);
  // Without the first placement the pieces of a net may hang together by nothing: then each of them
  // has the bridge.
  EXPECT_GE(of_kind(FindingKind::bridge), 1);
  for (const Finding& f : d.findings) {
    if (f.kind == FindingKind::bridge) {
      EXPECT_EQ(f.nets, tied);
    }
  }
  EXPECT_EQ(of_kind(FindingKind::open) + of_kind(FindingKind::leakage), 0);
  EXPECT_EQ(d.verdict, Verdict::fail);
  EXPECT_NE(remarks_of(d).find("placement " + plan_->placements[0].name), std::string::npos);
}

}  // namespace
}  // namespace isthmus::diagnose
