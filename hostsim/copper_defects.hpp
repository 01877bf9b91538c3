// SPDX-License-Identifier: Apache-2.0
// Defects of the scenario, put into the copper.
#pragma once

#include "copper_board.hpp"

namespace isthmus::hostsim {

// The layer a defect names; nothing when the board has none such.
std::optional<std::size_t> layer_of(const Defect& defect, std::size_t layers);

// Opens, bridges and necks. Before nodes are made. A warning for each that changes nothing.
void draw_defect(const Defect& defect, const Grid& grid, LayerMesh& layer,
                 std::vector<std::string>& warnings);

// Whiskers and leaks. After the network is made.
Result<Done> hang_defect(const Defect& defect, std::size_t layer, const Scenario& scenario,
                         CopperBoard& board);

}  // namespace isthmus::hostsim
