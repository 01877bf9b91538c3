// SPDX-License-Identifier: Apache-2.0
#include "plan/colouring.hpp"

#include <bit>

namespace isthmus::plan {

std::size_t tests_for(std::size_t colours) {
  return colours <= 1 ? 0 : static_cast<std::size_t>(std::bit_width(colours - 1));
}

}  // namespace isthmus::plan
