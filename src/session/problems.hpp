// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <utility>

#include "isthmus/base/result.hpp"

namespace isthmus::session {

// 0.1 V drives less through a 10 ohm board than the source itself, and hurts no part on it; common
// practice, no source (docs/adapter.md, Cautions).
inline constexpr double kMostBoardVolts = 0.1;

// Nothing of a file: no place to point at.
inline Problem because(Cause cause, std::string code, std::string message, std::string hint) {
  Problem p;
  p.cause = cause;
  p.code = std::move(code);
  p.message = std::move(message);
  p.hint = std::move(hint);
  return p;
}

inline Problem stopped_on_request() {
  return because(Cause::interrupted, "SES-008", "stopped on request", "start again");
}

}  // namespace isthmus::session
