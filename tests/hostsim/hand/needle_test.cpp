// SPDX-License-Identifier: Apache-2.0
// A needle in the hand, and what can go wrong with it. Expected values follow from the keys of the
// scenario (docs/simulator.md) and the geometry of the rig.
#include <cmath>

#include "tests/hostsim/hand/rig.hpp"

namespace isthmus::hostsim::test {
namespace {

TEST(Needle, ConductsOnlyWhileItStands) {
  Rig rig;
  rig.start();
  rig.clip_all();
  rig.touch_fine(1, 0);
  EXPECT_FALSE(rig.conduct(1, 11));
  ASSERT_GT(rig.until_conducting(1, 11), 0);
  rig.say("landed", 1);
  rig.wait(1);
  EXPECT_TRUE(rig.conduct(1, 11));
  EXPECT_FALSE(rig.conduct(1, 12));
  rig.say("booked", 1);
  rig.wait(2);
  EXPECT_FALSE(rig.conduct(1, 11));
}

TEST(Needle, TouchesNothingBeforeTheFirstEvent) {
  Rig rig;
  EXPECT_FALSE(rig.contact(1));
}

// The way takes its length over the speed: 40 mm at 20 mm/s.
TEST(Needle, TakesTimeByDistance) {
  Rig rig("speed-mm-per-s: 20, touch-s: 1, reaction-s: 0.2");
  rig.start();
  rig.show(R"({"event":"clips","clips":[)" + clip_at(2, 22, 2) + "]}");
  rig.wait(10);
  rig.wait(10);
  rig.wait(10);
  rig.touch(1, 2, 2);
  ASSERT_GT(rig.until_conducting(1, 2), 0);
  rig.say("booked", 1);
  rig.touch(2, 2, 2);
  rig.wait(0.3);
  const double here = rig.until_conducting(1, 2);
  rig.say("booked", 2);
  rig.touch(3, 42, 2);
  rig.wait(0.3);
  const double there = rig.until_conducting(1, 2);
  EXPECT_NEAR(here, 1.2 - 0.3, 0.02);
  EXPECT_NEAR(there - here, 40.0 / 20, 0.02);
}

TEST(Needle, TakesLongerWherePadsAreClose) {
  Rig rig("fine-mm: 0.7, fine-s: 5, touch-s: 1, speed-mm-per-s: 10000, reaction-s: 0.01");
  rig.start();
  rig.clip_all();
  rig.touch_fine(1, 0);
  EXPECT_NEAR(rig.until_conducting(1, 11), 6, 0.05);
}

TEST(Needle, IsLiftedAndPutDownAgainWhenNobodySpeaks) {
  Rig rig("patience-s: 2, tries: 3");
  ASSERT_GT(rig.land_on_first(), 0);
  rig.wait(2.5);
  EXPECT_FALSE(rig.conduct(1, 11));
  EXPECT_GT(rig.until_conducting(1, 11), 0);
  for (int i = 0; i < 10; ++i) rig.wait(5);
  ASSERT_FALSE(rig.answers.empty());
  EXPECT_EQ(rig.answers.back(), "cannot-reach");
  EXPECT_FALSE(rig.conduct(1, 11));
}

// Aim is at most two standard deviations off: 0.085 mm at most, the pad reaches 0.125 mm.
TEST(Needle, HitsPadsOfAQuarterMillimetreWhenNothingGoesWrong) {
  for (int seed = 1; seed <= 10; ++seed) {
    Rig rig("", seed);
    rig.start();
    rig.clip_all();
    for (int k = 0; k < 8; ++k) {
      rig.touch_fine(k + 1, k);
      ASSERT_GT(rig.until_conducting(1, 11 + k), 0) << "seed " << seed << ", pad " << k;
      int heard = 0;
      for (int other = 0; other < 8; ++other) heard += rig.conduct(1, 11 + other) ? 1 : 0;
      EXPECT_EQ(heard, 1);
      rig.say("booked", k + 1);
    }
  }
}

TEST(Needle, LandsOnTheNeighbouringPad) {
  Rig rig("wrong-pad: 1");
  rig.start();
  rig.clip_all();
  rig.touch_fine(1, 0);
  ASSERT_GT(rig.until_conducting(1, 12, 15), 0);  // P0 has P1 beside it, then P2
  EXPECT_FALSE(rig.conduct(1, 11));
}

TEST(Needle, LandsOnNothingWhenItMisses) {
  Rig rig("miss: 1, tries: 1");
  rig.start();
  rig.clip_all();
  rig.touch_fine(1, 0);
  EXPECT_LT(rig.until_conducting(1, 11, 20), 0);
  EXPECT_FALSE(rig.answers.empty());
}

// Pads of 0.25 mm, 0.5 mm apart: 0.25 mm of laminate between them.
TEST(Needle, StraddlesTwoPads) {
  Rig rig("straddle: 1, straddle-mm: 0.5, touch-s: 1");
  rig.start();
  rig.clip_all();
  EXPECT_GT(rig.isolation(11, 12), 1e8);
  rig.touch_fine(1, 0);
  ASSERT_GT(rig.until_conducting(1, 11), 0);
  EXPECT_TRUE(rig.conduct(1, 12));
  EXPECT_LT(rig.isolation(11, 12), 100);  // over the tip, as on a real bench
}

TEST(Needle, SlidesOff) {
  Rig rig("slip: 1, tries: 1");
  ASSERT_GT(rig.land_on_first(), 0);
  rig.wait(0.7);
  EXPECT_FALSE(rig.conduct(1, 11));
}

TEST(Needle, BouncesBeforeItStands) {
  Rig rig("bounce: 1, bounce-ms: 200");
  ASSERT_GT(rig.land_on_first(), 0);
  int changes = 0;
  bool was = true;
  for (int i = 0; i < 120; ++i) {
    const bool is = rig.conduct(1, 11);
    changes += is != was ? 1 : 0;
    was = is;
    rig.wait(0.001);
  }
  EXPECT_GE(changes, 4);
  rig.wait(0.2);
  EXPECT_TRUE(rig.conduct(1, 11));
}

// Isolation is read over 20 ms: a needle that leaves in the middle gives neither copper nor air.
// The readings follow each other closely, so one of them meets the lift.
TEST(Needle, FalsifiesTheReadingInWhichItIsLifted) {
  Rig rig("early-lift: 1, tries: 1");
  ASSERT_GT(rig.land_on_first(), 0);
  int between = 0;
  for (int i = 0; i < 40; ++i) {
    const double ohm = rig.isolation(1, 11);
    between += ohm > 1000 && ohm < 1e9 ? 1 : 0;
  }
  EXPECT_EQ(between, 1);
  EXPECT_FALSE(rig.conduct(1, 11));
}

TEST(Needle, FindsTarnish) {
  Rig rig("tarnish: 1, tarnish-ohm: [14, 15]");
  ASSERT_GT(rig.land_on_first(), 0);
  const double ohm = rig.resistance(1, 11) - 2 * 4;  // two switches
  EXPECT_GT(ohm, 14);
  EXPECT_LT(ohm, 15.5);
}

TEST(Needle, LeaksThroughFingersUntilTheyAreOffTheCopper) {
  bool found = false;
  for (int seed = 1; seed <= 10 && !found; ++seed) {
    Rig rig("skin: 1, skin-mohm: [1, 2], touch-s: 1", seed);
    rig.start();
    rig.clip_all();
    rig.touch_fine(1, 0);
    ASSERT_GT(rig.until_conducting(1, 11), 0);
    int leaking = 0;
    for (int k = 1; k < 8; ++k) {
      const double ohm = rig.isolation(1, 11 + k);
      if (ohm > 1e8) continue;
      leaking = k;
      EXPECT_GT(ohm, 0.9e6);
      EXPECT_LT(ohm, 2.1e6);
    }
    if (leaking == 0) continue;  // the fingers lay on a net without a clip, or on none
    found = true;
    rig.touch_fine(1, 0, R"(,"why":"fingers-off")");
    rig.wait(1);
    ASSERT_GT(rig.until_conducting(1, 11), 0);
    EXPECT_GT(rig.isolation(1, 11 + leaking), 1e8);
  }
  EXPECT_TRUE(found);
}

TEST(Needle, WithTwoTipsLiesAlongThePad) {
  Rig rig("fork-mm: 0.2");
  rig.start(R"({"channel":1,"fork":2})");
  rig.clip_all();
  rig.touch_fine(1, 3, R"(,"fork":2)");
  ASSERT_GT(rig.until_conducting(1, 14), 0);
  EXPECT_TRUE(rig.conduct(1, 2));
  EXPECT_FALSE(rig.conduct(1, 13));
  EXPECT_FALSE(rig.conduct(2, 15));
}

// The other one stays where it is.
TEST(Needle, OfTwoMovesAlone) {
  Rig rig;
  rig.start(R"({"channel":1,"fork":null},{"channel":2,"fork":null})");
  rig.touch(1, 42, 2);
  for (int i = 0; i < 200 && !rig.contact(1); ++i) rig.wait(0.05);
  rig.say("booked", 1);
  rig.wait(9);
  EXPECT_TRUE(rig.contact(1));
  rig.touch(2, 2, 2, R"(,"needle":1,"channel":2)");
  ASSERT_GT(rig.until_conducting(1, 2), 0);
  rig.show(R"({"event":"lift","needle":0})");
  rig.wait(1);
  EXPECT_FALSE(rig.contact(1));
  EXPECT_TRUE(rig.contact(2));
}

// 50 Hz at 3 mV on the needle: resistance read at one current only shows it, over 1 mA 3 ohm.
TEST(Needle, BringsHum) {
  Rig rig("hum-uv: 3000");
  ASSERT_GT(rig.land_on_first(), 0);
  double low = 1e9, high = 0;
  for (int i = 0; i < 40; ++i) {
    const double ohm = rig.resistance(1, 11);
    low = std::min(low, ohm);
    high = std::max(high, ohm);
    rig.wait(0.0013);
  }
  EXPECT_GT(high - low, 4);
  EXPECT_LT(high - low, 6.5);
}

TEST(Hand, DoesTheSameWithTheSameSeedOnly) {
  const auto played = [](int seed) {
    Rig rig(
        "wrong-pad: 0.3, miss: 0.2, slip: 0.3, bounce: 0.3, early-lift: 0.2, straddle: 0.3, "
        "skin: 0.3, tarnish: 0.3, clip-falls-per-min: 2, clip-exchanged: 0.5, clip-intermittent: "
        "0.2",
        seed);
    rig.start();
    rig.clip_all();
    std::vector<double> readings;
    for (int k = 0; k < 8; ++k) {
      rig.touch_fine(k + 1, k);
      for (int i = 0; i < 30; ++i) {
        rig.wait(0.4);
        readings.push_back(rig.resistance(1, 11 + k));
      }
    }
    return readings;
  };
  EXPECT_EQ(played(4), played(4));
  EXPECT_NE(played(4), played(5));
}

}  // namespace
}  // namespace isthmus::hostsim::test
