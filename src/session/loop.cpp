// SPDX-License-Identifier: Apache-2.0
#include "session/loop.hpp"

namespace isthmus::session {

void measure_what_is_wanted(Measurer& measurer, Knowing& knowing) {
  while (!measurer.ended()) {
    const std::vector<plan::Step> steps = knowing.next();
    if (steps.empty()) return;
    measurer.measure(steps, [&](const plan::Step& step, const plan::Reading& reading) {
      return knowing.take(step, reading);
    });
  }
}

}  // namespace isthmus::session
