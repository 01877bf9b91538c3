// SPDX-License-Identifier: Apache-2.0
// Where on its pad each point is touched, so that neighbouring tips keep out of each other's way.
#pragma once

#include <vector>

#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

// Between the holes of two tips in a plate of common board material must stay at least so much, or
// the drill runs from one into the other. Common practice, no source.
inline constexpr Nanometres kPlateWall{250'000};
// From the middle of one tip to the middle of the next, at least.
constexpr Nanometres clearance_of(Nanometres tip) { return {tip.value + kPlateWall.value}; }

// A place to touch: a point from the plate's side, or one behind the plate by a clip.
enum class SpotId : std::uint32_t {};
constexpr std::size_t index(SpotId s) { return static_cast<std::size_t>(s); }

// By SpotId: all points from the plate's side first, then all from behind.
struct Spots {
  std::vector<Position> at;
  std::vector<std::vector<SpotId>> clashes;  // ascending: closer than the clearance; none behind
  [[nodiscard]] std::size_t points() const { return at.size() / 2; }
  [[nodiscard]] bool behind(SpotId s) const { return index(s) >= points(); }
  [[nodiscard]] PointId point(SpotId s) const {
    return PointId{static_cast<std::uint32_t>(index(s) % points())};
  }
  [[nodiscard]] SpotId plate(PointId p) const { return SpotId{static_cast<std::uint32_t>(p)}; }
  [[nodiscard]] SpotId clip(PointId p) const {
    return SpotId{static_cast<std::uint32_t>(isthmus::index(p) + points())};
  }
};

// The spots of points touched from `side`. A point stays in the middle of its pad unless a
// neighbour's middle is closer than the clearance; then both move along their pads, neighbours to
// opposite ends, each a tip's radius from the end. Only flashed pads without a hole are left that
// way: what is drawn otherwise, or has a hole, is touched in the middle.
Spots find_spots(const expect::Board& board, Side side, Nanometres tip);

}  // namespace isthmus::plan
