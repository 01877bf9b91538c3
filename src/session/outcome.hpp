// SPDX-License-Identifier: Apache-2.0
// How a run ends, in the record and for its caller.
#pragma once

#include "isthmus/diagnose/knowledge.hpp"
#include "isthmus/session/session.hpp"
#include "session/measurer.hpp"

namespace isthmus::session {

struct Finished {
  record::RunId run{};
  std::size_t placements{};
  bool complete{};
};
// Diagnoses what is known, and closes the run in the record.
Outcome close_run(record::Record& record, const Finished& finished,
                  const diagnose::Knowledge& knowledge, const Measurer& measurer);

}  // namespace isthmus::session
