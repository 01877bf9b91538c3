// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace isthmus::random_boards {

// False as long as the program is known to fail here: what it gets wrong is then counted and shown,
// and the test is skipped at its end. docs/random-boards.md has the numbers.
inline constexpr bool kMended = false;

}  // namespace isthmus::random_boards
