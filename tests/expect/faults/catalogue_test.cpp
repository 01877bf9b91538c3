// SPDX-License-Identifier: Apache-2.0
// Every fault set on small wirings, against derive(). Oracle: brute.cpp, which tries the faults;
// what may escape is named in docs/proof.md.
#include <gtest/gtest.h>

#include <algorithm>

#include "tests/expect/faults/judged.hpp"
#include "tests/expect/faults/sketch.hpp"
#include "tests/support/paths.hpp"

namespace isthmus::expect {
namespace {

using test::Case;
using test::catalogue;
using test::EscapeKind;
using test::Exhaustion;
using test::Fewest;
using test::Judged;
using test::Naming;
using test::Pairs;

constexpr std::size_t kMost = 5;  // faults at once

std::string texts(const Judged& judged, EscapeKind kind) {
  std::string out;
  for (const auto& e : judged.escapes) {
    if (e.kind == kind) out += e.text;
  }
  return out;
}

// What would end in a pass, or takes fewer faults than a ring cut twice and bridged twice.
std::string worst(const Judged& judged) {
  std::string out;
  for (const auto& e : judged.escapes) {
    if (e.kind == EscapeKind::plain && (e.set.size() < 4 || !e.elsewhere)) out += e.text;
  }
  return out;
}

Derived good(const Case& c, Pairs pairs = Pairs::all) {
  return derive(c.wiring, Exhaustion(c.wiring, c.touched, pairs).facts({}));
}

std::vector<std::uint32_t> left(const Derived& d) {
  std::vector<std::uint32_t> out;
  for (std::uint32_t e = 0; e < d.state.size(); ++e) {
    if (d.state[e] != FaultState::excluded && d.state[e] != FaultState::harmless) out.push_back(e);
  }
  return out;
}

TEST(Catalogue, IsAsCountedOnPaper) {
  for (const Case& c : catalogue()) {
    const Judged all = judge(c, Pairs::all, kMost), near = judge(c, Pairs::within_window, kMost);
    EXPECT_EQ(all.hide, c.fewest.hide) << c.name;
    EXPECT_EQ(near.hide, c.fewest.in_window) << c.name;
    EXPECT_EQ(all.masked, c.fewest.masked) << c.name;
  }
}

TEST(Catalogue, EverySetThatHidesIsNamedWhereAllNetsAreReadToEachOther) {
  for (const Case& c : catalogue()) {
    const Judged j = judge(c, Pairs::all, kMost);
    EXPECT_EQ(texts(j, EscapeKind::plain), "");
  }
}

TEST(Catalogue, BeyondTheWindowOnlyARingCutTwiceAndBridgedTwiceEscapes) {
  for (const Case& c : catalogue()) {
    const Judged j = judge(c, Pairs::within_window, kMost);
    const std::size_t fewest = c.kind == "ring" ? 4 : Fewest::kNever;
    EXPECT_EQ(j.fewest(EscapeKind::plain), fewest) << texts(j, EscapeKind::plain);
  }
}

TEST(Catalogue, ABreakThatItsOwnOrATiedNetBridgesTakesAsManyFaultsAsThePageSays) {
  for (const Case& c : catalogue()) {
    const Judged j = judge(c, Pairs::all, kMost);
    const std::size_t masked = j.fewest(EscapeKind::masked), on = j.fewest(EscapeKind::on_masked);
    EXPECT_TRUE(masked == Fewest::kNever || masked == c.fewest.masked) << c.name;
    EXPECT_TRUE(on == Fewest::kNever || on > c.fewest.masked) << texts(j, EscapeKind::on_masked);
  }
}

// Of a set of several breaks one is named at least. Those of a ring are harmless alone.
TEST(Catalogue, ABreakThatItsOwnOrATiedNetBridgesIsNamed) {
  std::size_t escapes = 0;
  for (const Case& c : catalogue()) {
    const Exhaustion tried(c.wiring, c.touched, Pairs::all);
    const std::vector<bool> round = bridged_round(c.wiring, {});
    for (const test::Escape& e : judge(c, Pairs::all, kMost).escapes) {
      if (e.kind != EscapeKind::masked || c.kind == "ring") continue;
      ++escapes;
      EXPECT_TRUE(std::any_of(e.set.begin(), e.set.end(), [&](std::size_t i) {
        const auto& entries = tried.primitives()[i].entries;
        return std::any_of(entries.begin(), entries.end(), [&](auto n) { return round[n]; });
      })) << e.text;
    }
  }
  EXPECT_GT(escapes, 0u);
}

// Nothing of the kind in a tree whose net meets no copper but that of others.
TEST(Catalogue, NoBreakIsNamedWhereNothingCanBeBridgedRound) {
  for (const Case& c : test::trees()) {
    if (c.fewest.masked != Fewest::kNever) continue;
    const std::vector<bool> round = bridged_round(c.wiring, {});
    EXPECT_EQ(std::count(round.begin(), round.end(), true), 0) << test::text(c.wiring, c.touched);
  }
}

TEST(Catalogue, NothingIsLeftWhereEveryFeatureIsTouched) {
  for (Case c : catalogue()) {
    for (const auto& touched : {c.features(), c.everything()}) {
      c.touched = touched;
      EXPECT_EQ(left(good(c)), std::vector<std::uint32_t>{}) << c.name;
    }
  }
}

// No board is left incomplete for nothing.
TEST(Catalogue, SomethingIsLeftOnlyWhereSomethingHides) {
  for (const Case& c : catalogue()) {
    for (const Pairs pairs : {Pairs::all, Pairs::within_window}) {
      const bool hides = judge(c, pairs, kMost).hide != Fewest::kNever;
      EXPECT_TRUE(hides || left(good(c, pairs)).empty()) << c.name;
    }
  }
}

TEST(RandomWirings, SomethingIsLeftOnlyWhereSomethingHides) {
  for (std::uint32_t seed = 1; seed <= 300; ++seed) {
    const Case c = test::random_case(seed);
    if (left(good(c)).empty()) continue;
    std::size_t hide = Fewest::kNever;
    for (std::size_t most = 1; most <= 4 && hide == Fewest::kNever; ++most) {
      hide = judge(c, Pairs::all, most).hide;
    }
    EXPECT_NE(hide, Fewest::kNever)
        << c.name << "\n"
        << test::text(c.wiring, c.touched) << ::testing::PrintToString(left(good(c)));
  }
}

TEST(RandomWirings, NameEverySetThatHides) {
  for (std::uint32_t seed = 1; seed <= 300; ++seed) {
    const Case c = test::random_case(seed);
    const std::size_t count = Exhaustion(c.wiring, c.touched, Pairs::all).primitives().size();
    const Judged j = judge(c, Pairs::all, count <= 20 ? 4 : 3);
    EXPECT_EQ(worst(j), "");
  }
}

TEST(RandomWirings, NameEverySetThatHidesOnManyMore) {
  ISTHMUS_SKIP_IF_SLOW(true);
  for (std::uint32_t seed = 1001; seed <= 6000; ++seed) {
    const Case c = test::random_case(seed);
    const std::size_t count = Exhaustion(c.wiring, c.touched, Pairs::all).primitives().size();
    EXPECT_EQ(worst(judge(c, Pairs::all, count <= 20 ? 4 : 3)), "");
  }
}

// As a ring cut twice and bridged twice: docs/proof.md.
TEST(RandomWirings, BeyondTheWindowTakeFourFaultsToEscape) {
  for (std::uint32_t seed = 1; seed <= 300; ++seed) {
    const Judged j = judge(test::random_case(seed), Pairs::within_window, 3);
    EXPECT_EQ(texts(j, EscapeKind::plain), "");
  }
}

// A bridge may be waived by name; a break that it makes up for is named beside it.
TEST(Catalogue, NamesABreakThatHidesByItself) {
  for (const Case& c : catalogue()) {
    const Judged j = judge(c, Pairs::all, kMost, Naming::breaks);
    EXPECT_EQ(texts(j, EscapeKind::plain), "");
  }
}

TEST(RandomWirings, NameABreakThatHidesByItself) {
  for (std::uint32_t seed = 1; seed <= 300; ++seed) {
    EXPECT_EQ(
        texts(judge(test::random_case(seed), Pairs::all, 3, Naming::breaks), EscapeKind::plain),
        "");
  }
}

// Whether a bridge meets copper, on both sides, that the other faults left on a feature.
bool bridges_features(const Case& c, const test::Primitive& fault, const test::Played& played) {
  if (fault.facing == SIZE_MAX) return true;
  const auto on_feature = [&](std::uint32_t end) {
    const auto features = c.features();
    return std::any_of(features.begin(), features.end(),
                       [&](std::uint32_t n) { return played.drawn[n] == played.drawn[end]; });
  };
  const auto& facing = c.wiring.facings[fault.facing];
  return on_feature(facing.a) && on_feature(facing.b);
}

// Two faults at once, where every feature is touched: neither excludes the other.
TEST(RandomWirings, NeverExcludeOneOfTwoFaultsThatAreThere) {
  for (std::uint32_t seed = 1; seed <= 300; ++seed) {
    Case c = test::random_case(seed);
    c.touched = c.features();
    const Exhaustion tried(c.wiring, c.touched, Pairs::all);
    test::each_set(tried.primitives().size(), 2, [&](const std::vector<std::size_t>& set) {
      const auto played = tried.play(set);
      if (played.harm != test::Harm::real) return;
      const Derived d = derive(c.wiring, tried.facts(set));
      for (const std::size_t i : set) {
        const auto& entries = tried.primitives()[i].entries;
        if (entries.size() != 1 || tried.play({i}).harm == test::Harm::none) continue;
        if (!bridges_features(c, tried.primitives()[i], played)) continue;
        const FaultState state = d.state[entries.front()];
        EXPECT_TRUE(state == FaultState::found || state == FaultState::cannot_tell)
            << c.name << ": " << tried.name(set) << "; " << entries.front() << "\n"
            << test::text(c.wiring, c.touched);
      }
    });
  }
}

TEST(RandomWirings, NameEverySetOfFiveThatHides) {
  ISTHMUS_SKIP_IF_SLOW(true);
  for (std::uint32_t seed = 1; seed <= 300; ++seed) {
    const Judged j = judge(test::random_case(seed), Pairs::all, 5);
    EXPECT_EQ(worst(j), "");
  }
}

TEST(RandomWirings, LeaveNothingWhereEverythingIsTouched) {
  for (std::uint32_t seed = 1; seed <= 300; ++seed) {
    Case c = test::random_case(seed);
    c.touched = c.everything();
    EXPECT_EQ(left(good(c)), std::vector<std::uint32_t>{}) << c.name;
  }
}

}  // namespace
}  // namespace isthmus::expect
