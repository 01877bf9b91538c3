// SPDX-License-Identifier: Apache-2.0
#include "cli/record_options.hpp"

#include <cstdlib>

namespace isthmus::cli {

std::filesystem::path record_file(const std::string& named) {
  if (!named.empty()) return named;
  if (const char* file = std::getenv("ISTHMUS_RECORD"); file && *file) return file;
  const char* data = std::getenv("XDG_DATA_HOME");
  const char* home = std::getenv("HOME");
  const std::filesystem::path base =
      data && *data ? std::filesystem::path(data)
                    : std::filesystem::path(home ? home : ".") / ".local" / "share";
  return base / "isthmus" / "record.db";
}

Result<std::unique_ptr<record::Record>> open_record(const std::filesystem::path& file) {
  std::error_code error;
  if (file.has_parent_path()) std::filesystem::create_directories(file.parent_path(), error);
  return record::Record::open(file);
}

}  // namespace isthmus::cli
