// SPDX-License-Identifier: Apache-2.0
// A board proven by hand, from start to verdict, on an adapter in memory. Oracle: what the desk's own
// list says of the board, and what its hand did.
#include "isthmus/session/guide.hpp"

#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>

#include "tests/session/hand_desk.hpp"

namespace isthmus::session {
namespace {

using diagnose::FindingKind;
using diagnose::Verdict;
using Kind = Answer::Kind;

class GuideTest : public ::testing::Test {
 protected:
  static const expect::Board& board() {
    static const test::SmallBoard small;
    return small.board();
  }
  void SetUp() override {
    const auto* info = ::testing::UnitTest::GetInstance()->current_test_info();
    dir_ = std::filesystem::temp_directory_path() /
           (std::string("isthmus-guide-") + info->name() + std::to_string(::getpid()));
    std::filesystem::create_directories(dir_);
    auto record = record::Record::open(dir_ / "bench.isthmus");
    ASSERT_TRUE(record);
    record_ = std::move(*record);
  }
  void TearDown() override { std::filesystem::remove_all(dir_); }

  Result<Outcome> run(test::HandDesk& desk) {
    auto instrument = adapter::Instrument::connect(std::make_unique<test::FakeAdapter>(desk.bench));
    if (!instrument) return instrument.problem();
    return guide(board(), {desk.plan, desk.contact_check, broken_}, **instrument, *record_,
                 record::RunHead{}, desk.hooks);
  }
  Outcome outcome(test::HandDesk& desk) {
    auto done = run(desk);
    EXPECT_TRUE(done) << (done ? "" : format(done.problem()));
    return done ? std::move(*done) : Outcome{};
  }
  Outcome outcome() { return outcome(desk_); }

