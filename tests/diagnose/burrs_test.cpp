// SPDX-License-Identifier: Apache-2.0
#include "diagnose/suspects.hpp"
#include "tests/expect/piece_board.hpp"

namespace isthmus::diagnose {
namespace {

// Two holes 20 mm apart and a pad without one, before the bottom is etched.
TEST(Burrs, AreTheSuspectsOfNetsThatOnlyTheUncutSideCanJoin) {
  test::LittleBoard little;
  little.through("A", "J1", "1", 0, 0, std::nullopt).through("B", "J2", "1", 20, 0, std::nullopt);
  little.surface("C", "R1", "1", 10, 0).stage(Stage::etched_top);
  const auto board = test::whole(std::move(little));
  const auto group = [&](const char* name) {
    return *board->expectation.point(test::point(*board, name)).group;
  };
  const auto both = bridge_suspects(*board, {group("J1.1"), group("J2.1")});
  ASSERT_EQ(both.size(), 2U);
  EXPECT_EQ(both[0].at, position_mm(0, 0));
  EXPECT_EQ(both[1].at, position_mm(20, 0));
  for (const Suspect& s : both) {
    EXPECT_EQ(s.nets, (std::vector<std::string>{"A", "B"}));
    EXPECT_EQ(s.why, "burr in this hole to the copper of the bottom, which is not etched yet");
    EXPECT_NEAR(s.likelihood, 0.5, 1e-12);
  }
  EXPECT_TRUE(bridge_suspects(*board, {group("J1.1"), group("R1.1")}).empty());
}

}  // namespace
}  // namespace isthmus::diagnose
