// SPDX-License-Identifier: Apache-2.0
// What the line with the verdict says, of counts written down here.
#include <gtest/gtest.h>

#include "isthmus/report/report.hpp"
#include "tests/expect/piece_board.hpp"
#include "tests/support/foretold.hpp"

namespace isthmus::report {
namespace {

class Incomplete : public ::testing::Test {
 protected:
  Incomplete() { diagnosis().verdict = diagnose::Verdict::incomplete; }
  diagnose::Diagnosis& diagnosis() { return view_.result.diagnosis; }
  [[nodiscard]] std::string text() const { return run_text(view_, {}); }
  void starts(const std::string& words) const {
    EXPECT_NE(text().find("INCOMPLETE  " + words), std::string::npos) << words << "\n" << text();
  }

 private:
  RunView view_;
};

// All points tested are no reason why a run is incomplete.
TEST_F(Incomplete, NamesWhatKeepsItFromAPass) {
  diagnose::Diagnosis& d = diagnosis();
  d.coverage = {20, 19, 1, 5, 5, 1};
  d.breaks = {10, 9, 0, 0, 1, 0};
  d.bridges = {5, 5, 0, 0, 0, 0};
  starts("nothing wrong found, but 1 possible fault cannot be told; 19 of 20 points tested, ");
  d.bridges = {5, 4, 0, 0, 1, 0};
  starts("nothing wrong found, but 2 possible faults cannot be told; 19 of 20 points tested, ");
  d.coverage.waived = 0;
  starts("nothing wrong found, but 19 of 20 points tested; ");
  d.coverage.tested = 0;
  starts("nothing was tested: 0 of 20 points tested; ");
  d.coverage.tested = 20;
  d.breaks = {10, 9, 0, 1, 0, 0};
  d.bridges = {5, 5, 0, 0, 0, 0};
  starts("nothing wrong found, but not everything is proven; 20 of 20 points tested; ");
  EXPECT_NE(text().find(": 14 excluded, 1 suspected; 1 farther pair not tested\n"),
            std::string::npos)
      << text();
}

// Bridges are listed by facing and counted by pair: both numbers stand in one place.
TEST_F(Incomplete, ListsFacingsOfThePairsThatItCounts) {
  diagnose::Diagnosis& d = diagnosis();
  diagnose::CannotTell bridge, lost;
  bridge.kind = expect::FaultKind::bridge;
  d.cannot_tell = {bridge, bridge, bridge};
  d.bridges = {5, 3, 0, 0, 2, 0};
  const auto says = [&](const std::string& words) {
    EXPECT_NE(text().find("\nCannot be told (" + words + "):\n"), std::string::npos)
        << words << "\n"
        << text();
  };
  says("3 facings of 2 pairs");
  d.cannot_tell = {lost, bridge};
  d.bridges = {5, 4, 0, 0, 1, 0};
  says("1 break, 1 facing of 1 pair");
  d.bridges = {5, 4, 0, 1, 0, 0};  // another facing of that pair is bridged
  says("1 break, 1 facing");
  d.cannot_tell = {lost, lost};
  says("2 breaks");
}

// To touch the same places again is no advice where a probe stood and touched no metal.
TEST_F(Incomplete, NamesTheTipsThatMadeNoContact) {
  diagnose::CannotTell c;
  c.nets = {"GND"};
  c.why = diagnose::WhyCannotTell::contact_unproven;
  c.would_tell = {"J1.2", "C3.2"};
  c.from = {{Side::bottom, true, true}, {Side::top, false, false}};
  const auto says = [&](const std::string& words) {
    diagnosis().cannot_tell = {c};
    EXPECT_NE(text().find("\n  GND: " + words + "  (break"), std::string::npos) << text();
  };
  says("no contact at J1.2 (bottom)");
  c.from[1].no_contact = true;
  says("no contact at J1.2 (bottom) and C3.2");
  c.from[0].no_contact = c.from[1].no_contact = false;
  says("no trusted reading of J1.2 (bottom) and C3.2 together");
  c.from[0].no_contact = true;
  c.why = diagnose::WhyCannotTell::reopened;
  says("measured again once the fault beside it is mended");
}

// The name of a bare place is its coordinates, which both sides have.
TEST_F(Incomplete, SaysFromWhichSideABarePlaceIsTouched) {
  diagnose::CannotTell c;
  c.nets = {"GND"};
  c.would_tell = {"@39.723,22.125", "C3.2"};
  c.from = {{Side::bottom}, {Side::top}};
  const auto says = [&](const std::string& words) {
    diagnosis().cannot_tell = {c};
    EXPECT_NE(text().find("\n  GND: " + words + "  (break"), std::string::npos) << text();
  };
  says("touch @39.723,22.125 (bottom) and C3.2 at once");
  c.would_tell[0] = "@39.723,22.125#2";
  says("touch @39.723,22.125#2 (bottom) and C3.2 at once");
  c.would_tell[0] = "@39.723,22.125@bottom";  // as the ends of a hole without metal are called
  says("touch @39.723,22.125@bottom and C3.2 at once");
}

TEST_F(Incomplete, AdvisesNoTouchWhereNoneWouldTell) {
  diagnose::CannotTell c;
  c.nets = {"GND"};
  c.side = "L2";
  c.why = diagnose::WhyCannotTell::no_touch;
  diagnosis().cannot_tell = {c};
  EXPECT_NE(text().find("\n  GND: no touch can tell: look at it, or waive it by name  (break at "
                        "(0.00, 0.00) mm L2)\n"),
            std::string::npos)
      << text();
}

// R1 to R2, and on to a pad that no tip can reach, as if it were copper of an inner layer.
TEST(PlanText, CountsTheBreaksOfWhichNoTouchCanTell) {
  test::LittleBoard little;
  little.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 5, 0).pad(0, 10, 0, 1, 1);
  little.track(0, 0, 0, 10, 0, 0.3);
  const auto board = test::whole(std::move(little));
  Diagnostics notes;
  const auto shortfall_with = [&](const char* point) {
    formats::FixtureFile fixture;
    fixture.channels = 8;
    fixture.contact_check = true;
    fixture.placements = {{"A", Side::top, {}, {}}};
    fixture.placements[0].probes[1].point = "R1.1";
    fixture.placements[0].probes[2].point = point;
    const auto plan = test::foretold_plan(*board, fixture, {4, {10.0}}, notes);
    EXPECT_TRUE(plan);
    return std::pair(plan::shortfall_of(*board, plan->placements, true),
                     plan_text(*board, *plan, {}));
  };
  auto [before, text_before] = shortfall_with("R2.1");
  EXPECT_EQ(before.split, 1u);
  EXPECT_EQ(before.no_touch_breaks, 0u);
  board->faults.wiring.nodes[board->faults.top_node.back()].place = false;
  auto [after, text] = shortfall_with("R2.1");
  EXPECT_EQ(after.split, 0u);
  EXPECT_EQ(after.points, 0u);
  EXPECT_EQ(after.no_touch_breaks, 1u);
  EXPECT_TRUE(after.any());
  EXPECT_EQ(in_words(after),
            "no run with this fixture can pass: no touch can tell of 1 possible break");
  EXPECT_EQ(what_helps(after),
            "isthmus plan BOARD --fixture F names them: look at them, or waive them by name");
  EXPECT_NE(text.find("\n  A: no-touch: no touch can tell of 1 possible break, at ("), text.npos)
      << text;
  EXPECT_EQ(text_before.find("no-touch"), std::string::npos);
  // What another fixture would prove stands beside it, with its own advice.
  EXPECT_EQ(in_words(shortfall_with("R1.1").first),
            "no run with this fixture can pass: 1 point has no probe, 1 net is never tied "
            "together, no touch can tell of 1 possible break");
}

// R1 on top, through J1, to a pad below that no record names, and that this fixture does not touch.
TEST(PlanText, SaysOnWhichSideABarePlaceLiesThatIsNotReached) {
  test::LittleBoard little;
  little.surface("A", "R1", "1", 0, 0).track(0, 0, 0, 10, 0, 0.3).through("A", "J1", "1", 10, 0);
  little.track(1, 10, 0, 20, 0, 0.3).pad(1, 20, 0, 1, 1).stage(Stage::joined);
  const auto board = test::whole(std::move(little));
  formats::FixtureFile fixture;
  fixture.channels = 8;
  fixture.contact_check = true;
  fixture.placements = {{"A", Side::top, {}, {}}};
  fixture.placements[0].probes[1].point = "R1.1";
  fixture.placements[0].probes[2].point = "J1.1";
  Diagnostics notes;
  const auto plan = test::foretold_plan(*board, fixture, {4, {10.0}}, notes);
  ASSERT_TRUE(plan);
  const std::string text = plan_text(*board, *plan, {});
  EXPECT_NE(text.find("\n  A: @20.000,0.000 (bottom) "), std::string::npos) << text;
}

}  // namespace
}  // namespace isthmus::report
