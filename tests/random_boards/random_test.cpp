// SPDX-License-Identifier: Apache-2.0
// Random two-sided boards, in process. ISTHMUS_RANDOM_BOARDS: how many (200).
#include <gtest/gtest.h>

#include <cstdlib>
#include <iostream>

#include "isthmus/formats/board_file.hpp"
#include "tests/random_boards/trial.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::random_boards {
namespace {

std::uint64_t boards_wanted() {
  const char* named = std::getenv("ISTHMUS_RANDOM_BOARDS");
  return named == nullptr ? 200 : std::strtoull(named, nullptr, 10);
}

// Oracle: the boards' own graph, which shares no code with the program.
TEST(RandomBoards, NoBadOnePassesAndEveryGoodOneDoes) {
  Tally tally;
  for (std::uint64_t seed = 1; seed <= boards_wanted(); ++seed) {
    const test::TempDir folder;
    const Trial trial = try_seed(seed, folder.path());
    tally.add(trial);
    if (!trial.all_right()) ADD_FAILURE() << in_words(trial);
  }
  std::cout << in_words(tally);
  EXPECT_EQ(tally.false_alarms, 0U);
  EXPECT_EQ(tally.refused + tally.crashed, 0U);
}

// A third on an ideal bench, on a poor one, on a faulty one.
TEST(RandomBoards, OnAPoorOrFaultyBenchNoBadOnePassesAndNoGoodOneIsCalledBad) {
  Tally tally;
  for (std::uint64_t seed = 60001; seed <= 60060; ++seed) {
    const test::TempDir folder;
    const Trial trial = try_seed(seed, folder.path(), 1, Benches::mixed);
    tally.add(trial);
    std::cout << in_words(trial);
  }
  std::cout << in_words(tally);
  EXPECT_EQ(tally.false_passes + tally.false_alarms + tally.refused + tally.crashed, 0U);
  EXPECT_GT(tally.poor.passed, 0U);
}

// Pairs of points of which the two disagree whether they hang together.
std::vector<std::string> disagreements(const RandomBoard& board, const Network& network,
                                       const expect::Board& loaded) {
  std::vector<std::pair<std::string, std::pair<std::size_t, std::size_t>>> pieces;
  for (const expect::Point& p : loaded.expectation.points) {
    if (!p.group) continue;
    const Pt at{static_cast<double>(p.at.x) / 1e6, static_cast<double>(p.at.y) / 1e6};
    const std::size_t layer = p.side == Side::bottom ? 1 : 0;
    for (const Shape& s : board.shapes) {
      if (s.layer != layer || s.node == kNone || length(at - 0.5 * (s.a + s.b)) > 0.001) continue;
      const auto island = index(loaded.expectation.group(*p.group).islands[0]);
      pieces.push_back({p.id, {network.piece_of_node(s.node), island}});
      break;
    }
  }
  std::vector<std::string> out;
  for (const auto& [p, of_p] : pieces) {
    for (const auto& [q, of_q] : pieces) {
      if ((of_p.first == of_q.first) != (of_p.second == of_q.second)) out.push_back(p + " " + q);
    }
  }
  if (pieces.size() < 5) out.emplace_back("hardly any point was found");
  return out;
}

// Oracle: the islands that src/copper makes of the artwork with opens and bridges drawn in.
TEST(RandomBoards, TruthIsThatOfTheFaultyArtwork) {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    const test::TempDir folder;
    const RandomBoard board = make_board(seed);
    std::vector<Fault> faults = faults_of(board);
    std::erase_if(faults, [](const Fault& f) { return f.kind == Fault::Kind::no_join; });
    write_board(board, folder.path(), blots_of(faults));
    Diagnostics notes;
    const auto file = formats::read_board_file(folder.path() / "board.yaml");
    ASSERT_TRUE(file) << seed << ": " << file.problem().message;
    const auto loaded = expect::load_board(*file, notes);
    ASSERT_TRUE(loaded) << seed << ": " << loaded.problem().message;
    EXPECT_EQ(disagreements(board, Network(board, faults), *loaded.value()),
              std::vector<std::string>{})
        << seed;
  }
}

