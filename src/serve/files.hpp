// SPDX-License-Identifier: Apache-2.0
// The files of the page, as they were when the program was built (src/serve/page/, CMakeLists.txt).
#pragma once

#include <span>
#include <string_view>

namespace isthmus::serve {

struct File {
  std::string_view name;  // "" is the page itself
  const char* type;
  std::string_view text;
};
std::span<const File> page_files();

}  // namespace isthmus::serve
