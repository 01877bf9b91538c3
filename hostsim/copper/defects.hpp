// SPDX-License-Identifier: Apache-2.0
// Defects of the scenario, put into the copper.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "hostsim/copper/board.hpp"

namespace isthmus::hostsim {

// The layer a defect names; nothing when the board has none such.
std::optional<std::size_t> layer_of(const Defect& defect, std::size_t layers);

// Opens, bridges and necks. Before nodes are made. A warning for each that changes nothing.
void draw_defect(const Defect& defect, const Grid& grid, LayerMesh& layer,
                 std::vector<std::string>& warnings);

// Nets of the netlist that reach each conductor of the board.
using NetsOfConductor = std::map<int, std::set<std::string>>;

// Whiskers and leaks. After the network is made. A leak between two named nets hangs on their
// nearest copper; where the netlist knows none of the names, on the two nearest conductors.
Result<Done> hang_defect(const Defect& defect, std::size_t layer, const Scenario& scenario,
                         const NetsOfConductor& nets, CopperBoard& board);

}  // namespace isthmus::hostsim
