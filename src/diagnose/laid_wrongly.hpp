// SPDX-License-Identifier: Apache-2.0
// Placements whose readings speak of the laying, not of the board.
#pragma once

#include <string>
#include <vector>

#include "diagnose/findings.hpp"

namespace isthmus::diagnose {

struct Suspicion {
  std::size_t placement{};
  std::string words;  // "placement B seems to be laid wrongly: the readings fit it turned by 180
                      // degrees"
};

// For each placement the faults are counted that the board must have for the readings to be as they
// are: tips without contact (or with, over bare laminate), pieces that fell apart, pieces that
// conduct to each other. The same is counted for each likely wrong laying and for each two channels
// swapped. A placement is suspected when a wrong laying leaves at most a third of at least four
// faults; when a swap explains four (a swap with a pad that conducts to nothing explains two at
// most, and stays a finding); or when more than a third of its tips, and at least four, touch
// nothing.
std::vector<Suspicion> laid_wrongly(const Study& s);

// A remark for each other placement in which a swap of two channels would explain two or three
// faults: they stay findings, as an open and a bridge of neighbours read the same.
std::vector<std::string> perhaps_exchanged(const Study& s,
                                           const std::vector<Suspicion>& suspicions);

}  // namespace isthmus::diagnose
