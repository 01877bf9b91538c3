// SPDX-License-Identifier: Apache-2.0
// The simulated bench's scenario.
#include "hostsim/scenario/scenario.hpp"
#include "tests/fuzz/fuzz.hpp"

using namespace isthmus;
using namespace isthmus::fuzz;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes = text_of(data, size);
  const auto scenario = hostsim::parse_scenario(std::string(bytes), "scenario.yaml");
  if (!scenario) {
    demand_told(scenario.problem(), bytes);
    return 0;
  }
  demand(scenario->board.has_value() != scenario->network.has_value(), "one board lies there");
  demand(scenario->channels >= 1 && scenario->channels <= 256, "the channels are within bounds");
  return 0;
}
