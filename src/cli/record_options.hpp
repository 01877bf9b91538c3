// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <memory>
#include <string>

#include "isthmus/record/record.hpp"

namespace isthmus::cli {

// `named`, else ISTHMUS_RECORD, else $XDG_DATA_HOME/isthmus/record.db (XDG Base Directory
// Specification).
std::filesystem::path record_file(const std::string& named);

// Creates the folder it lies in.
Result<std::unique_ptr<record::Record>> open_record(const std::filesystem::path& file);

}  // namespace isthmus::cli
