// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <filesystem>
#include <map>
#include <string>

#include "isthmus/base/result.hpp"

namespace isthmus::formats {

struct ZipLimits {
  std::size_t files{200}, bytes{256u << 20};
};

using ZipFiles = std::map<std::string, std::string>;  // name in the archive, bytes

// All of it, in memory. Errors IMP-002..IMP-004.
Result<ZipFiles> read_zip(const std::filesystem::path& archive, const ZipLimits& limits = {});

// Unpacks into a folder of the archive's name under `work`: whole or not at all. A folder that
// already holds the same files is used as it is. Errors IMP-002..IMP-004, IMP-009.
Result<std::filesystem::path> unpack_zip(const std::filesystem::path& archive,
                                         const std::filesystem::path& work,
                                         const ZipLimits& limits = {});

}  // namespace isthmus::formats
