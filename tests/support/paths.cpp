// SPDX-License-Identifier: Apache-2.0
// Alone knows the folders by name: the other objects are then the same in every checkout.
#include "tests/support/paths.hpp"

namespace isthmus::test {

std::filesystem::path source_dir() { return ISTHMUS_SOURCE_DIR; }
std::filesystem::path binary_dir() { return ISTHMUS_BINARY_DIR; }

}  // namespace isthmus::test
