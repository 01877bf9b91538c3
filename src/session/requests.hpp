// SPDX-License-Identifier: Apache-2.0
// Steps of a plan as requests to the adapter, and its answers as readings.
#pragma once

#include <vector>

#include "isthmus/adapter/instrument.hpp"
#include "isthmus/plan/plan.hpp"
#include "isthmus/plan/reading.hpp"
#include "isthmus/session/zero.hpp"

namespace isthmus::session {

// REQUIRES a step the adapter can carry out (check_means). The tag is left to the caller.
adapter::Request request_of(const plan::Step& step, int wires, const adapter::Capabilities& can);

// What is asked for a step. A tip or a net that is to be proven by conducting on four wires is
// asked without its sense switches first: one of those that is stuck would conduct beside the
// board.
std::vector<adapter::Request> requests_of(const plan::Step& step, int wires,
                                          const adapter::Capabilities& can);
// The answer with what was heard without the sense switches taken in: where nothing conducted
// there, or nothing could be read, a value is none.
adapter::Answer confirmed(adapter::Answer answer, const adapter::Answer& without_sense);

// Of a reference asked both ways: the answer that is farther off, or none.
adapter::Answer worse_of(const adapter::Answer& four_wire, const adapter::Answer& two_wire,
                         double nominal);

// Two wires read the switches and leads beside what four wires read. Where two of the same adapter
// differ by more, the sense wires do not hang on what the current runs through: a switch of theirs
// is stuck open, and shows too little.
class ForcePaths {
 public:
  // Ohms. False where the leads would have 2 ohm and a quarter more than the median of those so
  // far (common practice, no source); the first three are taken as they are.
  bool fits(double two_wire, double four_wire);

 private:
  static constexpr double kMostMore = 2;
  static constexpr std::size_t kMost = 255;  // of one adapter they are all alike
  std::vector<double> leads_;
};

plan::Outcome outcome_of(const adapter::Answer& answer, const adapter::Request& request,
                         const adapter::Capabilities& can);

// About how long the adapter works on it.
double seconds_for(const adapter::Request& request, const adapter::Capabilities& can);

// SES-001 to SES-006, SES-020: what the plan relies on and the adapter lacks.
Result<Done> check_means(const plan::Plan& plan, const adapter::Capabilities& can);

// One standard deviation of a reading of this value: docs/record.md, Uncertainties.
double uncertainty_of(double value, const adapter::Request& request,
                      const adapter::Capabilities& can);

// SES-031 where the zero does not know a channel of the plan, or was taken on other wires.
Result<Done> check_zero(const plan::Plan& plan, const std::optional<Zero>& zero);

}  // namespace isthmus::session
