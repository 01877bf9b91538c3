// SPDX-License-Identifier: Apache-2.0
// A board that is a hand-written resistor netlist.
#pragma once

#include <memory>
#include <optional>

#include "hostsim/bench.hpp"
#include "hostsim/scenario/scenario.hpp"
#include "isthmus/formats/fixture_file.hpp"

namespace isthmus::hostsim {

// Without a fixture, channel k touches the k-th point as written.
// Errors  SIM-021 channel, SIM-022 point not in the network, SIM-023 leak to an unknown node.
Result<std::unique_ptr<Bench>> make_network_bench(const Scenario& scenario,
                                                  std::optional<formats::FixtureFile> fixture);

}  // namespace isthmus::hostsim
