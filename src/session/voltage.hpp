// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "isthmus/plan/plan.hpp"
#include "isthmus/plan/reading.hpp"
#include "session/problems.hpp"

namespace isthmus::session {

// SES-007, SES-009: a voltage of its own on the board, or none that could be told.
Result<Done> judge_voltage(const plan::Plan& plan, const plan::Step& step,
                           const plan::Outcome& outcome);

}  // namespace isthmus::session
