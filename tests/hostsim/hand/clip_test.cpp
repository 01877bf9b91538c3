// SPDX-License-Identifier: Apache-2.0
// Clips fitted by hand. Expected values follow from the keys of the scenario (docs/simulator.md).
#include "tests/hostsim/hand/rig.hpp"

namespace isthmus::hostsim::test {
namespace {

std::string clips(const std::string& list, const std::string& remove = "") {
  return R"({"n":2,"event":"clips","round":1,"of":1,"clips":[)" + list + R"(],"remove":[)" +
         remove + "]}";
}

TEST(Clip, IsFittedInItsTimeAndStays) {
  Rig rig("clip-s: 10, reaction-s: 0.5");
  rig.start();
  rig.show(clips(clip_at(2, 2, 2) + "," + clip_at(3, 42, 2)));
  rig.wait(9);
  EXPECT_FALSE(rig.contact(2));
  rig.wait(3);
  EXPECT_TRUE(rig.contact(2));
  EXPECT_FALSE(rig.contact(3));
  EXPECT_TRUE(rig.answers.empty());
  rig.wait(9);
  rig.wait(9);
  EXPECT_TRUE(rig.conduct(2, 3));
  rig.contact(3);
  EXPECT_EQ(rig.answers, std::vector<std::string>{"done"});
}

TEST(Clip, NeedsNoKeyWhenANeedleGoesOn) {
  Rig rig;
  rig.start();
  rig.show(clips(clip_at(2, 2, 2)));
  rig.touch(1, 42, 2);
  ASSERT_GT(rig.until_conducting(1, 2), 20);
  EXPECT_TRUE(rig.answers.empty());
}

// Nobody fits clips with a needle standing on the pad before.
TEST(Clip, IsFittedWithTheNeedleLifted) {
  Rig rig;
  rig.start();
  rig.show(clips(clip_at(2, 2, 2)));
  rig.touch(1, 42, 2);
  ASSERT_GT(rig.until_conducting(1, 2), 20);
  rig.say("booked", 1);
  rig.show(clips(clip_at(3, 12, 5)));
  rig.touch(2, 12, 5);
  rig.wait(0.5);
  EXPECT_FALSE(rig.conduct(1, 2));
  EXPECT_GT(rig.until_conducting(1, 3), 19);
}

TEST(Clip, ComesOffWhenToldSo) {
  Rig rig;
  rig.start();
  rig.show(clips(clip_at(2, 2, 2)));
  for (int i = 0; i < 4; ++i) rig.wait(10);
  EXPECT_TRUE(rig.contact(2));
  rig.show(clips(clip_at(3, 42, 2), "2"));
  for (int i = 0; i < 4; ++i) rig.wait(10);
  EXPECT_FALSE(rig.contact(2));
  EXPECT_TRUE(rig.contact(3));
}

// At (14, 5) an unplated hole lies between a ring above and one below.
TEST(Clip, ThroughAHoleJoinsItsTwoSides) {
  for (const bool clipped : {false, true}) {
    Rig rig;
    rig.start(R"({"channel":1,"fork":null},{"channel":2,"fork":null})");
    if (clipped) rig.show(clips(clip_at(3, 14, 5, "both")));
    for (int i = 0; clipped && i < 3; ++i) rig.wait(9);
    rig.touch(1, 14.8, 5, R"(,"needle":0,"channel":1)");
    rig.wait(4);
    rig.say("booked", 1);
    rig.touch(2, 14.8, 5, R"(,"needle":1,"channel":2,"side":"bottom")");
    for (int i = 0; i < 250 && !rig.contact(2); ++i) rig.wait(0.1);
    EXPECT_TRUE(rig.contact(1));
    EXPECT_TRUE(rig.contact(2));
    EXPECT_EQ(rig.conduct(1, 2), clipped);
  }
}

TEST(Clip, OnBothSidesConductsToEither) {
  for (const char* side : {"top", "bottom"}) {
    Rig rig;
    rig.start();
    rig.show(clips(clip_at(2, 14, 5, "both")));
    rig.touch(1, 14.8, 5, std::string(R"(,"side":")") + side + "\"");
    EXPECT_GT(rig.until_conducting(1, 2), 0) << side;
  }
}

TEST(Clip, OnOneSideConductsToThatSideAlone) {
  Rig rig("tries: 1");
  rig.start();
  rig.show(clips(clip_at(2, 14, 5, "top")));
  rig.touch(1, 14.8, 5, R"(,"side":"bottom")");
  EXPECT_LT(rig.until_conducting(1, 2, 80), 0);
}

TEST(Clip, FallsOffAndIsPutBackOn) {
  Rig rig("clip-falls-after: [[2, 11]]");
  ASSERT_GT(rig.land_on_first(), 0);
  rig.wait(1);
  EXPECT_TRUE(rig.conduct(1, 11));
  rig.touch_fine(2, 0);
  rig.wait(1);
  for (int i = 0; i < 400 && !rig.contact(1); ++i) rig.wait(0.05);
  rig.wait(0.7);
  EXPECT_FALSE(rig.contact(11));
  EXPECT_TRUE(rig.contact(12));
  rig.show(R"({"event":"clip","channel":11,"point":"?","what":"lost","with":null})");
  EXPECT_GT(rig.until_conducting(1, 11), 20);
}

TEST(Clip, IsExchangedWithAnother) {
  Rig rig("clip-exchanged: 1");
  rig.start();
  rig.show(clips(clip_at(11, fine_x(0), clip_y(0)) + "," + clip_at(12, fine_x(1), clip_y(1))));
  rig.touch_fine(1, 0);
  ASSERT_GT(rig.until_conducting(1, 12), 0);
  EXPECT_FALSE(rig.conduct(1, 11));
}

// "Take it so": when it falls off it goes back to where it was found, not to where it was meant.
TEST(Clip, ThatWasTakenAsExchangedGoesBackToWhereItWasFound) {
  Rig rig("clip-exchanged: 1, clip-falls-after: [[1, 12]]");
  rig.start();
  rig.show(clips(clip_at(11, fine_x(0), clip_y(0)) + "," + clip_at(12, fine_x(1), clip_y(1))));
  rig.touch_fine(1, 0);
  ASSERT_GT(rig.until_conducting(1, 12), 0);
  rig.say("booked", 1);
  rig.show(R"({"event":"clip","channel":11,"point":"?","what":"exchanged","with":12})");
  rig.wait(1);
  EXPECT_FALSE(rig.contact(12));
  rig.show(R"({"event":"clip","channel":12,"point":"?","what":"lost","with":null})");
  rig.touch_fine(2, 0);
  EXPECT_GT(rig.until_conducting(1, 12), 0);
}

TEST(Clip, RattlesWhenItIsIntermittent) {
  Rig rig("clip-intermittent: 1");
  rig.start();
  rig.show(clips(clip_at(2, 2, 2) + "," + clip_at(3, 42, 2)));
  for (int i = 0; i < 5; ++i) rig.wait(10);
  int on = 0, off = 0;
  for (int i = 0; i < 200; ++i) {
    (rig.contact(2) ? on : off) += 1;
    rig.wait(0.04);
  }
  EXPECT_GT(on, 100);
  EXPECT_GT(off, 20);
}

TEST(Clip, ComesOffWithAllElseForTheTestInTheAir) {
  Rig rig;
  rig.start();
  rig.clip_all();
  EXPECT_TRUE(rig.contact(11));
  rig.answers.clear();
  rig.show(R"({"event":"air"})");
  rig.wait(1);
  EXPECT_FALSE(rig.contact(11));
  EXPECT_EQ(rig.answers, std::vector<std::string>{"done"});
}

TEST(Hand, ComesBackFromAPause) {
  Rig rig("pause-s: 5");
  rig.start();
  rig.touch(1, 42, 2);
  rig.wait(9);
  rig.show(R"({"event":"pause"})");
  rig.wait(3);
  EXPECT_FALSE(rig.contact(1));
  rig.wait(3);
  rig.contact(1);
  EXPECT_EQ(rig.answers, std::vector<std::string>{"resume"});
}

}  // namespace
}  // namespace isthmus::hostsim::test
