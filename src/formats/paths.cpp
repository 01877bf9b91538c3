// SPDX-License-Identifier: Apache-2.0
#include "formats/paths.hpp"

#include <system_error>

namespace isthmus::formats {
namespace {

std::filesystem::path whole_path(const std::filesystem::path& p) {
  if (p.is_absolute()) return p.lexically_normal();
  std::error_code error;
  const std::filesystem::path here = std::filesystem::current_path(error);
  return error ? p.lexically_normal() : (here / p).lexically_normal();
}

}  // namespace

std::filesystem::path folder_of(const std::filesystem::path& file) {
  return whole_path(file.parent_path() / ".").parent_path();
}

std::filesystem::path seen_from(const std::filesystem::path& folder,
                                const std::filesystem::path& file) {
  const std::filesystem::path whole = whole_path(file);
  const std::filesystem::path way = whole.lexically_relative(folder);
  return way.empty() ? whole : way;
}

}  // namespace isthmus::formats
