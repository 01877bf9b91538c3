// SPDX-License-Identifier: Apache-2.0
// Predictions made when they are wanted. Oracle: one copper::Field asked for all of them, kept
// whole; what is solved and what is held is counted behind the interface.
#include "isthmus/plan/predictions.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>

#include "tests/support/board_file.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::plan {
namespace {

struct Count {
  std::map<std::size_t, std::size_t> solved;  // by piece: how often
  std::size_t asked{}, most_held{}, held{};
};

class Counting final : public Resistances {
 public:
  Counting(const expect::Board& board, Count& count)
      : field_(board.copper, expect::conducting_barrels(board), expect::foil_of(board),
               copper::Fidelity::quick),
        count_(count) {}
  [[nodiscard]] std::size_t piece_of(IslandId island) const override {
    return field_.piece_of(island);
  }
  std::optional<copper::Predicted> between(const copper::Electrode& a,
                                           const copper::Electrode& b) override {
    const std::size_t before = field_.held();
    auto answer = field_.between(a, b);
    ++count_.asked;
    count_.solved[field_.piece_of(a.island)] += field_.held() - before;
    count_.most_held = std::max(count_.most_held, field_.held());
    return answer;
  }
  void forget() override {
    field_.forget();
    count_.held = field_.held();
  }

 private:
  copper::Field field_;
  Count& count_;
};

using Number = std::array<double, 4>;
std::optional<Number> number(const std::optional<copper::Predicted>& p) {
  if (!p) return std::nullopt;
  return Number{p->ohms.value, p->uncertainty.value, p->mesh.value, p->per_loss};
}

std::vector<std::optional<Number>> numbers(const Plan& plan) {
  std::vector<std::optional<Number>> out;
  for (const Step& s : plan.steps) out.push_back(number(s.predicted));
  return out;
}

// Every continuity step in the plan's order, by one field that forgets nothing.
std::vector<std::optional<Number>> by_one_field(const expect::Board& board, const Plan& plan) {
  copper::Field field(board.copper, expect::conducting_barrels(board), expect::foil_of(board),
                      copper::Fidelity::quick);
  std::vector<std::optional<Number>> out;
  for (const Step& s : plan.steps) {
    std::optional<copper::Predicted> predicted;
    if (s.kind == StepKind::continuity) {
      const auto end = [&](Channel c) {
        const Probe& p = plan.placements[s.placement].probe(c);
        auto e = expect::electrode_at(board, p.point, p.side, plan.tip);
        if (e) e->at = p.at;
        return e;
      };
      const auto a = end(s.source.at(0)), b = end(s.ret.at(0));
      if (a && b) predicted = field.between(*a, *b);
    }
    out.push_back(number(predicted));
  }
  return out;
}

std::unique_ptr<expect::Board> load(const formats::BoardFile& file) {
  Diagnostics notes;
  auto board = expect::load_board(file, notes);
  EXPECT_TRUE(board);
  return std::move(board).value();
}

Plan plan_of(const expect::Board& board, int channels, Nanometres tip = Nanometres{500'000}) {
  Diagnostics notes;
  auto fixture = make_fixture(board, {channels, true}, notes);
  EXPECT_TRUE(fixture);
  fixture->tip_diameter = tip;
  auto plan = make_plan(board, *fixture, {4, {10.0}}, notes);
  EXPECT_TRUE(plan);
  return std::move(plan).value();
}

class PredictionsOnTideGauge : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    auto file = formats::read_board_file(test::source_dir() / "fixtures/tide-gauge/board.yaml");
    ASSERT_TRUE(file);
    board_ = load(*file);
    plan_ = std::make_unique<Plan>(plan_of(*board_, 32));
    all_ = by_one_field(*board_, *plan_);
  }
  static void TearDownTestSuite() {
    plan_.reset();
    board_.reset();
  }
  static inline std::unique_ptr<expect::Board> board_;
  static inline std::unique_ptr<Plan> plan_;
  static inline std::vector<std::optional<Number>> all_;  // its predictions
};

TEST_F(PredictionsOnTideGauge, ThePlanItselfPredictsNothing) {
  EXPECT_GT(plan_->continuity.steps, 100u);
  EXPECT_TRUE(
      std::ranges::none_of(plan_->steps, [](const Step& s) { return s.predicted.has_value(); }));
}

TEST_F(PredictionsOnTideGauge, PlacementByPlacementTheNumbersAreThoseOfOneField) {
  Plan plan = *plan_;
  ASSERT_GT(plan.placements.size(), 2u);
  Count count;
  Predictions predictions(*board_, std::make_unique<Counting>(*board_, count));
  EXPECT_EQ(count.asked, 0u);
  for (std::size_t p = plan.placements.size(); p-- > 0;) predictions.predict(plan, p);
  EXPECT_EQ(numbers(plan), all_);
  EXPECT_GT(count.solved.size(), 40u);
  for (const auto& [piece, times] : count.solved) EXPECT_EQ(times, 1u) << piece;
  EXPECT_EQ(count.most_held, 1u);
  EXPECT_EQ(count.held, 0u);
  const std::size_t asked = count.asked;
  for (std::size_t p = 0; p < plan.placements.size(); ++p)
    EXPECT_TRUE(predictions.predict(plan, p).empty());
  EXPECT_EQ(count.asked, asked);
}

