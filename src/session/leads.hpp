// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "isthmus/session/zero.hpp"
#include "session/measurer.hpp"

namespace isthmus::session {

// Takes leads and switches off every resistance. SES-030 where one becomes less than nothing: the
// zero no longer holds. REQUIRES check_zero; both must outlive it.
Correction leads_off(const Zero& zero, const plan::Plan& plan);

}  // namespace isthmus::session
