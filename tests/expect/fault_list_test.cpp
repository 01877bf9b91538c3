// SPDX-License-Identifier: Apache-2.0
// The list of possible faults of boards of a few rectangles. Oracle: docs/proof.md, counted by hand
// beside each drawing. Pads are 1 mm wide, holes have rings of 1.6 mm, the window is 1.27 mm.
#include "isthmus/expect/fault_list.hpp"

#include <map>

#include "tests/expect/piece_board.hpp"

namespace isthmus::test {
namespace {

using expect::FaultKind;

// "stretch 3, bridge 1": entries by kind.
std::string census(const expect::Board& b) {
  std::map<FaultKind, std::size_t> count;
  for (const expect::PossibleFault& f : b.faults.entries) ++count[f.kind];
  std::string out;
  for (const auto& [kind, n] : count)
    out += (out.empty() ? "" : ", ") + std::string(name(kind)) + " " + std::to_string(n);
  return out;
}
std::string census(LittleBoard b) { return census(*whole(std::move(b))); }

// The entries of one kind.
std::vector<expect::PossibleFault> of(const expect::Board& b, FaultKind kind) {
  std::vector<expect::PossibleFault> out;
  for (const expect::PossibleFault& f : b.faults.entries) {
    if (f.kind == kind) out.push_back(f);
  }
  return out;
}

// A of two pads with a track between, along y = 0 from 0 to 10 mm.
LittleBoard line() {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 10, 0).track(0, 0, 0, 10, 0, 0.3);
  return b;
}

// A third pad above the middle: three leaves.
LittleBoard tree() {
  LittleBoard b = line();
  b.surface("A", "R3", "1", 5, 8).track(0, 5, 0, 5, 8, 0.3);
  return b;
}

// From the top through a hole to the bottom.
LittleBoard two_sided() {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).track(0, 0, 0, 10, 0, 0.3).through("A", "VIA", "", 10, 0);
  b.track(1, 10, 0, 20, 0, 0.3).surface("A", "R2", "1", 20, 0, 2).stage(Stage::joined);
  return b;
}

TEST(FaultList, OneTrackIsOneStretchWithItsPlace) {
  const auto b = whole(line());
  EXPECT_EQ(census(*b), "stretch 1");
  const expect::PossibleFault& f = b->faults.entries.at(0);
  EXPECT_EQ(f.side, Side::top);
  EXPECT_NEAR(to_mm(f.width), 0.3, 0.02);
  EXPECT_LT(mm_to_path(f.path, position_mm(5, 0)), 0.05);
  EXPECT_LT(mm_to_path(f.path, f.at), 0.05);
  EXPECT_GT(f.likelihood, 9 / 0.3 * 0.9);  // squares of 9 mm between the pads
}

TEST(FaultList, ATreeHasAStretchALeaf) { EXPECT_EQ(census(tree()), "stretch 3"); }

TEST(FaultList, APadInTheMiddleParts) {
  LittleBoard b = line();
  b.surface("A", "R3", "1", 5, 0);
  EXPECT_EQ(census(std::move(b)), "stretch 2");
}

TEST(FaultList, APlaceThatNoRecordNamesPartsToo) {
  LittleBoard b = line();
  b.pad(0, 5, 0, 1, 1);
  EXPECT_EQ(census(std::move(b)), "stretch 2");
}

TEST(FaultList, AStubIsNoEntryAndPartsNoStretch) {
  LittleBoard b = line();
  b.track(0, 5, 0, 5, 8, 0.3);
  EXPECT_EQ(census(std::move(b)), "stretch 1");
}

TEST(FaultList, AWaivedPadIsAStub) {
  LittleBoard b = tree();
  b.waive("R3.1", "a test pad");
  EXPECT_EQ(census(std::move(b)), "stretch 1");
}

// Each of the four pads on a ring of four stretches hangs on two ways.
TEST(FaultList, ARingHasWays) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 10, 0);
  b.surface("A", "R3", "1", 10, 10).surface("A", "R4", "1", 0, 10);
  b.track(0, 0, 0, 10, 0, 0.3).track(0, 10, 0, 10, 10, 0.3);
  b.track(0, 0, 10, 10, 10, 0.3).track(0, 0, 0, 0, 10, 0.3);
  const auto board = whole(std::move(b));
  EXPECT_EQ(census(*board), "stretch 4, ways 4");
  EXPECT_EQ(board->faults.wiring.ways.size(), 4u);
}

TEST(FaultList, AHoleBetweenTwoTracksIsAJoin) {
  const auto b = whole(two_sided());
  EXPECT_EQ(census(*b), "stretch 2, join 1");
  const expect::PossibleFault f = of(*b, FaultKind::join).at(0);
  EXPECT_EQ(f.at, position_mm(10, 0));
  EXPECT_EQ(f.side, Side::both);
  EXPECT_EQ(f.join, 0u);
}

