// SPDX-License-Identifier: Apache-2.0
// Where copper of two islands comes close: the places a bridge can form.
#pragma once

#include <optional>
#include <vector>

#include "isthmus/copper/islands.hpp"

namespace isthmus::copper {

// The critical-area weight 1 / s grows no more where a gap is narrower than this.
inline constexpr double kLeastGapOfWeight = 10'000;  // nm

// One stretch along which two islands face each other within the window.
struct Facing {
  double distance_nm{};        // closest approach in this stretch
  Position on_a, on_b;         // where that is
  std::vector<Position> path;  // middle line of the gap along the stretch, at least one place
  double length_nm{};          // facing length
  double weight{};  // critical-area weight: integral of dl / s(l) along the middle line, s at least
                    // kLeastGapOfWeight, a slanting view less (Ferris-Prabhu defect-size law
                    // x0^2/x^3: mean critical area L x0^2 / 2s); a tenth of that where shielded
  bool shielded{false};  // copper of a third island crosses the straight ways across, all along
};

// Between two islands of one layer; or of two, where the metal in a hole could reach the copper of
// `layer`; or between copper and a wire that hangs on an island.
enum class GapKind { beside, hole, wire };

struct Gap {
  IslandId a{}, b{};  // a < b
  LayerId layer{};
  GapKind kind{GapKind::beside};
  double distance_nm{};
  Position on_a, on_b;
  std::vector<Facing> facings;             // ascending by distance
  double weight{};                         // sum over facings
  std::optional<Position> foot_a, foot_b;  // wire: where it is soldered to `a`, to `b`
  [[nodiscard]] Position middle() const { return {(on_a.x + on_b.x) / 2, (on_a.y + on_b.y) / 2}; }
};

// Ascending by distance, then ids.
void sort_gaps(std::vector<Gap>& gaps);

// Round a place the window of the outer layers is another: it counts for gaps whose middle lies
// within `reach` of `at`.
struct WideWindow {
  Position at;
  Nanometres reach{}, window{};
};

// Every pair of islands of one layer within `window`. A pair counts even when other copper lies
// between (a thin track does not shield from a long sliver).
//
// Shape   in the order of sort_gaps(); further local minima of the distance have a facing of their
//         own where the gap widens by half between them.
// Units   Nanometres; the closest approach is exact to 1 nm.
// Source  docs/copper.md: what is computed, and how well.
std::vector<Gap> find_gaps(const Copper& copper, Nanometres window,
                           const std::vector<WideWindow>& wide = {});

// Two places of one island across a gap that holds no copper.
struct OwnFacing {
  IslandId island{};
  double distance_nm{};
  Position on_a, on_b;
};

// Where islands face themselves within `window`: from every 0.4 mm of their outlines, and from each
// edge of them, the nearest copper straight ahead or aslant. Corners sharper than square count,
// however little copper leads round them. `of` says which islands to look at.
std::vector<OwnFacing> find_own_facings(const Copper& copper, Nanometres window,
                                        const std::vector<bool>& of);

}  // namespace isthmus::copper
