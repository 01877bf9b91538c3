// SPDX-License-Identifier: Apache-2.0
#include "cli/guide.hpp"
#include "cli/terminal.hpp"

namespace isthmus::cli {

int run_guide(const GuideOptions& /*o*/, expect::Board& /*board*/, const plan::HandPlan& /*plan*/) {
  return bad_input({"", 0, 0, "CLI-090", "guide only plans so far", "add --plan", ""});
}

}  // namespace isthmus::cli