TEST(FaultList, AHoleThatNothingJoinsYetIsNoEntry) {
  EXPECT_EQ(census(two_sided().stage(Stage::etched)), "stretch 2");
}

// A ring of copper that leads nowhere but into its own hole is no place of its own.
TEST(FaultList, ALoneRingAtAJoinedHoleIsNoEntry) {
  LittleBoard b = line();
  b.through("A", "J1", "1", 5, 0).stage(Stage::joined);
  EXPECT_EQ(census(std::move(b)), "stretch 2");
}

// Two holes side by side: each pad has its own track, each join is one of two ways.
TEST(FaultList, ParallelJoinsAreWaysOfWhatHangsOnThem) {
  LittleBoard b = two_sided();
  b.through("A", "VIA", "", 10, 5).track(0, 10, 0, 10, 5, 0.3).track(1, 10, 0, 10, 5, 0.3);
  const auto board = whole(std::move(b));
  EXPECT_EQ(of(*board, FaultKind::join).size(), 2u);
  for (const expect::Wiring::Edge& e : board->faults.wiring.edges) {
    EXPECT_EQ(e.join, e.entry != expect::Wiring::kNone &&
                          board->faults.entries[e.entry].kind == FaultKind::join);
  }
}

TEST(FaultList, AMissingLinkIsAnEntry) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 20, 0).stage(Stage::joined);
  b.design.board.links = {{position_mm(0, 0), position_mm(20, 0), Side::top}};
  const auto board = whole(std::move(b));
  EXPECT_EQ(census(*board), "link 1");
  EXPECT_EQ(board->faults.entries[0].path,
            (std::vector<Position>{position_mm(0, 0), position_mm(20, 0)}));
}

// The pad is soldered over its whole length: a crack in it is spanned.
TEST(FaultList, ACrackWithinAPadIsNoEntry) {
  LittleBoard b;
  b.pad(0, 0, 0, 2.4, 1).record("A", "R1", "1", 0, 0, 1);
  b.surface("A", "R2", "1", 10, 0).track(0, 1, 0, 10, 0, 0.3);
  EXPECT_EQ(census(std::move(b)), "stretch 1");
}

// Pads at x = 0, 2 and 4.3 mm leave gaps of 1 mm and 1.3 mm.
TEST(FaultList, FacingsWithinTheWindowAreBridges) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("B", "R1", "2", 2, 0).surface("C", "R1", "3", 4.3, 0);
  const auto board = whole(std::move(b));
  EXPECT_EQ(census(*board), "bridge 1");
  const expect::PossibleFault& f = board->faults.entries[0];
  EXPECT_EQ(f.width, 1_mm);
  EXPECT_NE(f.piece, f.other);
  EXPECT_LT(mm_to_path(f.path, position_mm(1, 0)), 0.1);
}

TEST(FaultList, TwoNetsThatFaceOnBothSidesAreTwoBridges) {
  LittleBoard b;
  b.through("A", "J1", "1", 0, 0).through("B", "J1", "2", 2.54, 0).stage(Stage::joined);
  EXPECT_EQ(census(std::move(b)), "bridge 2");
}

// Links of chains all the same: what broke off may reach a third net through them.
TEST(FaultList, FacingsOfWhatMayConductAreNoEntries) {
  for (const bool one_net : {true, false}) {
    LittleBoard b;
    b.surface("A", "R1", "1", 0, 0).surface(one_net ? "A" : "B", "R1", "2", 2, 0);
    if (one_net)  // two pieces of it until the holes are joined
      b.through("A", "J1", "1", 0, 9, std::nullopt).track(0, 0, 0, 0, 9, 0.3);
    if (one_net)
      b.through("A", "J1", "2", 9, 9, std::nullopt)
          .track(0, 2, 0, 9, 0, 0.3)
          .track(0, 9, 0, 9, 9, 0.3);
    if (one_net) b.track(1, 0, 9, 9, 9, 0.3);
    if (!one_net) b.design.board.net_ties = {{"A", "B"}};
    const auto board = whole(std::move(b));
    EXPECT_TRUE(of(*board, FaultKind::bridge).empty()) << census(*board);
    ASSERT_FALSE(board->faults.wiring.facings.empty());
    for (const expect::Wiring::Facing& f : board->faults.wiring.facings)
      EXPECT_EQ(f.entry, expect::Wiring::kNone);
  }
}

