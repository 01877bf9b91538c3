// SPDX-License-Identifier: Apache-2.0
// What the field solution needs to know of the board.
#include <algorithm>

#include "isthmus/expect/board.hpp"

namespace isthmus::expect {
namespace {

// Bare 0.6 mm copper wire (common practice, no source) of resistivity 1.7241e-8 ohm m (IEC 60028),
// soldered over 1 mm at each end.
constexpr double kWireOhmsPerMm = 1.7241e-8 * 1e-3 / (3.14159265358979 * 0.3e-3 * 0.3e-3);
constexpr Nanometres kWireFoot = 1_mm;

}  // namespace

std::vector<copper::Barrel> conducting_barrels(const Board& board) {
  std::vector<copper::Barrel> barrels;
  for (const Join& join : board.expectation.joins) {
    if (!join.conducts || join.islands.size() < 2) continue;
    copper::Barrel barrel;
    for (IslandId island : join.islands) barrel.feet.push_back({island, join.at, join.diameter});
    barrels.push_back(std::move(barrel));
  }
  if (!joins_count(board.expectation.stage)) return barrels;
  for (const Link& link : board.expectation.links) {
    const double mm = distance_nm(link.from_at, link.to_at) * 1e-6;
    barrels.push_back({{{link.from, link.from_at, kWireFoot}, {link.to, link.to_at, kWireFoot}},
                       Ohms{kWireOhmsPerMm * mm / 2}});
  }
  return barrels;
}

copper::Foil foil_of(const Board& board) {
  const formats::BoardFile& file = board.design.board;
  return {file.copper.thickness, file.process.undercut, file.copper.temperature};
}

std::optional<copper::Electrode> electrode_at(const Board& board, PointId point, Side side,
                                              Nanometres tip) {
  const Point& p = board.expectation.point(point);
  std::optional<IslandId> island;
  for (std::size_t layer = 0; layer < p.islands.size() && !island; ++layer) {
    const bool there = side == Side::both || (side == Side::top && layer == 0) ||
                       (side == Side::bottom && layer + 1 == board.copper.layers);
    if (there) island = p.islands[layer];
  }
  if (!island) return std::nullopt;
  return copper::Electrode{*island, p.at, tip};
}

std::optional<copper::Electrode> electrode_of(const Board& board, PointId point, Nanometres tip) {
  const Side side = board.expectation.point(point).side;
  if (side != Side::both) return electrode_at(board, point, side, tip);
  const auto on_top = electrode_at(board, point, Side::top, tip);
  return on_top ? on_top : electrode_at(board, point, Side::bottom, tip);
}

}  // namespace isthmus::expect
