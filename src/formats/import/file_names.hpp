// SPDX-License-Identifier: Apache-2.0
// What the name of a design file suggests. Common practice, no source.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <utility>

#include "formats/import/claim.hpp"

namespace isthmus::formats {

// What words of the name and its extension say together. Words that say what a layer is for
// outweigh the extension, and that outweighs a bare side; an extension and words that name two
// copper layers say nothing.
struct NameClaim {
  Claim claim;
  std::string contradiction;  // the two that do not agree; `claim` is the one of the words
};
// Of `words`, those of the name without its extension, perhaps without what all its siblings share.
NameClaim claim_of_name(const std::filesystem::path& file, const NameWords& words);
NameClaim claim_of_name(const std::filesystem::path& file);

// Plating and span of a drill file.
std::optional<bool> plating_by_name(const std::filesystem::path& file);
std::optional<std::pair<int, int>> span_by_name(const std::filesystem::path& file);

// The file this one is a backup of, by its name ("top.art,1", "top.gbr~"); nothing for others.
std::optional<std::filesystem::path> backed_up(const std::filesystem::path& file);

}  // namespace isthmus::formats
