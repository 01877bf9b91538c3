// SPDX-License-Identifier: Apache-2.0
// A board of copper under the probes.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "hostsim/bench.hpp"
#include "hostsim/copper/board.hpp"
#include "hostsim/scenario/scenario.hpp"
#include "isthmus/formats/fixture_file.hpp"

namespace isthmus::hostsim {

// Reads the scenario's board. Errors: those of the readers, of make_copper_board, SIM-021 channel,
// SIM-025 a probe without a place. What changes nothing is added to `warnings`.
Result<std::unique_ptr<Bench>> make_copper_bench(const Scenario& scenario,
                                                 std::optional<formats::FixtureFile> fixture,
                                                 std::vector<std::string>& warnings);

}  // namespace isthmus::hostsim