// Text between two nets: a bridge to it is listed, as half of one between them.
TEST(FaultList, CopperWithoutPointsIsAPieceOfItsOwn) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("B", "R1", "2", 4, 0).track(0, 2, -2, 2, 2, 0.6);
  const auto board = whole(std::move(b));
  EXPECT_EQ(census(*board), "bridge 2");
  const auto bare = [&](std::uint32_t piece) {
    return board->faults.groups_of_piece[piece].empty();
  };
  for (const expect::PossibleFault& f : board->faults.entries)
    EXPECT_NE(bare(f.piece), bare(f.other));
}

TEST(FaultList, PointsAreNodesOfTheSidesTheyHaveCopperOn) {
  const auto b = whole(two_sided());
  const expect::FaultList& list = b->faults;
  const PointId r1 = point(*b, "R1.1"), r2 = point(*b, "R2.1");
  EXPECT_EQ(list.node_of(r1, Side::bottom), expect::Wiring::kNone);
  EXPECT_EQ(list.node_of(r2, Side::top), expect::Wiring::kNone);
  const PointId via = point(*b, "VIA@10.000,0.000");
  EXPECT_NE(list.node_of(via, Side::top), list.node_of(via, Side::bottom));
  EXPECT_EQ(list.points_of_node[list.node_of(r1, Side::top)], std::vector<PointId>{r1});
}

TEST(FaultList, OnlyEtchedCopperCounts) {
  EXPECT_EQ(census(two_sided().stage(Stage::etched_top)), "stretch 1");
  EXPECT_EQ(census(two_sided().stage(Stage::etched_bottom)), "stretch 1");
}

// From R1 out along y = 0, round, and back to R2 along y = `apart`.
LittleBoard hairpin(double apart, double long_mm = 10) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", -3, apart);
  b.track(0, 0, 0, long_mm, 0, 0.3).track(0, long_mm, 0, long_mm, apart, 0.3);
  b.track(0, -3, apart, long_mm, apart, 0.3);
  return b;
}
std::size_t unless_bridged(LittleBoard little) {
  const auto b = whole(std::move(little));
  return static_cast<std::size_t>(
      std::ranges::count_if(b->faults.entries, [](const auto& f) { return f.unless_bridged; }));
}

// A break where the legs meet, and solder between the legs: both ends conduct as they should.
TEST(FaultList, ABreakInAHairpinIsNamedAsExcludedUnlessBridged) {
  EXPECT_EQ(unless_bridged(hairpin(1.5)), 1u);  // 1.2 mm between the legs
}

TEST(FaultList, LegsFartherApartThanTheWindowHideNoBreak) {
  EXPECT_EQ(unless_bridged(hairpin(2.1)), 0u);  // 1.45 mm between pad and track
}

TEST(FaultList, ACornerIsNoHairpin) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 10, 8);
  b.track(0, 0, 0, 10, 0, 0.3).track(0, 10, 0, 10, 8, 0.3);
  EXPECT_EQ(unless_bridged(std::move(b)), 0u);
}

// Sharper than square: the ways across are short, but so is the copper round them.
TEST(FaultList, AnAcuteCornerIsNoHairpin) {
  LittleBoard b;
  b.surface("A", "R1", "1", 0, 0).surface("A", "R2", "1", 3, 7);
  b.track(0, 0, 0, 10, 0, 0.3).track(0, 10, 0, 3, 7, 0.3);
  EXPECT_EQ(unless_bridged(std::move(b)), 0u);
}

// Another net's track between the legs: whatever bridges them bridges it too, and is read.
TEST(FaultList, ANetBetweenTheLegsTellsOfABridgeRoundTheBreak) {
  LittleBoard b = hairpin(1.5);
  b.surface("B", "R3", "1", -3, 3).track(0, -1, 0.75, 9.5, 0.75, 0.3);
  b.track(0, -1, 0.75, -1, -3, 0.3).surface("B", "R4", "1", -1, -3);
  EXPECT_EQ(unless_bridged(std::move(b)), 0u);
}

// Both ends come within the window of one track of a net that is tied to it.
TEST(FaultList, ATiedNetAlongTheTrackCanHideItsBreak) {
  for (const bool tied : {false, true}) {
    LittleBoard b = line();
    b.surface("B", "R3", "1", 0, 2).surface("B", "R4", "1", 10, 2).track(0, 0, 1.2, 10, 1.2, 0.3);
    b.track(0, 0, 1.2, 0, 2, 0.3).track(0, 10, 1.2, 10, 2, 0.3);
    if (tied) b.design.board.net_ties = {{"A", "B"}};
    EXPECT_EQ(unless_bridged(std::move(b)), tied ? 2u : 0u);  // each net's stretch, by the other
  }
}

}  // namespace
}  // namespace isthmus::test
