// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>
#include <string>

namespace isthmus::report {

// On one line. What an adapter, a file or an older record says need not be UTF-8: bytes that are not
// become U+FFFD.
inline std::string dumped(const nlohmann::ordered_json& j) {
  return j.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

}  // namespace isthmus::report
