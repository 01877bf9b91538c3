// SPDX-License-Identifier: Apache-2.0
#include "isthmus/plan/predictions.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

namespace isthmus::plan {
namespace {

class FieldResistances final : public Resistances {
 public:
  explicit FieldResistances(const expect::Board& board)
      : field_(board.copper, expect::conducting_barrels(board), expect::foil_of(board),
               copper::Fidelity::quick) {}
  [[nodiscard]] std::size_t piece_of(IslandId island) const override {
    return field_.piece_of(island);
  }
  std::optional<copper::Predicted> between(const copper::Electrode& a,
                                           const copper::Electrode& b) override {
    return field_.between(a, b);
  }
  void forget() override { field_.forget(); }

 private:
  copper::Field field_;
};

auto key(const copper::Electrode& e) { return std::tuple(index(e.island), e.at); }

}  // namespace

std::unique_ptr<Resistances> resistances_of(const expect::Board& board) {
  return std::make_unique<FieldResistances>(board);
}

Predictions::Predictions(const expect::Board& board, std::unique_ptr<Resistances> resistances)
    : board_(board), resistances_(std::move(resistances)) {}

Predictions::Predictions(const expect::Board& board) : Predictions(board, resistances_of(board)) {}

std::optional<copper::Electrode> Predictions::electrode(const Plan& plan, const Step& step,
                                                        Channel channel) const {
  const Probe& probe = plan.placements[step.placement].probe(channel);
  auto touched = expect::electrode_at(board_, probe.point, probe.side, plan.tip);
  if (touched) touched->at = probe.at;
  return touched;
}

// Of the steps that were not asked yet, by piece.
std::vector<Predictions::Question> Predictions::questions(const Plan& plan) const {
  std::vector<Question> list;
  for (std::size_t i = 0; i < plan.steps.size(); ++i) {
    const Step& step = plan.steps[i];
    if (step.kind != StepKind::continuity || step.wanted || step.predicted) continue;
    if (i < asked_.size() && asked_[i]) continue;
    const auto from = electrode(plan, step, step.source.at(0));
    const auto to = electrode(plan, step, step.ret.at(0));
    if (!from || !to) continue;
    const std::size_t piece = resistances_->piece_of(from->island);
    if (piece == resistances_->piece_of(to->island)) list.push_back({piece, i, *from, *to});
  }
  std::ranges::stable_sort(list, {}, &Question::piece);
  return list;
}

void Predictions::answer(Plan& plan, Questions questions, std::vector<StepId>& told) {
  using Ends = std::pair<std::tuple<std::size_t, Position>, std::tuple<std::size_t, Position>>;
  std::map<Ends, std::optional<copper::Predicted>> known;  // a pair is often read both ways
  asked_.resize(plan.steps.size());
  for (const Question& q : questions) {
    const auto [it, fresh] = known.try_emplace(std::minmax(key(q.from), key(q.to)));
    if (fresh) it->second = resistances_->between(q.from, q.to);
    plan.steps[q.step].predicted = it->second;
    if (it->second) told.push_back(plan.steps[q.step].id);
    asked_[q.step] = true;
  }
  resistances_->forget();
}

namespace {

// The questions of one piece stand together.
template <class Question, class Take>
void by_piece(const std::vector<Question>& list, Take take) {
  for (std::size_t first = 0, last = 0; first < list.size(); first = last) {
    while (last < list.size() && list[last].piece == list[first].piece) ++last;
    if (!take(std::span(list).subspan(first, last - first))) return;
  }
}

}  // namespace

std::vector<StepId> Predictions::predict(Plan& plan, std::size_t placement,
                                         const std::function<bool()>& stop) {
  std::vector<StepId> told;
  by_piece(questions(plan), [&](Questions of_piece) {
    const bool here = std::ranges::any_of(
        of_piece, [&](const Question& q) { return plan.steps[q.step].placement == placement; });
    if (!here) return true;
    if (stop && stop()) return false;
    answer(plan, of_piece, told);
    return true;
  });
  std::ranges::sort(told);
  return told;
}

std::vector<StepId> Predictions::predict(
    Plan& plan, const std::function<void(std::size_t, std::size_t)>& progress) {
  std::vector<StepId> told;
  const std::vector<Question> list = questions(plan);
  std::size_t done = 0;
  by_piece(list, [&](Questions of_piece) {
    if (progress) progress(done, list.size());
    answer(plan, of_piece, told);
    done += of_piece.size();
    return true;
  });
  std::ranges::sort(told);
  return told;
}

}  // namespace isthmus::plan
