// SPDX-License-Identifier: Apache-2.0
// Laws of derive() and its helpers, on the catalogue and on random wirings. Oracle: brute.cpp and
// sketch.cpp, which try every cut.
#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <random>

#include "tests/expect/faults/brute.hpp"
#include "tests/expect/faults/catalogue.hpp"
#include "tests/expect/faults/sketch.hpp"

namespace isthmus::expect {
namespace {

using test::Case;
using test::Exhaustion;
using test::Pairs;

std::vector<Case> many() {
  std::vector<Case> out = test::catalogue();
  for (std::uint32_t seed = 1; seed <= 100; ++seed) out.push_back(test::random_case(seed));
  return out;
}

std::vector<std::pair<std::uint32_t, std::uint32_t>> pairs_of(std::vector<Facts::Two> twos) {
  std::vector<std::pair<std::uint32_t, std::uint32_t>> out;
  for (const auto& t : twos) out.emplace_back(std::min(t.a, t.b), std::max(t.a, t.b));
  std::sort(out.begin(), out.end());
  return out;
}

Facts shuffled(Facts facts, std::mt19937& engine) {
  std::shuffle(facts.touched.begin(), facts.touched.end(), engine);
  for (auto* twos : {&facts.one_piece, &facts.two_pieces}) {
    std::shuffle(twos->begin(), twos->end(), engine);
    for (auto& t : *twos) {
      if (engine() % 2 == 0) std::swap(t.a, t.b);
    }
  }
  return facts;
}

std::vector<std::vector<std::uint32_t>> told_by(const Derived& d) {
  std::vector<std::vector<std::uint32_t>> out;
  for (const auto& t : d.would_tell) out.push_back({t.entry, t.p, t.q});
  return out;
}

TEST(Derive, DoesNotDependOnTheOrderOfFacts) {
  std::mt19937 engine(1);
  for (const Case& c : many()) {
    const Exhaustion tried(c.wiring, c.touched, Pairs::all);
    std::vector<std::vector<std::size_t>> sets = {{}};
    for (std::size_t i = 0; i + 1 < tried.primitives().size(); i += 3) sets.push_back({i, i + 1});
    for (const auto& set : sets) {
      const Facts facts = tried.facts(set);
      const Derived first = derive(c.wiring, facts);
      for (int times = 0; times < 4; ++times) {
        const Derived again = derive(c.wiring, shuffled(facts, engine));
        ASSERT_EQ(again.state, first.state) << c.name << ": " << tried.name(set);
        ASSERT_EQ(again.component, first.component) << c.name;
        ASSERT_EQ(pairs_of(again.contradictions), pairs_of(first.contradictions)) << c.name;
        ASSERT_EQ(told_by(again), told_by(first)) << c.name;
      }
    }
  }
}

// Isolation between all touched places of two pieces says no more than between one of each, where
// the places of each conduct to each other.
TEST(Derive, TakesOneIsolationForTwoPiecesThatHangTogether) {
  for (const Case& c : many()) {
    const Facts all = Exhaustion(c.wiring, c.touched, Pairs::all).facts({});
    Facts few = all;
    few.two_pieces.clear();
    std::vector<std::pair<std::uint32_t, std::uint32_t>> seen;
    for (const auto& t : all.two_pieces) {
      const std::pair pair{c.wiring.nodes[t.a].piece, c.wiring.nodes[t.b].piece};
      if (std::find(seen.begin(), seen.end(), pair) != seen.end()) continue;
      seen.push_back(pair);
      few.two_pieces.push_back(t);
    }
    EXPECT_EQ(derive(c.wiring, few).state, derive(c.wiring, all).state) << c.name;
  }
}

// A long facing meets a pad that is held, and one that nothing holds: as bad as its worst part.
TEST(Derive, TakesAnEntryOfSeveralFacingsForItsWorst) {
  for (const bool held_first : {true, false}) {
    test::Sketch s;
    const auto a = s.piece(), b = s.piece(), c = s.piece();
    const auto a1 = s.pad(a), a2 = s.pad(a), end = s.spot(a), b1 = s.pad(b), c1 = s.pad(c);
    s.track(a1, a2).track(a2, end).face(end, c1);
    const std::pair held{a1, b1}, loose{end, b1};
    held_first ? s.faces({held, loose}) : s.faces({loose, held});
    const Wiring w = s.wiring();
    Facts facts{{a1, a2, b1, c1}, {{a1, a2}}, {{a1, b1}, {a1, c1}}};  // b1 and c1: not read
    EXPECT_EQ(derive(w, facts).state[w.facings.back().entry], FaultState::cannot_tell);
    facts.two_pieces.push_back({b1, c1});
    EXPECT_EQ(derive(w, facts).state[w.facings.back().entry], FaultState::excluded);
  }
}

// One fault alone that harms: its entry, where it has one.
TEST(Derive, NeverExcludesAFaultThatIsThereAlone) {
  for (const Case& c : many()) {
    const Exhaustion tried(c.wiring, c.touched, Pairs::all);
    for (std::size_t i = 0; i < tried.primitives().size(); ++i) {
      const auto& entries = tried.primitives()[i].entries;
      if (entries.size() != 1 || tried.play({i}).harm == test::Harm::none) continue;
      const FaultState state = derive(c.wiring, tried.facts({i})).state[entries.front()];
      EXPECT_TRUE(state == FaultState::found || state == FaultState::cannot_tell)
          << c.name << ": " << tried.name({i}) << "\n"
          << test::text(c.wiring, c.touched);
    }
  }
}

TEST(Derive, FindsAFaultThatIsThereAloneWhereEveryFeatureIsTouched) {
  for (const Case& c : many()) {
    const Exhaustion tried(c.wiring, c.features(), Pairs::all);
    for (std::size_t i = 0; i < tried.primitives().size(); ++i) {
      const auto& entries = tried.primitives()[i].entries;
      if (entries.size() != 1 || tried.play({i}).harm == test::Harm::none) continue;
      EXPECT_EQ(derive(c.wiring, tried.facts({i})).state[entries.front()], FaultState::found)
          << c.name << ": " << tried.name({i}) << "\n"
          << test::text(c.wiring, c.features());
    }
  }
}

bool excludes_any(const Wiring& w, const Derived& d, const std::vector<std::uint32_t>& pieces) {
  const auto concerns = [&](std::uint32_t n) {
    return std::find(pieces.begin(), pieces.end(), w.nodes[n].piece) != pieces.end();
  };
  const auto excluded = [&](std::uint32_t entry) {
    return entry != Wiring::kNone && d.state[entry] == FaultState::excluded;
  };
  return std::any_of(w.edges.begin(), w.edges.end(),
                     [&](const auto& e) { return concerns(e.a) && excluded(e.entry); }) ||
         std::any_of(w.facings.begin(), w.facings.end(), [&](const auto& f) {
           return (concerns(f.a) || concerns(f.b)) && excluded(f.entry);
         });
}

TEST(Derive, ReportsTwoPiecesAgainstOneAndExcludesNothingOfThem) {
  for (const Case& c : many()) {
    const Facts facts = Exhaustion(c.wiring, c.touched, Pairs::all).facts({});
    for (const auto& one : facts.one_piece) {
      Facts against = facts;
      against.two_pieces.push_back(one);
      const Derived d = derive(c.wiring, against);
      EXPECT_FALSE(d.contradictions.empty()) << c.name;
      EXPECT_FALSE(excludes_any(c.wiring, d, {c.wiring.nodes[one.a].piece})) << c.name;
    }
    for (const auto& two : facts.two_pieces) {
      Facts against = facts;
      against.one_piece.push_back(two);
      const Derived d = derive(c.wiring, against);
      EXPECT_FALSE(d.contradictions.empty()) << c.name;
      EXPECT_FALSE(
          excludes_any(c.wiring, d, {c.wiring.nodes[two.a].piece, c.wiring.nodes[two.b].piece}))
          << c.name;
    }
  }
}

// Where every feature can be touched all is told; of a track to one that cannot be, nothing tells.
TEST(Derive, NoTouchTellsOfWhatOnlyUntouchableCopperHangsOn) {
  for (const Case& c : many()) {
    const bool all = std::ranges::all_of(
        c.wiring.nodes, [](const Wiring::Node& n) { return n.place || !n.feature; });
    const std::vector<bool> untold = told_by_no_touch(c.wiring);
    ASSERT_EQ(untold.size(), c.wiring.entries);
    if (!all) continue;
    EXPECT_EQ(std::ranges::count(untold, true), 0) << c.name;
  }
  Wiring w;  // touched, touched, inner; in a row
  w.nodes = {{0, true, true}, {0, true, true}, {0, true, false}};
  w.edges = {{0, 1, 0}, {1, 2, 1}};
  w.kin = {0};
  w.entries = 2;
  EXPECT_EQ(told_by_no_touch(w), (std::vector<bool>{false, true}));
}

TEST(Derive, NamesWhatWouldTellOfEachEntryThatCannotBeTold) {
  for (const Case& c : many()) {
    const Derived d = derive(c.wiring, Exhaustion(c.wiring, c.touched, Pairs::all).facts({}));
    std::vector<std::uint32_t> told, cannot;
    for (const auto& t : d.would_tell) told.push_back(t.entry);
    for (std::uint32_t e = 0; e < d.state.size(); ++e) {
      if (d.state[e] == FaultState::cannot_tell) cannot.push_back(e);
    }
    EXPECT_EQ(told, cannot) << c.name;
  }
}

// Some touches uncover what another must tell: round by round.
TEST(Derive, LeavesNothingWhenAllTouchesItNamesAreMade) {
  for (Case c : many()) {
    std::vector<std::vector<std::uint32_t>> told = {{}};
    while (!told.empty()) {
      const std::size_t before = c.touched.size();
      const Exhaustion tried(c.wiring, c.touched, Pairs::all);
      told = told_by(derive(c.wiring, tried.facts({})));
      for (const auto& t : told) {
        for (const auto n : {t[1], t[2]}) {
          ASSERT_LT(n, c.wiring.nodes.size()) << c.name;
          const bool known = std::find(c.touched.begin(), c.touched.end(), n) != c.touched.end();
          if (!known) c.touched.push_back(n);
        }
      }
      ASSERT_TRUE(told.empty() || c.touched.size() > before)
          << c.name << ": " << ::testing::PrintToString(told) << "\n"
          << test::text(c.wiring, c.touched);
    }
  }
}

// One net, touched from the top in one placement and from the bottom in another: whether it is one
// piece, by current that must have run through the board.
class Sides {
 public:
  using Node = test::Sketch::Node;
  Sides() : net_(s.piece()) {}
  Node pad() { return s.pad(net_); }
  Node copper() { return s.spot(net_); }
  // A hole between copper on top and copper at the bottom: its places above and below.
  std::pair<Node, Node> hole(Node top, Node bottom) {
    const std::pair ends{s.spot(net_), s.spot(net_)};
    s.track(top, ends.first).join(ends.first, ends.second).track(ends.second, bottom);
    return ends;
  }
  [[nodiscard]] bool together(const std::vector<Node>& top, const std::vector<Node>& bottom) const {
    Facts facts;
    for (const auto* side : {&top, &bottom}) {
      for (const Node n : *side) {
        facts.touched.push_back(n);
        facts.one_piece.push_back({side->front(), n});
      }
    }
    const auto component = derive(s.wiring(), facts).component;
    return component[top.front()] == component[bottom.front()];
  }
  test::Sketch s;

