// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "isthmus/record/record.hpp"

namespace isthmus::cli {

// The run to continue: the unit's newest, if it broke off and was about the same design, fixture,
// stage, limits and adapter as `head`. Else CLI-053, which says what is not the same.
Result<record::StoredRun> run_to_continue(const record::Record& record,
                                          const record::RunHead& head);

}  // namespace isthmus::cli
