// SPDX-License-Identifier: Apache-2.0
// Options of `guide`, and the pieces it is made of.
#pragma once

#include <string>
#include <vector>

#include "cli/run_options.hpp"
#include "isthmus/plan/hand.hpp"

namespace isthmus::cli {

struct GuideOptions : RunOptions {
  plan::HandMeans means;
  std::string clips, sheet, save;
  std::vector<std::string> struck_out;
  bool plan{false}, force{false}, no_page{false}, open_page{false}, mute{false};
  int port{0};  // of the page; 0: a free one
};

// The clips of --clips, and the points of --cannot-reach.
Result<plan::ClipWish> clip_wish(const expect::Board& board, const GuideOptions& o);

// --save-clips and --clip-sheet.
Result<Done> write_clips(const expect::Board& board, const GuideOptions& o,
                         const plan::HandPlan& plan);

// Measures: opens the adapter, runs, prints and writes what came of it; gives the exit code.
int run_guide(const GuideOptions& o, expect::Board& board, const plan::HandPlan& plan);

}  // namespace isthmus::cli
