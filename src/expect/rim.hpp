// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "isthmus/base/geometry.hpp"

namespace isthmus::expect {

// From the place to the nearest edge of the contour, in nm, as closest() has it; infinite without edges.
double nearest_edge_nm(Position p, const Contour& c);

}  // namespace isthmus::expect
