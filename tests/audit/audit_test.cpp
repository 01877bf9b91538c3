// SPDX-License-Identifier: Apache-2.0
// The auditor against the program: boards drawn by hand, the demo board, real boards.
#include "tests/audit/audit.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>

#include "isthmus/formats/import.hpp"
#include "tests/audit/auditor.hpp"
#include "tests/audit/drawn_boards.hpp"
#include "tests/support/foretold.hpp"
#include "tests/support/paths.hpp"

namespace isthmus::audit {
namespace {

formats::FixtureFile fixture_for(const expect::Board& board) {
  Diagnostics notes;
  auto made = plan::make_fixture(board, {64, false}, notes);
  if (!made) throw std::runtime_error(format(made.problem()));
  return std::move(made).value();
}

Audit must_audit(const expect::Board& board, const formats::FixtureFile& fixture, AuditWish wish) {
  auto found = audit(board, fixture, wish);
  if (!found) throw std::runtime_error(format(found.problem()));
  return std::move(found).value();
}

void take_point_away(formats::FixtureFile& fixture, const std::string& point) {
  std::size_t taken = 0;
  for (formats::PlacementEntry& p : fixture.placements)
    taken += std::erase_if(p.probes, [&](const auto& e) { return e.second.point == point; });
  ASSERT_GT(taken, 0u) << point;
}

AuditWish without_the_list() {
  AuditWish wish;
  wish.ask_the_list = false;
  wish.masked = false;
  return wish;
}

// Two tracks of two pads; without a probe on B1.1 nothing tells a slit of N1.
DrawnBoard two_tracks() {
  DrawnBoard b("etched-top", "", false);
  for (int i = 0; i < 2; ++i) {
    const double y = 1.5 * i;
    const std::string net = i == 0 ? "N1" : "N2", pin = std::to_string(i + 1);
    b.surface(net, "A1", pin, 0, y).track(Side::top, {{0, y}, {20, y}}, 0.4);
    b.surface(net, "B1", pin, 20, y);
  }
  return b;
}

TEST(TheAuditor, FindsNothingWhereEveryPadIsTouched) {
  const auto board = two_tracks().load();
  const Audit a = must_audit(*board, fixture_for(*board), without_the_list());
  EXPECT_EQ(a.good, diagnose::Verdict::pass);
  EXPECT_GT(a.total().harmful, 150u);
  EXPECT_EQ(a.total().escaped, 0u) << in_words(a, 5);
}

TEST(TheAuditor, FindsAnEscapeWhenAReadingIsMissing) {
  const auto board = two_tracks().load();
  formats::FixtureFile fixture = fixture_for(*board);
  take_point_away(fixture, "B1.1");
  const Audit a = must_audit(*board, fixture, without_the_list());
  EXPECT_GT(a.counts.at(FaultKind::slit).escaped, 70u);
  for (const Escape& e : a.escapes) {
    EXPECT_EQ(e.kind, FaultKind::slit);
    EXPECT_EQ(e.nets, std::vector<std::string>{"N1"});
    EXPECT_EQ(e.would_tell, std::vector<std::string>{"B1.1 on top"});
  }
}

// S1.1 lies on a branch below; without a touch of it a slit of the branch tells nothing, and the
// trunk is told from above all the same.
TEST(TheAuditor, FindsTheUntouchedBranch) {
  const auto board = branch_below().load();
  formats::FixtureFile fixture = fixture_for(*board);
  take_point_away(fixture, "S1.1");
  const Audit a = must_audit(*board, fixture, without_the_list());
  EXPECT_GT(a.counts.at(FaultKind::slit).escaped, 30u);
  for (const Escape& e : a.escapes) {
    if (e.kind != FaultKind::slit) continue;  // nor is S1.1 isolated from N3 beside it
    EXPECT_EQ(e.side, Side::bottom);
    EXPECT_NEAR(to_mm(e.at.x), 15, 0.3);
    EXPECT_EQ(e.nets, std::vector<std::string>{"N1"});
  }
}

// The measured open that the verdict forgets is seen only where the diagnosis is asked.
TEST(TheAuditor, AsksTheDiagnosisAndNotTheReadingsAlone) {
  const auto board = two_tracks().load();
  Diagnostics notes;
  auto plan = test::foretold_plan(*board, fixture_for(*board), {4, {10.0, 1e7}}, notes);
  ASSERT_TRUE(plan.ok());
  for (plan::Placement& p : plan->placements) p.tried_in_air = true;
  const Raster raster = make_raster(board->design);
  const Bench bench(raster, plan->placements, 4);
  Faulty copper(raster);
  copper.apply({});
  EXPECT_EQ(run_ideal(*board, *plan, bench, copper).diagnosis.verdict, diagnose::Verdict::pass);
  Fault slit;
  slit.removed = cells_near(raster.grid, 0, {position_mm(10, -0.5), position_mm(10, 0.5)}, 1e5);
  copper.apply(slit);
  const auto open = run_ideal(*board, *plan, bench, copper).diagnosis;
  ASSERT_EQ(open.findings.size(), 1u);
  EXPECT_EQ(open.findings[0].kind, diagnose::FindingKind::open);
  EXPECT_EQ(open.findings[0].nets, std::vector<std::string>{"N1"});
}

TEST(TheAuditor, FindsABridgeThroughTheIdealBench) {
  const auto board = two_tracks().load();
  AuditWish wish;
  wish.verdicts = true;
  const Audit a = must_audit(*board, fixture_for(*board), wish);
  EXPECT_GT(a.counts.at(FaultKind::splash).caught, 15u);
  EXPECT_EQ(a.total().caught, a.total().harmful);
}

// A board that passes with a step missing from its plan passes with no fault that only this step
// told.
TEST(TheAuditor, NoRunIsBlindWithoutAStep) {
  std::vector<NamedBoard> boards = drawn_boards();
  boards.push_back({"TwoTracks", two_tracks});
  for (const NamedBoard& named : boards) {
    const auto board = named.draw().load();
    auto steps = audit_without_each_step(*board, fixture_for(*board), {});
    ASSERT_TRUE(steps.ok());
    EXPECT_GT(steps->tried(), 0u);
    EXPECT_TRUE(steps->blind.empty()) << named.name;
  }
}

// The list as it is, but every place of it 9 mm off across the tracks: no fault is on it.
TEST(TheAuditor, MissesAFaultOnAListThatSpeaksOfOtherPlaces) {
  const auto board = two_tracks().load();
  EXPECT_TRUE(must_audit(*board, fixture_for(*board), {}).unlisted.empty());
  for (expect::PossibleFault& entry : board->faults.entries) {
    entry.at.y += 9'000'000;
    for (Position& p : entry.path) p.y += 9'000'000;
  }
  const Audit a = must_audit(*board, fixture_for(*board), {});
  EXPECT_EQ(a.unlisted.size(), a.total().harmful);
}

void expect_no_escape(const Audit& a) {
  EXPECT_GT(a.total().harmful, 30u);
  EXPECT_EQ(a.total().escaped, 0u) << in_words(a, 20);
  EXPECT_TRUE(a.unlisted.empty()) << in_words(a.unlisted, 20);
}

// Each once passed with a fault on it: docs/audit.md.
class DrawnBoards : public ::testing::TestWithParam<std::size_t> {
 protected:
  std::unique_ptr<expect::Board> board_ = drawn_boards()[GetParam()].draw().load();
};

TEST_P(DrawnBoards, LetNoFaultEscape) {
  AuditWish wish;
  wish.verdicts = true;
  const Audit a = must_audit(*board_, fixture_for(*board_), wish);
  EXPECT_EQ(a.good, diagnose::Verdict::pass);
  expect_no_escape(a);
}

// And the touch that each such entry advises would have told.
TEST_P(DrawnBoards, NameWhatAFixtureWithProbesMissingCannotTell) {
  AuditWish wish;
  wish.faults.cell = 50_um;
  std::size_t named = 0;
  for (unsigned seed = 0; seed < 12; ++seed) {
    const Audit a = must_audit(*board_, with_probes_missing(fixture_for(*board_), seed, 4), wish);
    expect_no_escape(a);
    EXPECT_TRUE(a.advice.wrong.empty() && a.advice.missed.empty()) << in_words(a.advice);
    named += a.total().named;
  }
  // Each pin below hangs on the pour by several spokes: no single fault parts one, and where all
  // clips are gone the joins lost together are what is named.
  if (std::string(drawn_boards()[GetParam()].name) == "PinsTiedTwice")
    EXPECT_EQ(named, 0u);
  else
    EXPECT_GT(named, 0u);
}

INSTANTIATE_TEST_SUITE_P(All, DrawnBoards, ::testing::Range(std::size_t{0}, drawn_boards().size()),
                         [](const auto& one) { return drawn_boards()[one.param].name; });

class DemoBoard : public ::testing::TestWithParam<std::string> {};
TEST_P(DemoBoard, LetsNoFaultEscape) {
  ISTHMUS_SKIP_IF_SLOW(std::string(GetParam()) == "etched" ||
                       std::string(GetParam()) == "finished");
  auto file = formats::read_board_file(test::source_dir() / "fixtures/tide-gauge/board.yaml",
                                       {{"stage", GetParam()}});
  ASSERT_TRUE(file.ok());
  Diagnostics notes;
  auto board = expect::load_board(*file, notes);
  ASSERT_TRUE(board.ok());
  AuditWish wish;
  wish.faults.step = 500_um;
  const Audit a = must_audit(**board, fixture_for(**board), wish);
  EXPECT_EQ(a.good, diagnose::Verdict::pass);
  EXPECT_GT(a.total().harmful, 1000u);
  expect_no_escape(a);
}
INSTANTIATE_TEST_SUITE_P(Stages, DemoBoard,
                         ::testing::Values("etched-top", "etched", "joined", "finished"),
                         [](const auto& one) {
                           std::string word = one.param;
                           std::erase(word, '-');
                           return word;
                         });

struct Real {
  std::string name;
  bool slow;
};
class RealBoards : public ::testing::TestWithParam<Real> {};
TEST_P(RealBoards, LetNoFaultEscape) {
  ISTHMUS_NEEDS_BOARDS(boards);
  ISTHMUS_SKIP_IF_SLOW(GetParam().slow);
  Diagnostics notes;
  auto imported = formats::import_files(
      {{boards / GetParam().name}, boards / GetParam().name / "board.yaml", "", Stage::joined},
      notes);
  ASSERT_TRUE(imported.ok());
  imported->board.joins_mode = formats::JoinsMode::all;
  auto board = expect::load_board(imported->board, notes);
  ASSERT_TRUE(board.ok()) << format(board.problem());
  AuditWish wish;
  wish.masked = false;
  const Audit a = must_audit(**board, fixture_for(**board), wish);
  // Slits across copper wider than 2 mm are caught; on the list that copper is whole.
  EXPECT_EQ(a.total().escaped, 0U) << in_words(a, 20);
}
INSTANTIATE_TEST_SUITE_P(Eight, RealBoards,
                         ::testing::Values(Real{"ac-coupler", false}, Real{"encoder", false},
                                           Real{"rom-programmer", true}, Real{"prom-burner", true},
                                           Real{"fx-switcher", true}, Real{"melody", true},
                                           Real{"motion-light-4l", true}, Real{"many-pads", true}),
                         [](const auto& one) {
                           std::string word = one.param.name;
                           std::erase(word, '-');
                           return word;
                         });

}  // namespace
}  // namespace isthmus::audit
