// SPDX-License-Identifier: Apache-2.0
#include "session/leads.hpp"

#include <fmt/format.h>

#include "session/problems.hpp"

namespace isthmus::session {

Correction leads_off(const Zero& zero, const plan::Plan& plan) {
  return [&zero, &plan](const plan::Step& step, plan::Reading& reading) -> Result<Done> {
    auto* measured = std::get_if<plan::Measured>(&reading.outcome);
    if (!step.is_resistance() || !measured) return Done{};
    const auto ohms =
        ohms_of(zero, plan.placements[step.placement].name, step.source.at(0), step.ret.at(0));
    ENSURE(ohms);  // check_zero looked
    *measured = zeroed(*measured, *ohms, zero, plan.contact);
    if (!voids(*measured, plan.contact, plan.contact_spread)) return Done{};
    return because(
        Cause::bench, "SES-030",
        fmt::format("channels {} and {} read {:.3f} ohm less than nothing with their zero "
                    "taken off: it no longer holds",
                    step.source[0], step.ret[0], -measured->value),
        "take the zero anew (isthmus zero), or test without --zero");
  };
}

}  // namespace isthmus::session
