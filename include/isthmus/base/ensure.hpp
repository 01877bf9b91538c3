// SPDX-License-Identifier: Apache-2.0
// ENSURE: an always-on check of our own invariants. Throws OurBug, caught in main alone (exit 70).
#pragma once

#include <stdexcept>
#include <string>

namespace isthmus {

class OurBug : public std::logic_error {
 public:
  using std::logic_error::logic_error;
};

[[noreturn]] void report_bug(const char* condition, const char* file, int line);

}  // namespace isthmus

#define ENSURE(condition) \
  ((condition) ? static_cast<void>(0) : ::isthmus::report_bug(#condition, __FILE__, __LINE__))
