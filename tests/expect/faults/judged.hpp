// SPDX-License-Identifier: Apache-2.0
// Holds what derive() makes of a small wiring against every set of faults.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "tests/expect/faults/brute.hpp"
#include "tests/expect/faults/catalogue.hpp"

namespace isthmus::test {

// Sets of faults that hide although no entry that names one of them cannot be told. Of these:
enum class EscapeKind {
  masked,     // bridges within one or a tied net do the harm undone: named, not blocking
  on_masked,  // holds a masked set, and parts more behind it
  plain,      // anything else
};

struct Escape {
  EscapeKind kind{};
  std::vector<std::size_t> set;  // of Exhaustion::primitives()
  bool elsewhere{};              // another entry cannot be told, so the run would not pass
  std::string text;              // the faults, and the wiring
};

struct Judged {
  std::size_t masked{Fewest::kNever}, hide{Fewest::kNever};
  std::vector<Escape> escapes;  // smallest first; no set that holds another of its kind

  // Faults of the smallest such set.
  [[nodiscard]] std::size_t fewest(EscapeKind kind) const;
};

// Entries that name a set: those of its faults, and those that speak of a feature it parts from
// another, or from a touched place.
enum class Naming {
  all,
  breaks,  // of sets that part features, all but the bridges
};

Judged judge(const Case& c, Pairs pairs, std::size_t most, Naming naming = Naming::all);

}  // namespace isthmus::test
