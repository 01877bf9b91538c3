// SPDX-License-Identifier: Apache-2.0
// What the campaign takes for true, against the demo's own faults: fixtures/tide-gauge says where
// they were drawn and what they part.
#include <gtest/gtest.h>

#include "tests/hand/etched.hpp"
#include "tests/support/paths.hpp"

namespace isthmus::hand_runs {
namespace {

using hostsim::Defect;
using hostsim::DefectKind;

const EtchedBoard& demo() {
  static const EtchedBoard board(test::source_dir() / "fixtures" / "tide-gauge" / "board.yaml");
  return board;
}

TEST(TruthOfDefects, OfNoneIsGood) {
  EXPECT_EQ(demo().truth_of({}).kind, Truth::Kind::good);
  EXPECT_GT(demo().places(), 200u);
}

TEST(TruthOfDefects, IsDrawnTheSameForTheSameSeed) {
  for (std::uint64_t seed = 0; seed < 5; ++seed)
    EXPECT_EQ(in_yaml(demo().draw(seed)), in_yaml(demo().draw(seed)));
  EXPECT_NE(in_yaml(demo().draw(1)), in_yaml(demo().draw(2)));
}

// fixtures/tide-gauge/bench-joined.yaml: "no-join, at: [39.800, 19.500]   # SCL".
TEST(TruthOfDefects, NamesTheNetOfAMissingJoin) {
  Defect d;
  d.kind = DefectKind::no_join;
  d.at = position_mm(39.8, 19.5);
  const Truth truth = demo().truth_of({d});
  EXPECT_EQ(truth.kind, Truth::Kind::bad);
  EXPECT_EQ(truth.open, std::set<std::string>{"SCL"});
  EXPECT_TRUE(truth.bridged.empty());
}

TEST(TruthOfDefects, IsMostlyHarm) {
  int bad = 0, none = 0;
  for (std::uint64_t seed = 0; seed < 8; ++seed) {
    const auto defects = demo().draw(seed);
    none += defects.empty() ? 1 : 0;
    bad += demo().truth_of(defects).kind == Truth::Kind::bad ? 1 : 0;
  }
  EXPECT_GE(bad, 4);
  EXPECT_GE(none, 1);
}

}  // namespace
}  // namespace isthmus::hand_runs
