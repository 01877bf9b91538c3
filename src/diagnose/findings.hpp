// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "diagnose/excess.hpp"
#include "diagnose/isolation.hpp"
#include "diagnose/landings.hpp"

namespace isthmus::diagnose {

// Everything the assembling of a diagnosis needs, built once from the readings.
struct Study {
  Study(const expect::Board& board, const plan::Plan& plan, std::span<const plan::Reading> readings,
        Harness harness = {});
  const expect::Board& board;
  const plan::Plan& plan;
  Harness harness;  // with what the readings themselves tell of it
  Evidence evidence;
  TouchedNodes nodes;
  Fragments fragments;
  std::vector<Isolation> isolation;  // by placement
  Landings landings;                 // what they say together
  Fitted fitted;
};

std::vector<Finding> open_findings(const Study& s);
std::vector<Finding> resistance_findings(const Study& s);
// Nets whose pieces conduct to each other before anything is listed that joins them.
std::set<std::string> joined_early(const Study& s);
// Bridges and leakages.
std::vector<Finding> isolation_findings(const Study& s);

std::vector<std::string> names_of(const expect::Board& board, const std::vector<PointId>& points);

}  // namespace isthmus::diagnose
