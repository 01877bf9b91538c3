// SPDX-License-Identifier: Apache-2.0
// A board with parts on both sides whose halves meet in few holes: half of the parts stand on top,
// half on the bottom. Files as a CAD program writes them; every place is known beforehand.
#pragma once

#include <filesystem>
#include <vector>

#include "isthmus/base/geometry.hpp"

namespace isthmus::test {

struct TwoHalves {
  int parts{4};  // of two pads each, on each side, in a row
  int holes{1};  // each from a net of the top to one of the bottom; at most parts - 1
  bool under{};  // the bottom's parts lie under those of the top, else beside them
  bool leads{};  // the holes are a connector's, not vias

  // board.yaml, top.gbr, bottom.gbr, drill.xnc, net.d356; stage joined, the holes wired by hand.
  // Returns board.yaml.
  [[nodiscard]] std::filesystem::path write(const std::filesystem::path& folder) const;
  [[nodiscard]] Position hole(int k) const;
};

}  // namespace isthmus::test
