// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "record/sql.hpp"

namespace isthmus::record {

inline constexpr int kSchemaVersion = 6;

// Checks that the file is ours, creates the tables in an empty one and brings an older one up to
// date. REC-001, REC-002, REC-003.
void prepare_schema(Sql& sql, const std::filesystem::path& file);

}  // namespace isthmus::record
