// SPDX-License-Identifier: Apache-2.0
// The one loop: measure what is wanted, take the readings in, ask again.
#pragma once

#include "session/measurer.hpp"

namespace isthmus::session {

// What is known so far, as the loop sees it: of a board, or of leads and switches.
class Knowing {
 public:
  virtual ~Knowing() = default;
  // What is to be measured now, after the readings so far; empty: nothing more.
  virtual std::vector<plan::Step> next() = 0;
  // A Problem ends the measuring.
  virtual Result<Done> take(const plan::Step& step, const plan::Reading& reading) = 0;
};

// Until nothing more is wanted, or the measurer has ended.
void measure_what_is_wanted(Measurer& measurer, Knowing& knowing);

}  // namespace isthmus::session
