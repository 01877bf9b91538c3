// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

namespace isthmus::cli {

// adapters --check ADDRESS --thorough: every clause of the contract, as a table or as JSON. Gives
// the exit code: 0 all hold, 1 some do not, 2 no such address, 3 the link failed, 4 the board has a
// voltage of its own.
int check_thoroughly(const std::string& address, const std::string& fixture, bool json);

}  // namespace isthmus::cli
