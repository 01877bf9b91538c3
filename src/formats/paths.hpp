// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>

namespace isthmus::formats {

// The folder of a file, absolute; of a file without a name, the working directory. Never throws.
std::filesystem::path folder_of(const std::filesystem::path& file);
// `file` as seen from `folder`; absolute where no relative way exists.
std::filesystem::path seen_from(const std::filesystem::path& folder,
                                const std::filesystem::path& file);

}  // namespace isthmus::formats
