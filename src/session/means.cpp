// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "session/problems.hpp"
#include "session/requests.hpp"

namespace isthmus::session {
namespace {

using adapter::Capabilities;

plan::Channel highest_channel(const plan::Step& step) {
  plan::Channel highest = std::max(step.sense_high, step.sense_low);
  for (const plan::Channel c : step.source) highest = std::max(highest, c);
  for (const plan::Channel c : step.ret) highest = std::max(highest, c);
  return highest;
}

Result<Done> check_step(const plan::Step& step, const Capabilities& can) {
  if (highest_channel(step) > can.channels) {
    return because(Cause::input, "SES-001",
                   fmt::format("the fixture uses channel {}; the adapter has {}",
                               highest_channel(step), can.channels),
                   "make a fixture for this adapter: isthmus fixture BOARD --channels " +
                       std::to_string(can.channels));
  }
  if (step.by_check() && !can.contact_check) {
    return because(Cause::input, "SES-003",
                   "the fixture relies on a contact check; the adapter has none",
                   "make the fixture without --contact-check: it then has twin tips");
  }
  if (step.volts.value > can.voltage_v) {
    return because(Cause::input, "SES-004",
                   fmt::format("the test voltage is {:G} V; the adapter gives at most {:G} V",
                               step.volts.value, can.voltage_v),
                   fmt::format("set limits: {{voltage: {:G} V}} in board.yaml", can.voltage_v));
  }
  if (step.kind == plan::StepKind::isolation && step.limit.value > can.ohms_max) {
    return because(
        Cause::input, "SES-005",
        fmt::format("the isolation limit is {:G} ohm; the adapter tells at most {:G} ohm from "
                    "infinity",
                    step.limit.value, can.ohms_max),
        "lower limits: isolation in board.yaml, or use another adapter");
  }
  if (step.kind == plan::StepKind::reference &&
      (step.reference < 1 || static_cast<std::size_t>(step.reference) > can.references.size())) {
    return because(Cause::input, "SES-006",
                   fmt::format("the plan uses reference {}; the adapter has {}", step.reference,
                               can.references.size()),
                   "plan again for this adapter");
  }
  return Done{};
}

// A limit that the adapter cannot place to within a quarter of itself decides nothing (two standard
// deviations, as the verdict keeps from it; common practice, no source).
Result<Done> check_limit(const plan::Step& step, int wires, const Capabilities& can) {
  const bool decides = step.limit.value > 0 && !plan::is_control(step.kind) && !step.by_check();
  if (!decides) return Done{};
  const auto request = request_of(step, wires, can);
  const double spread = 2 * uncertainty_of(step.limit.value, request, can);
  if (spread <= step.limit.value / 4) return Done{};
  const bool isolation = step.kind == plan::StepKind::isolation;
  return because(
      Cause::input, "SES-020",
      fmt::format("the {} limit of {:.3G} ohm is uncertain by {:.2G} ohm with this adapter, more "
                  "than a quarter of it",
                  isolation ? "isolation" : "continuity", step.limit.value, spread),
      isolation
          ? fmt::format("its open switches leak {:.2G} A in all: raise limits: voltage (it gives "
                        "{:G} V), lower limits: isolation, or use fewer channels",
                        can.leakage_a * can.channels, can.voltage_v)
          : fmt::format("its noise of {:.2G} V is too much for a current of {:.2G} A: raise tips: "
                        "current in the fixture, or limits: continuity",
                        can.noise_v, can.source_a));
}

}  // namespace

Result<Done> check_means(const plan::Plan& plan, const Capabilities& can) {
  if (plan.wires > can.wires) {
    return because(
        Cause::input, "SES-002",
        fmt::format("the plan is for {} wires; the adapter has {}", plan.wires, can.wires),
        "plan again for this adapter");
  }
  for (const plan::Step& step : plan.steps) {
    if (auto fits = check_step(step, can); !fits) return fits;
    if (auto sharp = check_limit(step, plan.wires, can); !sharp) return sharp;
  }
  return Done{};
}

Result<Done> check_zero(const plan::Plan& plan, const std::optional<Zero>& zero) {
  if (!zero) return Done{};
  const std::string hint = "take it anew: isthmus zero";
  if (zero->wires != plan.wires)
    return because(Cause::input, "SES-031",
                   fmt::format("the zero was taken on {} wires", zero->wires), hint);
  for (const plan::Placement& placement : plan.placements) {
    for (const plan::Probe& probe : placement.probes) {
      if (placement.probes.size() < 2 ||
          ohms_of(*zero, placement.name, probe.channel, probe.channel))
        continue;
      return because(Cause::input, "SES-031",
                     fmt::format("the zero does not know channel {} of placement {}", probe.channel,
                                 placement.name),
                     hint);
    }
  }
  return Done{};
}

}  // namespace isthmus::session
