// SPDX-License-Identifier: Apache-2.0
#include "session/voltage.hpp"

#include <fmt/format.h>

#include <cmath>

namespace isthmus::session {

Result<Done> judge_voltage(const plan::Plan& plan, const plan::Step& step,
                           const plan::Outcome& outcome) {
  const auto* measured = std::get_if<plan::Measured>(&outcome);
  if (measured && std::fabs(measured->value) <= kMostBoardVolts) return Done{};
  const std::string hint =
      "take supply and batteries off the board, let its capacitors discharge, rinse and dry it, "
      "then start "
      "again";
  if (!measured)
    return because(Cause::bench, "SES-009",
                   "the adapter could not tell whether there is a voltage on the board", hint);
  return because(Cause::bench, "SES-007",
                 fmt::format("there are {:.2f} V of its own on the board (placement {}, channel {} "
                             "against channel {})",
                             measured->value, plan.placements[step.placement].name,
                             step.source.empty() ? 0 : step.source.front(),
                             step.ret.empty() ? 0 : step.ret.front()),
                 hint);
}

}  // namespace isthmus::session
