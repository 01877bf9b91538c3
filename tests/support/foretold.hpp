// SPDX-License-Identifier: Apache-2.0
// A plan as a run has it once every placement was laid: with what its steps should measure.
#pragma once

#include "isthmus/plan/predictions.hpp"

namespace isthmus::test {

inline Result<plan::Plan> foretold_plan(const expect::Board& board,
                                        const formats::FixtureFile& fixture,
                                        const plan::Means& means, Diagnostics& notes) {
  auto plan = plan::make_plan(board, fixture, means, notes);
  if (plan) plan::Predictions(board).predict(*plan);
  return plan;
}

}  // namespace isthmus::test
