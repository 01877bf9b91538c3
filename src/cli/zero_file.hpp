// SPDX-License-Identifier: Apache-2.0
// A zero as a file: docs/zero.md.
#pragma once

#include <string>

#include "isthmus/session/zero.hpp"

namespace isthmus::cli {

std::string write_zero(const session::Zero& zero);
// CLI-080: not a zero's file.
Result<session::Zero> read_zero(const std::string& file);
// CLI-081 another adapter or fixture; CLI-082 older than 12 hours, or of the future.
Result<Done> check_zero(const session::Zero& zero, const std::string& adapter_serial,
                        const std::string& fixture_hash, const std::string& now_utc);

std::string now_utc();  // 2026-11-26T19:30:00Z

}  // namespace isthmus::cli
