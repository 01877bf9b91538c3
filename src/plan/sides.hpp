// SPDX-License-Identifier: Apache-2.0
// From which side what is required is touched.
#pragma once

#include "isthmus/expect/board.hpp"

namespace isthmus::plan {

inline Side other(Side s) { return s == Side::top ? Side::bottom : Side::top; }

// Whether a probe from that side reaches a point of this one.
inline bool reaches(Side probe, Side point) { return point == Side::both || point == probe; }

inline bool is_wanted(const expect::Point& p) { return p.required && !p.waived && p.group; }

// The side with more surface pads: holes of nets without any are touched from there.
Side usual_side(const expect::Board& board);

// Holes go with the surface pads of their group; where it has pads on both sides, or on none, they
// are touched from the usual side.
Side home_of(const expect::Board& board, const expect::Group& group, Side usual);

}  // namespace isthmus::plan
