// SPDX-License-Identifier: Apache-2.0
// `isthmus guide` once its clips and touches are planned: the run itself, in words on a terminal.
#pragma once

#include <string>

#include "isthmus/plan/hand.hpp"

namespace isthmus::cli {

struct GuideRunOptions {
  std::string board_file, adapter, unit, record, report;
  bool json{false}, inch{false}, relaxed{false}, mute{false};
};

// Opens the adapter, runs, prints and writes what came of it; gives the exit code.
int run_guide(const GuideRunOptions& options, const expect::Board& board,
              const plan::HandPlan& plan, const plan::HandMeans& means);

}  // namespace isthmus::cli
