// SPDX-License-Identifier: Apache-2.0
// A board of copper as a hand meets it.
#pragma once

#include "hostsim/copper/board.hpp"
#include "hostsim/hand/surface.hpp"
#include "hostsim/scenario/point_names.hpp"

namespace isthmus::hostsim {

class CopperSurface : public Surface {
 public:
  // Borrows the board for its lifetime.
  CopperSurface(CopperBoard& board, PointNames names) : board_(board), names_(std::move(names)) {}

  [[nodiscard]] std::vector<Node> under(const Place& place, double radius_mm) const override;
  [[nodiscard]] std::vector<Position> pads(const Place& place, double within_mm) const override;
  BoardGraph& graph() override { return board_.graph; }

 private:
  CopperBoard& board_;
  PointNames names_;
};

}  // namespace isthmus::hostsim