// Two pads above, joined through two wires by a track below; a stub beside. By hand.
RandomBoard two_wires() {
  RandomBoard b;
  b.stage = Stage::joined;
  b.nets = {"N1", "N2"};
  const auto node = [&b](NodeKind kind, std::size_t layer, std::size_t net, std::size_t hole) {
    Node n;
    n.kind = kind, n.layer = layer, n.net = net, n.hole = hole, n.listed = true;
    b.nodes.push_back(n);
  };
  node(NodeKind::pad, 0, 0, kNone), node(NodeKind::ring, 0, 0, 0);     // 0 1
  node(NodeKind::ring, 1, 0, 0), node(NodeKind::ring, 1, 0, 1);        // 2 3
  node(NodeKind::ring, 0, 0, 1), node(NodeKind::pad, 0, 0, kNone);     // 4 5
  node(NodeKind::end, 0, 0, kNone), node(NodeKind::pad, 0, 1, kNone);  // 6 7
  node(NodeKind::ring, 0, 0, 2), node(NodeKind::ring, 1, 0, 2);        // 8 9: below leads nowhere
  b.edges = {
      {0, 1, 0, false}, {2, 3, 1, false}, {4, 5, 2, false}, {5, 6, 3, false}, {5, 8, 4, false}};
  b.holes.resize(3);
  for (std::size_t h = 0; h < 3; ++h) b.holes[h].conducts = true, b.holes[h].net = 0;
  b.holes[0].rings[0] = 1, b.holes[0].rings[1] = 2;
  b.holes[1].rings[0] = 4, b.holes[1].rings[1] = 3;
  b.holes[2].rings[0] = 8, b.holes[2].rings[1] = 9;
  return b;
}
Fault cut(std::size_t edge, double t) {
  Fault f;
  f.kind = Fault::Kind::open;
  f.at = {kNone, edge, t};
  return f;
}
Fault tied(Spot a, Spot b) {
  Fault f;
  f.kind = Fault::Kind::bridge;
  f.at = a, f.to = b;
  return f;
}
Fault missing(std::size_t hole, std::size_t side = kNone) {
  Fault f;
  f.kind = Fault::Kind::no_join;
  f.hole = hole, f.side = side;
  return f;
}
Truth truth(const std::vector<Fault>& faults) { return truth_of(two_wires(), faults).truth; }

// Source of all that follow: the drawing above, by hand.
TEST(Truth, OfACutTrackIsBadAndOfACutStubIsNot) {
  EXPECT_EQ(truth({}), Truth::good);
  EXPECT_EQ(truth({cut(1, 0.5)}), Truth::bad);
  EXPECT_EQ(truth({cut(3, 0.5)}), Truth::good);
}

TEST(Truth, OfABridgeBeyondACutDependsOnTheSideOfTheCut) {
  const Spot pad{7, kNone, 0};
  EXPECT_EQ(truth({cut(3, 0.5), tied({kNone, 3, 0.7}, pad)}), Truth::good);
  EXPECT_EQ(truth({cut(3, 0.5), tied({kNone, 3, 0.3}, pad)}), Truth::bad);
}

TEST(Truth, OfACutThatIsBridgedIsGood) {
  EXPECT_EQ(truth({cut(1, 0.5), tied({kNone, 1, 0.4}, {kNone, 1, 0.6})}), Truth::good);
  EXPECT_EQ(truth({cut(1, 0.3), cut(1, 0.7), tied({kNone, 1, 0.1}, {kNone, 1, 0.5})}), Truth::bad);
}

TEST(Truth, OfAMissingWireIsBadWhereItLeadsOn) {
  EXPECT_EQ(truth({missing(0)}), Truth::bad);
  EXPECT_EQ(truth({missing(1, 0)}), Truth::bad);
  EXPECT_EQ(truth({missing(2)}), Truth::unclear);     // the ring below leads nowhere
  EXPECT_EQ(truth({missing(2, 0)}), Truth::unclear);  // the pin hangs on that ring alone
}

TEST(Truth, OfABridgeToARingThatLeadsNowhereIsUnclear) {
  const Spot ring{9, kNone, 0}, pad{7, kNone, 0};
  EXPECT_EQ(truth({tied(ring, pad)}), Truth::bad);
  EXPECT_EQ(truth({missing(2), tied(ring, pad)}), Truth::unclear);
}

}  // namespace
}  // namespace isthmus::random_boards
