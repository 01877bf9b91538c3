// SPDX-License-Identifier: Apache-2.0
// Reads the scenario's `hand:`. Private to hostsim.
#pragma once

#include "hostsim/scenario/hand_draw.hpp"
#include "hostsim/scenario/yaml_keys.hpp"

namespace isthmus::hostsim {

// Defaults where the node is not defined. Throws ScenarioFault.
HandDraw read_hand(const YAML::Node& node, int channels);

}  // namespace isthmus::hostsim
