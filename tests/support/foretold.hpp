// SPDX-License-Identifier: Apache-2.0
// A plan as a run has it once every placement was laid: with what its steps should measure.
#pragma once

#include <gtest/gtest.h>

#include "isthmus/plan/predictions.hpp"

namespace isthmus::test {

inline Result<plan::Plan> foretold_plan(const expect::Board& board,
                                        const formats::FixtureFile& fixture,
                                        const plan::Means& means, Diagnostics& notes) {
  auto plan = plan::make_plan(board, fixture, means, notes);
  if (plan) plan::Predictions(board).predict(*plan);
  return plan;
}

// The plan of the fixture that is made for such an adapter, with one reference of 10 ohm.
inline plan::Plan plan_for(const expect::Board& board, const plan::FixtureWish& wish) {
  Diagnostics notes;
  const auto fixture = plan::make_fixture(board, wish, notes);
  EXPECT_TRUE(fixture) << format(fixture.problem());
  if (!fixture) return {};
  auto plan = foretold_plan(board, *fixture, {4, {10.0}}, notes);
  EXPECT_TRUE(plan) << format(plan.problem());
  return plan ? std::move(*plan) : plan::Plan{};
}

}  // namespace isthmus::test
