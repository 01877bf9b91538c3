// SPDX-License-Identifier: Apache-2.0
// Several files that claim one layer: which of them it is.
#pragma once

#include <vector>

#include "isthmus/formats/recognise.hpp"

namespace isthmus::formats {

// 0 the file says so, 1 its name does, 2 its name does by a side alone, 3 free text in it does.
int rank_of(const Recognised& file);

bool same_bytes(const Recognised& a, const Recognised& b);

struct Contest {
  enum class How { same_bytes, weaker, older, equal };
  struct Loser {
    const Recognised* file;
    How how;
  };
  const Recognised* winner{nullptr};
  std::vector<Loser> losers;
};

// The more telling claim wins; among equals the same bytes are one file, and the newer goes before
// the older where both carry their date.
Contest contest_of(std::vector<const Recognised*> claims);

}  // namespace isthmus::formats
