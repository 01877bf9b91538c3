// SPDX-License-Identifier: Apache-2.0
// What the guide's page must know of the board before the first event.
#pragma once

#include <string>

#include "isthmus/diagnose/diagnosis.hpp"
#include "isthmus/expect/board.hpp"

namespace isthmus::report {

// One JSON object: board, stage, safety, area_mm [[left, bottom], [right, top]], layers, shapes (SVG
// <defs> in mm of the artwork, y up), points [{id, net, x_mm, y_mm, side, size_mm, named}].
//
// Units   mm of the artwork; the bottom is not mirrored in numbers.
std::string guide_board_json(const expect::Board& board, const std::string& safety);

// As in `test --json`: one object without the line's end.
std::string finding_json(const diagnose::Finding& finding);

}  // namespace isthmus::report
