// SPDX-License-Identifier: Apache-2.0
#include "isthmus/diagnose/knowledge.hpp"

#include <algorithm>

#include "diagnose/by_hand.hpp"
#include "diagnose/facts.hpp"
#include "diagnose/wanted.hpp"
#include "diagnose/wires.hpp"
#include "isthmus/plan/step_maker.hpp"

namespace isthmus::diagnose {

struct Knowledge::State {
  State(const expect::Board& b, plan::Plan p)
      : board(b), plan(std::move(p)), evidence(plan), asked(plan), given(plan.placements.size()) {}

  std::vector<plan::Step> planned(std::size_t placement);
  std::vector<plan::Step> append(std::vector<plan::Step> steps);
  [[nodiscard]] Study study() const {
    return {board, plan, without_feigned(board, plan, readings, harness), harness};
  }

  const expect::Board& board;
  plan::Plan plan;
  std::vector<plan::Reading> readings;
  Evidence evidence;
  Asked asked;
  std::vector<std::size_t> given;  // of each placement's steps
  Harness harness;

  // For what is told and asked meanwhile; the diagnosis fits anew. Of many landings one more changes
  // little, and the fit takes as long as there are landings.
  const Fitted& fit() {
    const std::size_t now = plan.placements.size();
    if (!fit_ || now < fitted_at_ || now > fitted_at_ + fitted_at_ / 16 || now <= kFitEach) {
      fit_ = fitted(board, plan, evidence);
      fitted_at_ = now;
    }
    return *fit_;
  }

 private:
  static constexpr std::size_t kFitEach = 32;
  std::optional<Fitted> fit_;
  std::size_t fitted_at_{};
};

// Those of the plan, and on resuming those that were wanted then. All at once: each time something
// is asked here the adapter waits, which its throughput shows.
std::vector<plan::Step> Knowledge::State::planned(std::size_t placement) {
  const std::vector<std::size_t>& all = asked.in_placement(placement);
  std::vector<plan::Step> steps;
  for (std::size_t& n = given[placement]; n < all.size(); ++n) steps.push_back(plan.steps[all[n]]);
  return steps;
}

std::vector<plan::Step> Knowledge::State::append(std::vector<plan::Step> steps) {
  for (plan::Step& step : steps) {
    step = plan::add_step(plan, std::move(step));
    asked.add(step);
    ++given[step.placement];
  }
  return steps;
}

Knowledge::Knowledge(const expect::Board& board, plan::Plan plan)
    : state_(std::make_unique<State>(board, std::move(plan))) {}

Knowledge::~Knowledge() = default;

std::vector<plan::Step> Knowledge::predict(std::size_t placement, plan::Predictions& predictions,
                                           const std::function<bool()>& stop) {
  std::vector<plan::Step> told;
  for (const StepId id : predictions.predict(state_->plan, placement, stop))
    told.push_back(state_->plan.step(id));
  return told;
}

void Knowledge::take(const plan::Reading& reading) {
  state_->readings.push_back(reading);
  state_->evidence.take(reading);
}

void Knowledge::take(Harness harness) { state_->harness = std::move(harness); }

void Knowledge::tried_in_air(std::size_t placement) {
  state_->plan.placements.at(placement).tried_in_air = true;
}

std::vector<plan::Step> Knowledge::next(std::size_t placement) {
  State& s = *state_;
  if (auto steps = s.planned(placement); !steps.empty()) return steps;
  s.evidence.settle();
  return s.append(wanted_steps({s.board, s.plan, s.evidence, s.asked}, placement));
}

std::size_t Knowledge::land(plan::Placement placement) {
  State& s = *state_;
  s.plan.placements.push_back(std::move(placement));
  s.evidence.grow();
  s.asked.grow(s.plan.placements.size());
  s.given.push_back(0);
  return s.plan.placements.size() - 1;
}

std::vector<plan::Step> Knowledge::append(std::vector<plan::Step> steps) {
  return state_->append(std::move(steps));
}

std::size_t Knowledge::next_block() const { return state_->asked.last_block() + 1; }

void Knowledge::take_back(std::size_t placement, std::string why) {
  state_->plan.placements.at(placement).taken_back = std::move(why);
  state_->evidence.settle();
  state_->evidence.take_back(placement);
}

void Knowledge::rework(std::vector<PointId> points) {
  std::ranges::sort(points);
  state_->plan.reworked.push_back({state_->plan.placements.size(), std::move(points)});
  state_->evidence.rework();
}

Landing Knowledge::landing(std::size_t placement, plan::Channel needle) {
  State& s = *state_;
  s.evidence.settle();
  return landing_of(s.board, s.plan, s.evidence, placement, needle, s.fit());
}

std::vector<plan::Channel> Knowledge::unproven_clips(std::size_t round) {
  state_->evidence.settle();
  return diagnose::unproven_clips(state_->plan, state_->evidence, round);
}

std::vector<WantedTouch> Knowledge::wanted_touches(std::size_t round, bool at_end) const {
  return diagnose::wanted_touches(state_->study(), round, at_end);
}

expect::Facts Knowledge::facts() const { return facts_of(state_->study()); }

std::pair<double, std::size_t> Knowledge::excluded() const {
  Diagnosis d;
  derive_states(state_->study(), false, d);
  return {d.likelihood_excluded, d.cannot_tell.size()};
}

const plan::Plan& Knowledge::plan() const { return state_->plan; }

const std::vector<plan::Reading>& Knowledge::readings() const { return state_->readings; }

Diagnosis Knowledge::diagnosis(bool complete) const {
  return diagnose(state_->board, state_->plan, state_->readings, complete, state_->harness);
}

}  // namespace isthmus::diagnose
