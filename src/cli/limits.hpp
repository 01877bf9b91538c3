// SPDX-License-Identifier: Apache-2.0
// Limits beyond which a verdict proves little.
#pragma once

#include <optional>

#include "isthmus/expect/board.hpp"

namespace isthmus::cli {

// How the remark begins that marks such a verdict, in the record too.
inline constexpr const char* kRelaxedRemark = "RELAXED LIMITS";

// CLI-050, unless --relaxed was given.
std::optional<Problem> too_lax(const expect::Board& board);

// CLI-051, whatever was given: a test voltage beyond what an adapter may put on a board.
std::optional<Problem> unsafe(const expect::Board& board);

}  // namespace isthmus::cli
