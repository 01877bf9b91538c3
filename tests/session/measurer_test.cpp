// SPDX-License-Identifier: Apache-2.0
// The measurer alone, on an adapter in memory that reads what each test says: no board, no record.
#include "session/measurer.hpp"

#include <gtest/gtest.h>

#include "isthmus/plan/step_maker.hpp"
#include "tests/adapter/fake_adapter.hpp"

namespace isthmus::session {
namespace {

using plan::Step;

// Notes whether a reading was written before it was handed on.
struct Notebook final : Journal {
  Result<Done> write(const plan::Reading& reading) override {
    written.push_back(reading);
    if (written.size() != full_after) return Done{};
    Problem full;
    full.code = "REC-010";
    return full;
  }
  std::vector<plan::Reading> written;
  std::size_t full_after{};
};

class Measuring : public ::testing::Test {
 protected:
  Measuring() {
    bench_.measure = [this](const test::SeenStep& s) {
      if (s.query == "VOLT") return std::pair{volts_, 0U};
      if (s.query == "CONT") return std::pair{touches_ ? 1.0 : 0.0, 0U};
      return std::pair{0.25, 0U};
    };
    setup_.journal = &notebook_;
  }
  // Ids from 1, as in a plan.
  void measure(std::vector<Step> steps, const Measurer::Arrived& arrived) {
    for (std::size_t i = 0; i < steps.size(); ++i)
      steps[i].id = StepId{static_cast<std::uint32_t>(i + 1)};
    if (!measurer_) {
      auto instrument = adapter::Instrument::connect(std::make_unique<test::FakeAdapter>(bench_));
      ASSERT_TRUE(instrument) << format(instrument.problem());
      instrument_ = std::move(*instrument);
      measurer_ = std::make_unique<Measurer>(*instrument_, setup_);
    }
    measurer_->measure(steps, arrived);
  }
  static Result<Done> fine(const Step&, const plan::Reading&) { return Done{}; }
  Step contact() const { return *make_.contact({3, {}, {}, {}}, true); }

  double volts_{};
  bool touches_{true};
  plan::StepMaker make_{{}, true, 0};
  test::FakeBench bench_;
  Notebook notebook_;
  MeasurerSetup setup_;
  std::unique_ptr<adapter::Instrument> instrument_;
  std::unique_ptr<Measurer> measurer_;
};

TEST_F(Measuring, WritesEachReadingBeforeItHandsItOnNumberedInOrder) {
  setup_.first_sequence = 7;
  std::size_t seen = 0;
  measure({make_.resistance(1, 2), make_.resistance(2, 1)},
          [&](const Step& step, const plan::Reading& reading) -> Result<Done> {
            ++seen;
            EXPECT_EQ(notebook_.written.size(), seen);
            EXPECT_EQ(reading.step, step.id);
            EXPECT_EQ(reading.sequence, 6 + seen);
            return Done{};
          });
  EXPECT_EQ(seen, 2u);
  EXPECT_FALSE(measurer_->ended());
}

TEST_F(Measuring, SendsNothingPastAVoltageThatWasNotHandedOn) {
  volts_ = -4;
  Problem live;
  live.cause = Cause::bench;
  live.code = "SES-007";
  measure({make_.board_voltage({1}, {2}), make_.resistance(1, 2)},
          [&](const Step&, const plan::Reading&) -> Result<Done> { return live; });
  EXPECT_EQ(notebook_.written.size(), 1u);
  ASSERT_TRUE(measurer_->ending().stopped);
  EXPECT_EQ(measurer_->ending().stopped->code, "SES-007");
  EXPECT_FALSE(measurer_->ending().link_failure);
}

TEST_F(Measuring, EndsWhereTheJournalCannotBeWritten) {
  notebook_.full_after = 1;
  measure({make_.resistance(1, 2)}, fine);
  measure({make_.resistance(1, 2)}, fine);
  EXPECT_EQ(notebook_.written.size(), 1u);
  EXPECT_TRUE(measurer_->ending().stopped);
}

TEST_F(Measuring, CorrectsAReadingBeforeItIsWritten) {
  setup_.correct = [](const Step&, plan::Reading& r) -> Result<Done> {
    std::get<plan::Measured>(r.outcome).value -= 0.125;
    return Done{};
  };
  measure({make_.resistance(1, 2)}, fine);
  ASSERT_EQ(notebook_.written.size(), 1u);
  EXPECT_EQ(std::get<plan::Measured>(notebook_.written[0].outcome).value, 0.25 - 0.125);
}

TEST_F(Measuring, StopsBetweenBatchesOnRequest) {
  setup_.interrupted = [this] { return !notebook_.written.empty(); };
  measure({make_.board_voltage({1}, {2}), make_.resistance(1, 2)}, fine);
  EXPECT_EQ(notebook_.written.size(), 1u);
  ASSERT_TRUE(measurer_->ending().stopped);
  EXPECT_EQ(measurer_->ending().stopped->cause, Cause::interrupted);
}

TEST_F(Measuring, TellsOfATipWhenItTouchesAndWhenItNoLongerDoes) {
  std::vector<ContactEvent> events;
  setup_.contact = [&](const ContactEvent& e) { events.push_back(e); };
  for (const bool touches : {false, false, true, true, false}) {
    touches_ = touches;
    measure({contact()}, fine);
  }
  EXPECT_EQ(events, (std::vector<ContactEvent>{{0, 3, false}, {0, 3, true}, {0, 3, false}}));
}

// One row a cause: which of the two endings it is.
TEST(Endings, OfTheLinkAreToldFromAllOthersAndTheFirstOfEachCounts) {
  Ending ending;
  for (const Cause cause : {Cause::bench, Cause::interrupted, Cause::input, Cause::link}) {
    Problem p;
    p.cause = cause;
    ending.note(p);
    EXPECT_EQ(ending.link_failure.has_value(), cause == Cause::link);
  }
  EXPECT_EQ(ending.stopped->cause, Cause::bench);
}

}  // namespace
}  // namespace isthmus::session
