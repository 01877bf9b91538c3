// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>

namespace isthmus::report {

// Breaks lines longer than `width` columns at blanks, the rest indented under where the words
// began. A word longer than a line stays whole. Colour sequences take no columns; a character
// outside ASCII counts as one.
std::string wrapped(const std::string& text, std::size_t width);

}  // namespace isthmus::report