TEST_F(PredictionsOnTideGauge, APlacementHasItsOwnBeforeItIsMeasuredAndTheRestOfItsNetsToo) {
  Plan plan = *plan_;
  Predictions predictions(*board_);
  // The first placement with a net that another conducts over, too.
  std::map<GroupId, std::set<std::size_t>> placements;
  for (const Step& s : plan.steps) {
    if (s.kind == StepKind::continuity) placements[s.groups[0]].insert(s.placement);
  }
  const auto shared =
      std::ranges::find_if(placements, [](const auto& g) { return g.second.size() > 1; });
  ASSERT_NE(shared, placements.end());
  const std::size_t own = *shared->second.begin();
  const std::vector<StepId> told = predictions.predict(plan, own);
  EXPECT_TRUE(std::ranges::is_sorted(told));
  std::set<GroupId> nets;
  for (const Step& s : plan.steps) {
    if (s.placement == own && s.kind == StepKind::continuity) nets.insert(s.groups[0]);
  }
  std::size_t elsewhere = 0;
  for (std::size_t i = 0; i < plan.steps.size(); ++i) {
    const Step& s = plan.steps[i];
    const bool wanted = s.kind == StepKind::continuity && nets.contains(s.groups[0]);
    EXPECT_EQ(number(s.predicted), wanted ? all_[i] : std::nullopt) << index(s.id);
    EXPECT_EQ(std::ranges::binary_search(told, s.id), s.predicted.has_value());
    elsewhere += wanted && s.placement != own;
  }
  EXPECT_GT(elsewhere, 0u);
}

TEST_F(PredictionsOnTideGauge, WhoStopsLeavesWholeNetsForLater) {
  Plan plan = *plan_;
  Count count;
  Predictions predictions(*board_, std::make_unique<Counting>(*board_, count));
  predictions.predict(plan, 0, [&] { return count.solved.size() == 2; });
  EXPECT_EQ(count.solved.size(), 2u);
  predictions.predict(plan);
  EXPECT_EQ(numbers(plan), all_);
  for (const auto& [piece, times] : count.solved) EXPECT_EQ(times, 1u) << piece;
}

// ALPHA: pads of 0.5 mm on a track of 0.3 mm, 10 mm apart; undercut 15 um a side, 35 um of copper,
// 0.4926 mohm a square (IEC 60028). Between the rims of the tips lie 10 mm less a tip's diameter of
// track, or less the pad's 0.47 mm where the tip covers it.
double ohms_of_alpha(const expect::Board& board, Nanometres tip, double off_mm) {
  formats::FixtureFile f;
  f.channels = 2;
  f.contact_check = true;
  f.tip_diameter = tip;
  f.placements = {{"A", Side::top, {}, {}}};
  f.placements[0].probes[1] = {"U1.1", position_mm(2 - off_mm, 2), std::nullopt};
  f.placements[0].probes[2] = {"U2.1", position_mm(12 + off_mm, 2), std::nullopt};
  Diagnostics notes;
  auto plan = make_plan(board, f, {}, notes);
  EXPECT_TRUE(plan) << (plan ? "" : format(plan.problem()));
  EXPECT_EQ(Predictions(board).predict(*plan).size(), 1u);
  const auto step = std::ranges::find(plan->steps, StepKind::continuity, &Step::kind);
  return step->predicted->ohms.value;
}

TEST(Predictions, FollowTheTipsOfTheFixtureAndTheProbesPlaces) {
  const test::SmallBoard small;
  const double square = 1.7241e-8 / 35e-6, width = 0.27;
  const auto track = [&](double mm) { return square * mm / width; };
  const double wide = ohms_of_alpha(small.board(), 600_um, 0);
  EXPECT_NEAR(wide, track(10 - 0.6), track(0.1));
  // A tip of 0.1 mm: in each pad at least a ring of ln(0.47 / 0.1) / 2 pi squares from its rim to the
  // pad's; at most the way there along the track alone, and half a ring to the track's width.
  const double thin = ohms_of_alpha(small.board(), 100_um, 0);
  const double from_pads = track(0.6 - 0.47);
  EXPECT_GT(thin - wide, from_pads + 2 * square * std::log(4.7) / 6.283);
  EXPECT_LT(thin - wide, track(0.6 - 0.1) + 2 * square * std::log(2.7) / 3.142);
  // Each 0.15 mm farther out: as much more way, through the wider pad.
  const double apart = ohms_of_alpha(small.board(), 100_um, 0.15);
  EXPECT_GT(apart - thin, 2 * square * 0.15 / 0.47 / 2);
  EXPECT_LT(apart - thin, track(2 * 0.15) * 1.5);
}

class PredictionsOnRealBoards : public ::testing::TestWithParam<const char*> {};

TEST_P(PredictionsOnRealBoards, TheNumbersAreThoseOfOneField) {
  ISTHMUS_NEEDS_BOARDS(boards);
  const auto board = load(test::board_file(boards, GetParam()));
  Plan plan = plan_of(*board, 32);
  Predictions predictions(*board);
  for (std::size_t p = 0; p < plan.placements.size(); ++p) predictions.predict(plan, p);
  EXPECT_EQ(numbers(plan), by_one_field(*board, plan));
}

INSTANTIATE_TEST_SUITE_P(Boards, PredictionsOnRealBoards,
                         ::testing::Values("ac-coupler", "encoder", "melody"),
                         [](const auto& board) {
                           std::string name(board.param);
                           std::erase(name, '-');
                           return name;
                         });

}  // namespace
}  // namespace isthmus::plan
