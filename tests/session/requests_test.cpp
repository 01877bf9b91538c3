// SPDX-License-Identifier: Apache-2.0
// Oracle: docs/adapter.md (rows, commands) and docs/record.md (uncertainties), by hand.
#include "session/requests.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace isthmus::session {
namespace {

using adapter::Crosspoint;
using adapter::Measure;
using plan::Step;
using plan::StepKind;

using Closed = std::vector<Crosspoint>;

adapter::Capabilities means() {
  adapter::Capabilities c;
  c.contract = 1;
  c.channels = 64;
  c.wires = 4;
  c.contact_check = true;
  c.references = {10, 1e7};
  c.source_a = 0.1;
  c.voltage_v = 10;
  c.noise_v = 2e-5;
  c.leakage_a = 1e-10;
  return c;
}

Step step(StepKind kind, std::vector<int> source, std::vector<int> ret) {
  Step s;
  s.kind = kind;
  s.source = std::move(source);
  s.ret = std::move(ret);
  return s;
}

TEST(RequestOf, SensesContinuityAtTheForceTips) {
  const auto r = request_of(step(StepKind::continuity, {5}, {9}), 4, means());
  EXPECT_EQ(r.what, Measure::four_wire);
  EXPECT_EQ(r.closed, (Closed{{1, 5}, {2, 9}, {3, 5}, {4, 9}}));
}

// Whichever two of the channels conduct; the sense rows see the first of them alone.
TEST(RequestOf, HearsInTheAirThroughTheForceRowsAlone) {
  const auto r = request_of(step(StepKind::control_open, {1, 2}, {3, 4}), 4, means());
  EXPECT_EQ(r.what, Measure::resistance);
  EXPECT_EQ(r.closed, (Closed{{1, 1}, {1, 2}, {2, 3}, {2, 4}}));
}

TEST(RequestOf, SensesWhereTheStepSays) {
  Step s = step(StepKind::resistance, {5}, {9});
  s.sense_high = 6;
  s.sense_low = 10;
  EXPECT_EQ(request_of(s, 4, means()).closed, (Closed{{1, 5}, {2, 9}, {3, 6}, {4, 10}}));
}

TEST(RequestOf, UsesTwoRowsWithTwoWires) {
  const auto r = request_of(step(StepKind::continuity, {5}, {9}), 2, means());
  EXPECT_EQ(r.what, Measure::resistance);
  EXPECT_EQ(r.closed, (Closed{{1, 5}, {2, 9}}));
}

TEST(RequestOf, IsolatesOnTheForceRowsAlone) {
  Step s = step(StepKind::isolation, {1, 2, 3}, {7});
  s.volts = Volts{10};
  s.limit = Ohms{1e7};
  const auto r = request_of(s, 4, means());
  EXPECT_EQ(r.what, Measure::isolation);
  EXPECT_EQ(r.closed, (Closed{{1, 1}, {1, 2}, {1, 3}, {2, 7}}));
  EXPECT_EQ(r.volts, Volts{10});
  EXPECT_EQ(r.at_least, Ohms{1e7});
}

TEST(RequestOf, IsolatesByCurrentOnTheForceRowsAlone) {
  Step s = step(StepKind::isolation_by_current, {1, 2, 3}, {7});
  s.limit = Ohms{1e5};
  const auto r = request_of(s, 4, means());
  EXPECT_EQ(r.what, Measure::resistance);
  EXPECT_EQ(r.closed, (Closed{{1, 1}, {1, 2}, {1, 3}, {2, 7}}));
}

TEST(RequestOf, ChecksContactThroughOneSwitch) {
  const auto row1 = request_of(step(StepKind::contact, {5}, {}), 4, means());
  EXPECT_EQ(row1.what, Measure::contact);
  EXPECT_EQ(row1.closed, (Closed{{1, 5}}));
  EXPECT_EQ(request_of(step(StepKind::contact, {}, {5}), 4, means()).closed, (Closed{{2, 5}}));
}

TEST(RequestOf, ProvesATwinTipByResistance) {
  EXPECT_EQ(request_of(step(StepKind::contact, {5}, {6}), 4, means()).what, Measure::four_wire);
  EXPECT_EQ(request_of(step(StepKind::contact, {5}, {6}), 2, means()).what, Measure::resistance);
}

// In an isolation block the low reference shows that the isolation measurement can read low at all.
TEST(RequestOf, ReadsTheLowReferenceOfAnIsolationBlockByVoltage) {
  Step s = step(StepKind::reference, {}, {});
  s.reference = 1;
  s.limit = Ohms{10};
  s.volts = Volts{10};
  EXPECT_EQ(request_of(s, 4, means()).what, Measure::isolation);
}

TEST(RequestOf, ReadsALowReferenceByCurrentAndAHighOneByVoltage) {
  Step s = step(StepKind::reference, {}, {});
  s.reference = 1;
  s.limit = Ohms{10};
  EXPECT_EQ(request_of(s, 2, means()).what, Measure::resistance);
  const auto both = requests_of(s, 4, means());
  ASSERT_EQ(both.size(), 2U);
  EXPECT_EQ(both[0].what, Measure::resistance);
  EXPECT_EQ(both[1].what, Measure::four_wire);
  EXPECT_TRUE(both[1].closed.empty());
  s.reference = 2;
  s.limit = Ohms{1e7};
  const auto high = request_of(s, 4, means());
  EXPECT_EQ(high.what, Measure::isolation);
  EXPECT_EQ(high.reference, 2);
  EXPECT_EQ(high.volts, Volts{5}) << "5 V where the plan names none";
  s.volts = Volts{10};
  EXPECT_EQ(request_of(s, 4, means()).volts, Volts{10});
}

TEST(RequestOf, ReadsControlsAsTheStepsTheyGuard) {
  Step s = step(StepKind::control_open, {1, 2}, {});
  EXPECT_EQ(request_of(s, 4, means()).what, Measure::resistance) << "an empty row cannot be sensed";
  s.volts = Volts{10};
  EXPECT_EQ(request_of(s, 4, means()).what, Measure::isolation);
  EXPECT_EQ(request_of(step(StepKind::control_short, {1}, {2}), 4, means()).what,
            Measure::four_wire);
}

TEST(RequestOf, ReadsTheBoardsVoltage) {
  const auto r = request_of(step(StepKind::board_voltage, {1, 2}, {3}), 4, means());
  EXPECT_EQ(r.what, Measure::voltage);
  EXPECT_EQ(r.closed, (Closed{{1, 1}, {1, 2}, {2, 3}}));
}

plan::Outcome outcome(Measure what, double value, unsigned status = 0) {
  adapter::Request request;
  request.what = what;
  request.volts = Volts{10};
  adapter::Answer answer;
  answer.value = value;
  answer.status = status;
  return outcome_of(answer, request, means());
}

double sigma(Measure what, double value) {
  return std::get<plan::Measured>(outcome(what, value)).uncertainty;
}

TEST(OutcomeOf, TakesTheUncertaintyFromTheAdaptersFigures) {
  // 20 uV / (sqrt 2 x 0.1 A) = 141.42 uohm; 0.1 % of 1 ohm = 1 mohm.
  EXPECT_NEAR(sigma(Measure::four_wire, 0), 141.42e-6, 1e-8);
  EXPECT_NEAR(sigma(Measure::resistance, 1), std::sqrt(1e-6 + 2e-8), 1e-9);
  // 64 switches of 0.1 nA beside 10 Mohm at 10 V: 10 Mohm squared x 6.4 nA / 10 V = 64 kohm; 0.1 %
  // = 10 kohm.
  EXPECT_NEAR(sigma(Measure::isolation, 1e7), 64776, 10);
  EXPECT_EQ(sigma(Measure::voltage, 3), 2e-5);
  EXPECT_EQ(sigma(Measure::contact, 1), 0);
}

TEST(OutcomeOf, KeepsOverRangeAndNoReadingApart) {
  adapter::Request request;
  adapter::Answer over, none, refused;
  over.over_range = true;
  none.none = true;
  refused.none = true;
  refused.status = adapter::status::kNotDone;
  EXPECT_EQ(outcome_of(over, request, means()), plan::Outcome(plan::OverRange{}));
  EXPECT_EQ(outcome_of(none, request, means()),
            plan::Outcome(plan::NoReading{"the adapter gave no usable value"}));
  EXPECT_EQ(outcome_of(refused, request, means()),
            plan::Outcome(plan::NoReading{"the adapter did not carry it out"}));
}

TEST(Confirmed, TakesNoValueThatOnlyTheSenseSwitchesConduct) {
  const adapter::Answer low{7, 0.12, false, false, 0};
  EXPECT_FALSE(confirmed(low, {6, 8.2, false, false, 0}).none);
  EXPECT_TRUE(confirmed(low, {6, 0, true, false, 5}).none);
  EXPECT_TRUE(confirmed(low, {6, 0, false, true, 0}).none);
  EXPECT_EQ(confirmed(low, {6, 8.2, false, false, 16}).status, 16u);
  EXPECT_TRUE(confirmed({7, 0, true, false, 5}, {6, 0, true, false, 5}).over_range);
}

TEST(WorseOf, IsTheReferencesAnswerThatIsFartherOff) {
  const adapter::Answer ten{7, 10.1, false, false, 0}, one{8, 1.0, false, false, 0},
      over{9, 0, true, false, 5};
  EXPECT_EQ(worse_of(ten, one, 10).value, 1.0);
  EXPECT_EQ(worse_of(one, ten, 10).value, 1.0);
  EXPECT_TRUE(worse_of(ten, over, 10).over_range);
  EXPECT_TRUE(worse_of(over, ten, 10).over_range);
}

// Leads and switches of 8 ohm: of 12 ohm more that four wires do not see, the sense wires know
// nothing.
TEST(ForcePaths, FitWhileTheyDifferByTheLeads) {
  ForcePaths paths;
  for (const double ohms : {0.1, 0.3, 5.0, 0.1}) EXPECT_TRUE(paths.fits(8 + ohms, ohms));
  EXPECT_TRUE(paths.fits(8 + 80, 80));
  EXPECT_TRUE(paths.fits(9.9, 0.1));
  EXPECT_FALSE(paths.fits(8 + 12, 0.02));
  EXPECT_TRUE(paths.fits(8.1, 0.1)) << "what does not fit changes nothing";
}

TEST(ForcePaths, NeedThreeToKnowTheLeads) {
  ForcePaths paths;
  EXPECT_TRUE(paths.fits(0.3, 0.1));
  EXPECT_TRUE(paths.fits(40, 0.1));
  EXPECT_TRUE(paths.fits(0.3, 0.1));
  EXPECT_FALSE(paths.fits(40, 0.1));
}

TEST(RequestsOf, ProvesByFourWiresOnlyWhatTwoConfirm) {
  Step step;
  step.kind = StepKind::continuity;
  step.source = {3};
  step.ret = {4};
  const auto two = requests_of(step, 4, {});
  ASSERT_EQ(two.size(), 2u);
  EXPECT_EQ(two[0].what, adapter::Measure::resistance);
  EXPECT_EQ(two[0].closed, (std::vector<adapter::Crosspoint>{{1, 3}, {2, 4}}));
  EXPECT_EQ(two[1].what, adapter::Measure::four_wire);
  EXPECT_EQ(requests_of(step, 2, {}).size(), 1u);
  step.kind = StepKind::resistance;  // says how much, proves nothing
  EXPECT_EQ(requests_of(step, 4, {}).size(), 1u);
}

}  // namespace
}  // namespace isthmus::session