 private:
  test::Sketch::Piece net_;
};

TEST(Sides, TouchingBothEndsOfOneHoleInTurnProvesNothingOfItsJoin) {
  Sides t;
  const auto r1 = t.pad(), r2 = t.pad();
  const auto via = t.hole(r1, r2);
  EXPECT_FALSE(t.together({r1, via.first}, {via.second, r2}));
}

TEST(Sides, CurrentThatMustRunBelowProvesTheJoins) {
  Sides t;
  const auto r1 = t.pad(), r2 = t.pad(), r3 = t.pad();
  t.hole(r1, r2);
  t.hole(r3, r2);
  EXPECT_TRUE(t.together({r1, r3}, {r2}));
  EXPECT_FALSE(t.together({r1}, {r2}));  // nothing ran anywhere
}

TEST(Sides, CurrentThatHasAnotherWayProvesNothing) {
  Sides t;
  const auto r1 = t.pad(), r2 = t.pad(), r3 = t.pad(), below = t.copper();
  for (const auto bottom : {r2, below}) {
    t.hole(r1, bottom);
    t.hole(r3, bottom);
  }
  EXPECT_FALSE(t.together({r1, r3}, {r2}));
}

TEST(Sides, PlaneThatBothSidesNeedTiesThem) {
  Sides t;
  const auto r1 = t.pad(), r2 = t.pad(), r3 = t.pad(), r4 = t.pad(), plane = t.copper();
  for (const auto pad : {r1, r2, r3, r4}) t.hole(pad, plane);
  EXPECT_TRUE(t.together({r1, r2}, {r3, r4}));
  EXPECT_FALSE(t.together({r1}, {r3, r4}));
}

TEST(Ways, AreAsManyAsTheFewestCuts) {
  for (const Case& c : many()) {
    for (const auto n : c.features()) {
      const std::uint32_t fewest = test::fewest_ways_to(c.wiring, n);
      if (fewest == Wiring::kNone) continue;
      EXPECT_EQ(ways_to(c.wiring, n, 9), fewest) << c.name << ": " << n;
      EXPECT_EQ(ways_to(c.wiring, n, 1), std::min(fewest, 1u)) << c.name << ": " << n;
    }
  }
}

// Hangs on a touched node of its piece whichever one edge is lost.
bool hangs(const Case& c, std::uint32_t node) {
  const auto reaches = [&](const std::vector<bool>& lost) {
    std::vector<bool> met(c.wiring.nodes.size());
    for (const auto t : c.touched) met[t] = true;
    for (std::size_t round = 0; round < met.size(); ++round) {
      for (std::size_t e = 0; e < lost.size(); ++e) {
        if (lost[e]) continue;
        const auto a = c.wiring.edges[e].a, b = c.wiring.edges[e].b;
        met[a] = met[b] = met[a] || met[b];
      }
    }
    return static_cast<bool>(met[node]);
  };
  for (std::size_t e = 0; e < c.wiring.edges.size(); ++e) {
    std::vector<bool> lost(c.wiring.edges.size());
    lost[e] = true;
    if (!reaches(lost)) return false;
  }
  return reaches(std::vector<bool>(c.wiring.edges.size()));
}

TEST(HeldCopper, HangsOnATouchedPlaceWhicheverEdgeIsLost) {
  for (const Case& c : many()) {
    const auto is_join = [](const Wiring::Edge& e) { return e.join; };
    if (std::any_of(c.wiring.edges.begin(), c.wiring.edges.end(), is_join)) continue;
    const Facts facts = Exhaustion(c.wiring, c.touched, Pairs::all).facts({});
    const auto held = held_copper(c.wiring, facts);
    for (std::uint32_t n = 0; n < held.size(); ++n) {
      EXPECT_EQ(held[n] != Wiring::kNone, hangs(c, n)) << c.name << ": " << n << "\n"
                                                       << test::text(c.wiring, c.touched);
    }
  }
}

}  // namespace
}  // namespace isthmus::expect
