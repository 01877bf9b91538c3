// SPDX-License-Identifier: Apache-2.0
// Where a board.yaml says what turned out wrong later; read again, for messages only.
#pragma once

#include <filesystem>
#include <optional>

#include "isthmus/base/geometry.hpp"

namespace isthmus::formats {

struct Whereabouts {
  int line{}, column{};  // 1-based
};

// Nothing where the description cannot be read, or does not say it (an option did).
std::optional<Whereabouts> where_file_is_named(const std::filesystem::path& board_yaml,
                                               const std::filesystem::path& file);
std::optional<Whereabouts> where_join_is_listed(const std::filesystem::path& board_yaml,
                                                Position at);

}  // namespace isthmus::formats
