// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "isthmus/base/ensure.hpp"
#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

const Probe& Placement::probe(Channel channel) const {
  const auto found = std::ranges::find(probes, channel, &Probe::channel);
  ENSURE(found != probes.end());
  return *found;
}

const Step& Plan::step(StepId id) const {
  ENSURE(index(id) >= 1 && index(id) <= steps.size());
  return steps[index(id) - 1];
}

}  // namespace isthmus::plan
