// SPDX-License-Identifier: Apache-2.0
// The event stream of the guide, as docs/guide.md has it.
#pragma once

#include <string>

#include "isthmus/session/events.hpp"

namespace isthmus::cli {

// One JSON object in one line, without its end. `page` is its address, empty without one.
std::string event_json(const expect::Board& board, const session::Event& event,
                       const std::string& page);

}  // namespace isthmus::cli