  std::filesystem::path dir_;
  std::unique_ptr<record::Record> record_;
  test::HandDesk desk_{board()};
  const record::StoredRun* broken_{nullptr};
};

TEST_F(GuideTest, AGoodBoardPassesWithoutAKey) {
  const Outcome out = outcome();
  EXPECT_EQ(out.result.diagnosis.verdict, Verdict::pass);
  EXPECT_EQ(desk_.landings, 17);
  EXPECT_EQ(desk_.all<event::Booked>().size(), 17u);
  for (const event::Booked& b : desk_.all<event::Booked>()) EXPECT_EQ(b.result, "good");
  EXPECT_EQ(std::get<event::End>(desk_.events.back().what).verdict, Verdict::pass);
  std::uint32_t n = 0;
  for (const Event& e : desk_.events) EXPECT_EQ(e.n, ++n);
}

TEST_F(GuideTest, TheRecordHasEachLandingAsItWasMeasured) {
  desk_.lifts_after[4] = 100;
  const Outcome out = outcome();
  const auto stored = record_->load(out.run);
  ASSERT_TRUE(stored);
  EXPECT_EQ(stored->readings, out.readings);
  ASSERT_EQ(stored->plan.placements.size(), out.plan.placements.size());
  for (std::size_t i = 0; i < out.plan.placements.size(); ++i) {
    EXPECT_EQ(stored->plan.placements[i].round, out.plan.placements[i].round);
    EXPECT_EQ(stored->plan.placements[i].taken_back, out.plan.placements[i].taken_back);
  }
  const auto again = diagnose::diagnose(board(), stored->plan, stored->readings, true);
  EXPECT_EQ(again.verdict, out.result.diagnosis.verdict);
  EXPECT_EQ(again.states, out.result.diagnosis.states);
}

TEST_F(GuideTest, AWrongPadIsNamedAndBooksNothing) {
  desk_.lands_on[7] = "U3.2";  // wanted is U3.1
  const Outcome out = outcome();
  const auto wrong = desk_.all<event::Wrong>();
  ASSERT_EQ(wrong.size(), 1u);
  EXPECT_EQ(board().expectation.point(wrong[0].wanted).id, "U3.1");
  ASSERT_EQ(wrong[0].heard.size(), 1u);
  EXPECT_EQ(board().expectation.point(wrong[0].heard[0]).id, "U3.2");
  EXPECT_EQ(out.result.diagnosis.verdict, Verdict::pass);
  EXPECT_EQ(desk_.all<event::Booked>().size(), 17u);
}

// A needle is laid down over a pause.
TEST_F(GuideTest, AfterAPauseThePadIsAskedForAgain) {
  desk_.also = [this](const session::Event& e) {
    if (const auto* t = std::get_if<event::Touch>(&e.what); t && t->touch == 7)
      desk_.say(Answer::Kind::pause);
    if (const auto* n = std::get_if<event::Note>(&e.what); n && n->what == "pause")
      desk_.say(Answer::Kind::resume);
  };
  const Outcome out = outcome();
  const auto touches = desk_.all<event::Touch>();
  ASSERT_EQ(touches.size(), 18u);
  EXPECT_EQ(touches[7].point, touches[6].point);
  EXPECT_TRUE(touches[7].again);
  EXPECT_EQ(out.result.diagnosis.verdict, Verdict::pass);
  EXPECT_EQ(desk_.all<event::Booked>().size(), 17u);
}

// Lifted after each number of readings in turn: whatever was read by then, a good board has no fault,
// a bad one does not pass.
TEST_F(GuideTest, WhenItIsLiftedWhileItIsReadNothingIsBookedAndItIsAskedForAgain) {
  bool lost = false;
  for (int after = 105; after < 200; after += 8) {
    test::HandDesk good(board()), bad(board());
    bad.tie("U3.1", "U3.2");
    for (test::HandDesk* d : {&good, &bad}) d->lifts_after[7] = d->lifts_after[13] = after;
    EXPECT_EQ(outcome(good).result.diagnosis.verdict, Verdict::pass) << after;
    EXPECT_EQ(outcome(bad).result.diagnosis.verdict, Verdict::fail) << after;
    lost = lost || !good.all<event::Lost>().empty();
  }
  EXPECT_TRUE(lost);
}

// Hum, or a tip that creeps: it is read again while it stands, and where that does not help touched
// again.
TEST_F(GuideTest, WhatWasReadBadlyIsReadAgain) {
  for (const int times : {1, 100}) {
    test::HandDesk d(board());
    d.spoils[3] = times;
    const Outcome out = outcome(d);
    EXPECT_EQ(out.result.diagnosis.verdict, Verdict::pass);
    EXPECT_EQ(d.all<event::Booked>().size(), 17u);
    EXPECT_EQ(d.all<event::Lost>().size(), times == 1 ? 0u : 1u);
  }
}

TEST_F(GuideTest, ABouncingTipIsNotReadBeforeItStands) {
  desk_.bounces[3] = {40, 20};
  const Outcome out = outcome();
  EXPECT_EQ(out.result.diagnosis.verdict, Verdict::pass);
  EXPECT_EQ(desk_.all<event::Landed>().size(), 17u);
}

TEST_F(GuideTest, ExchangedClipsAreNamedAndTakenSo) {
  desk_.clips = {{1, desk_.point("U1.2")}, {2, desk_.point("U1.1")}};
  desk_.also = [&](const Event& e) {
    const auto* c = std::get_if<event::Clip>(&e.what);
    if (c && c->what == "exchanged") desk_.say(Kind::done);
  };
  const Outcome out = outcome();
  std::size_t exchanged = 0;
  for (const event::Clip& c : desk_.all<event::Clip>()) exchanged += c.what == "exchanged";
  EXPECT_EQ(exchanged, 1u);
  EXPECT_EQ(out.result.diagnosis.verdict, Verdict::pass);
  EXPECT_TRUE(out.result.diagnosis.findings.empty());
}

TEST_F(GuideTest, AClipThatFellOffIsNoticedAndNeverPassesUnseen) {
  for (const bool refits : {true, false}) {
    test::HandDesk d(board());
    d.drops_clip[6] = 2;  // BETA
    d.refits = refits;
    d.hooks.left = [](const plan::Round& r, const auto&, auto) { return r.touches; };
    const Outcome out = outcome(d);
    bool said = false;
    for (const event::Clip& c : d.all<event::Clip>())
      said = said || (c.what == "lost" && c.channel == 2);
    EXPECT_TRUE(said);
    EXPECT_EQ(out.result.diagnosis.verdict, refits ? Verdict::pass : Verdict::incomplete);
    EXPECT_TRUE(out.result.diagnosis.findings.empty());
  }
}

TEST_F(GuideTest, AStraddlingTipInventsNothing) {
  desk_.straddles[7] = "U3.2";
  const Outcome out = outcome();
  EXPECT_EQ(out.result.diagnosis.verdict, Verdict::pass);
  EXPECT_TRUE(out.result.diagnosis.findings.empty());
}

TEST_F(GuideTest, ABridgeIsFoundFromASecondPlace) {
  desk_.tie("U3.1", "U3.2");
  const Outcome out = outcome();
  ASSERT_EQ(out.result.diagnosis.findings.size(), 1u);
  EXPECT_EQ(out.result.diagnosis.findings[0].kind, FindingKind::bridge);
  ASSERT_EQ(desk_.all<event::Finding>().size(), 1u);
}

TEST_F(GuideTest, AnOpenIsFoundWhenTheTipIsKnownToStand) {
  desk_.cut_off("U3.1");
  const Outcome out = outcome();
  ASSERT_EQ(out.result.diagnosis.findings.size(), 1u);
  EXPECT_EQ(out.result.diagnosis.findings[0].kind, FindingKind::open);
  EXPECT_EQ(out.result.diagnosis.findings[0].nets, std::vector<std::string>{"ALPHA"});
  // Two landings, each between two proofs of the clip, and nothing beyond: three touches more.
  EXPECT_TRUE(desk_.all<event::Lost>().empty());
  EXPECT_EQ(desk_.all<event::Booked>().size(), 20u);
}

// Mended on the spot, in truth or not: only what the iron came near is read anew, and the readings
// say.
TEST_F(GuideTest, WhatIsMendedIsReadAnewAtOnce) {
  for (const bool in_truth : {true, false}) {
    for (const bool open : {true, false}) {
      test::HandDesk d(board());
      open ? d.cut_off("U3.1") : d.tie("U3.1", "U3.2");
      d.hooks.offers_rework = true;
      bool all_again = false;  // the clips of this desk hide pads from the planner
      d.hooks.left = [&](const plan::Round& round, const expect::Facts&, std::span<const PointId>) {
        return std::exchange(all_again, false) ? round.touches : std::vector<plan::Touch>{};
      };
      int offers = 0;
      d.also = [&](const Event& e) {
        if (!std::holds_alternative<event::Offer>(e.what)) return;
        if (in_truth) d.mend();
        all_again = true;
        d.say(++offers == 1 ? Kind::mended : Kind::done);
      };
      const Outcome out = outcome(d);
      EXPECT_EQ(out.result.diagnosis.verdict, in_truth ? Verdict::pass : Verdict::fail);
      EXPECT_EQ(d.all<event::Withdrawn>().size(), 1u);
      EXPECT_EQ(d.all<event::Finding>().size(), in_truth ? 1u : 2u);
      EXPECT_EQ(offers, in_truth ? 1 : 2);
      const auto stored = record_->load(out.run);
      ASSERT_TRUE(stored);
      EXPECT_EQ(stored->plan.reworked, out.plan.reworked);
      EXPECT_EQ(stored->plan.reworked.size(), 1u);
      const auto again = diagnose::diagnose(board(), stored->plan, stored->readings, true);
      EXPECT_EQ(again.verdict, out.result.diagnosis.verdict);
    }
  }
}

TEST_F(GuideTest, WhatIsSkippedIsNotTested) {
  for (const Kind kind : {Kind::skip, Kind::cannot_reach}) {
    test::HandDesk d(board());
    bool said = false;
    d.also = [&](const Event& e) {
      const auto* t = std::get_if<event::Touch>(&e.what);
      if (!t || std::exchange(said, said || t->touch == 12) || t->touch != 12) return;
      d.say(kind);
    };
    EXPECT_EQ(outcome(d).result.diagnosis.verdict, Verdict::incomplete);
  }
}

TEST_F(GuideTest, WhatWasTakenBackIsTouchedAgain) {
  bool said = false;
  desk_.also = [&](const Event& e) {
    const auto* t = std::get_if<event::Touch>(&e.what);
    if (t && t->touch == 9 && !std::exchange(said, true)) desk_.say(Kind::undo);
  };
  const Outcome out = outcome();
  EXPECT_EQ(out.result.diagnosis.verdict, Verdict::pass);
  EXPECT_EQ(desk_.all<event::Booked>().size(), 18u);
}

TEST_F(GuideTest, WhoLeavesGetsWhatWasProvenSoFar) {
  desk_.also = [&](const Event& e) {
    const auto* t = std::get_if<event::Touch>(&e.what);
    if (t && t->touch == 9) desk_.say(Kind::quit);
  };
  const Outcome out = outcome();
  EXPECT_EQ(out.result.diagnosis.verdict, Verdict::incomplete);
  EXPECT_EQ(out.result.state, "broken off");
  EXPECT_EQ(desk_.all<event::Booked>().size(), 8u);
}

// Nobody ever comes: a bench that only counts its own time would wait for ever.
TEST_F(GuideTest, ASimulatedBenchWithoutAHandEndsAfterAQuarterOfAnHour) {
  desk_.bench.capabilities += ";SIMULATED 1";
  desk_.lands = false;
  desk_.hooks.interrupted = [] { return false; };
  const Outcome out = outcome();
  ASSERT_TRUE(out.stopped);
  EXPECT_EQ(out.stopped->code, "HND-014");
  EXPECT_EQ(out.result.diagnosis.verdict, Verdict::incomplete);
  EXPECT_TRUE(desk_.all<event::Booked>().empty());
}

// DELTA and ECHO hold no clip: the two needles tie each net's pads and meet on one of each.
void unclip_two(test::HandDesk& d) {
  plan::Round& r = d.plan.rounds[0];
  d.contact_check = true;
  r.needles.push_back({test::HandDesk::kSecond, std::nullopt});
  std::erase_if(r.clips, [](const plan::HandClip& c) { return c.channel == 3 || c.channel == 4; });
  const std::set<std::size_t> loose{d.point("U4.1"), d.point("U2.5"), d.point("VIA@12.000,6.000"),
                                    d.point("VIA@22.000,6.000")};
  std::erase_if(r.touches, [&](const plan::Touch& t) { return loose.contains(index(t.point)); });
  const auto touch = [&](std::size_t needle, const char* id, bool other_stands) {
    plan::Touch t = r.touches.front();
    t.needle = needle;
    t.point = PointId{static_cast<std::uint32_t>(d.point(id))};
    t.other_stands = other_stands;
    return t;
  };
  for (plan::Touch t :
       {touch(0, "U1.4", false), touch(1, "VIA@12.000,6.000", true),
        touch(1, "VIA@22.000,6.000", true), touch(1, "U4.1", true), touch(1, "U1.3", true),
        touch(1, "U1.5", true), touch(0, "U2.5", true), touch(1, "U1.3", true)})
    r.touches.push_back(t);
  d.plan.touches = r.touches.size();
}

TEST_F(GuideTest, TwoNeedlesProveWhatHoldsNoClip) {
  for (const bool bridged : {false, true}) {
    test::HandDesk d(board());
    unclip_two(d);
    for (plan::Touch& t : d.plan.rounds[0].touches) t.at = board().expectation.point(t.point).at;
    if (bridged) d.tie("U1.4", "U1.5");
    const Outcome out = outcome(d);
    if (!bridged) {
      std::string left;
      for (const auto& c : out.result.diagnosis.cannot_tell)
        left += c.nets.front() + "-" + c.nets.back() + " ";
      EXPECT_EQ(out.result.diagnosis.verdict, Verdict::pass) << left;
      EXPECT_EQ(d.all<event::Booked>().size(), d.plan.touches);  // clips are loaded for two needles
      continue;
    }
    EXPECT_NE(out.result.diagnosis.verdict, Verdict::pass);
    for (const diagnose::Finding& f : out.result.diagnosis.findings) {
      EXPECT_EQ(f.kind, FindingKind::bridge);
      EXPECT_EQ(f.nets, (std::vector<std::string>{"DELTA", "ECHO"}));
    }
  }
}

// The other needle is all it could conduct to, and does not.
TEST_F(GuideTest, AnOpenBetweenTwoNeedlesIsFound) {
  test::HandDesk d(board());
  unclip_two(d);
  for (plan::Touch& t : d.plan.rounds[0].touches) t.at = board().expectation.point(t.point).at;
  d.cut_off("VIA@22.000,6.000");
  const Outcome out = outcome(d);
  EXPECT_TRUE(d.all<event::Lost>().empty());
  ASSERT_EQ(out.result.diagnosis.findings.size(), 1u);
  EXPECT_EQ(out.result.diagnosis.findings[0].kind, FindingKind::open);
  EXPECT_EQ(out.result.diagnosis.findings[0].nets, std::vector<std::string>{"DELTA"});
}

// The next evening: clips are proven anew, eight resistances compared, the rest carried over.
TEST_F(GuideTest, GoesOnTomorrowWhereTheBoardReadsAsItDid) {
  for (const bool same : {true, false}) {
    test::HandDesk first(board()), second(board());
    for (test::HandDesk* d : {&first, &second}) {
      auto& touches = d->plan.rounds[0].touches;
      touches.insert(touches.end(), touches.begin() + 5, touches.begin() + 12);
      for (int i = 0; i < 5; ++i) touches.push_back(touches[static_cast<std::size_t>(i)]);
    }
    first.also = [&](const Event& e) {
      const auto* t = std::get_if<event::Touch>(&e.what);
      if (t && t->touch == 18) first.say(Kind::quit);
    };
    const Outcome broken = outcome(first);
    EXPECT_EQ(broken.result.state, "broken off");
    const auto stored = record_->load(broken.run);
    ASSERT_TRUE(stored);
    broken_ = &*stored;
    if (!same) second.tie("U2.5", "U2.1", 5);
    second.more_ohms = same ? 0 : 3;
    second.hooks.left = [](const auto&, const auto&, auto) { return std::vector<plan::Touch>{}; };
    const Outcome out = outcome(second);
    broken_ = nullptr;
    EXPECT_EQ(out.result.diagnosis.verdict, same ? Verdict::pass : Verdict::fail);
    EXPECT_EQ(second.landings < 12, same) << second.landings;
  }
}

// docs/guide.md, Safety: at most 10 V and 1 mA at a needle in the hand.
TEST_F(GuideTest, RefusesWhatAHandMustNotHold) {
  const auto refusal = [&](double volts, double ohms, int channel) {
    test::SmallBoard other;
    auto& b = const_cast<expect::Board&>(other.board());
    b.design.board.limits.voltage = Volts{volts};
    b.design.board.limits.isolation = Ohms{ohms};
    test::HandDesk d(b);
    d.plan.rounds[0].clips.back().channel = channel;
    auto instrument = adapter::Instrument::connect(std::make_unique<test::FakeAdapter>(d.bench));
    const auto done = guide(b, {d.plan}, **instrument, *record_, {}, d.hooks);
    return done ? std::string() : done.problem().code;
  };
  EXPECT_EQ(refusal(12, 1e7, 5), "HND-011");
  EXPECT_EQ(refusal(10, 5e4, 5), "HND-012");
  EXPECT_EQ(refusal(10, 1e7, 65), "HND-013");
}

// Within a landing: 1 mA first, isolation behind its range resistor, the tips' current last.
TEST_F(GuideTest, TheCurrentOfTheTipsFlowsLast) {
  outcome();
  double most = 0;
  for (const test::SeenStep& s : desk_.bench.steps) {
    const bool pool =
        s.closed.contains({1, 15}) && s.closed.contains({2, 1}) && s.closed.size() > 3;
    if (pool && s.query == "RES") {
      EXPECT_LE(s.amperes, 1e-3);
    }
    if (s.query == "FRES") most = std::max(most, s.amperes);
    if (s.query == "ISOL") {
      EXPECT_LE(s.volts, 10);
    }
  }
  EXPECT_EQ(most, 0.1);
}

TEST_F(GuideTest, ALinkThatFailsInTheMiddleKeepsWhatWasBooked) {
  desk_.bench.gone_at_read = 100;
  const Outcome out = outcome();
  EXPECT_TRUE(out.link_failure);
  EXPECT_EQ(out.result.diagnosis.verdict, Verdict::incomplete);
  EXPECT_EQ(record_->load(out.run)->readings, out.readings);
}

}  // namespace
}  // namespace isthmus::session
