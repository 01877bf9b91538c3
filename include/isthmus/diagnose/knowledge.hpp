// SPDX-License-Identifier: Apache-2.0
// What is known of a board while it is measured: takes a reading at a time, says what to measure
// next.
#pragma once

#include <memory>

#include "isthmus/diagnose/diagnosis.hpp"
#include "isthmus/plan/predictions.hpp"

namespace isthmus::diagnose {

// Shape   a placement is asked for what the plan has, then for what is in doubt after its
//         readings: repeats, isolation of fragments once an open is known, halving of a failed
//         isolation step down to pairs, the resistance of a bridge. What is asked for beyond the
//         plan joins it, with the next ids. Terminates: each distinct (kind, channels) is asked for
//         at most three times.
// Cost    of take: none that grows with the readings before. Of next beyond the plan: once over the
//         board's wiring and what conducted on it so far, and the placement's own readings.
class Knowledge {
 public:
  Knowledge(const expect::Board& board, plan::Plan plan);
  ~Knowledge();
  Knowledge(const Knowledge&) = delete;
  Knowledge& operator=(const Knowledge&) = delete;

  // What the placement's steps should measure, before they are: plan::Predictions::predict. Gives
  // the steps that have a prediction now.
  std::vector<plan::Step> predict(std::size_t placement, plan::Predictions& predictions,
                                  const std::function<bool()>& stop);
  // Of a step of the plan, in order of arrival.
  void take(const plan::Reading& reading);
  // Of the trial in the air, if one was made: before or after any reading.
  void take(Harness harness);
  // Its wires and tips were heard apart in the air. REQUIRES that none of its readings was taken.
  void tried_in_air(std::size_t placement);
  // What is to be measured now; empty when the placement has told all it can. REQUIRES that what
  // was given before was measured.
  std::vector<plan::Step> next(std::size_t placement);

  [[nodiscard]] const plan::Plan& plan() const;  // what was wanted included
  [[nodiscard]] const std::vector<plan::Reading>& readings() const;
  [[nodiscard]] Diagnosis diagnosis(bool complete) const;  // as diagnose()

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace isthmus::diagnose
