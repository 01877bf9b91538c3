// SPDX-License-Identifier: Apache-2.0
// Wrong ways to lay a placement, and where its tips then come down.
#pragma once

#include <functional>

#include "isthmus/base/sets.hpp"
#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

using Piece = std::size_t;

// Which copper hangs together at this stage, for any place on the board, not only for points.
class Pieces {
 public:
  explicit Pieces(const expect::Board& board);
  [[nodiscard]] std::optional<Piece> at(Position p, Side side) const;

 private:
  const expect::Board& board_;
  copper::IslandIndex index_;
  Sets joined_;  // islands
};

// One wrong way to lay a placement: "turned by 180 degrees", and where a tip then comes down.
struct Laying {
  std::string words;
  std::function<Position(Position)> map;
};

// Where that probe then comes down. Clips stay.
Position landing(const Laying& laying, const Probe& probe);

// Shifts by 1 to 3 pitches of the placement's own probes and of usual parts, along x or y; turns by
// 90, 180 and 270 degrees and flips about the middle of the probes, of the copper and of the
// outline.
std::vector<Laying> likely_layings(const expect::Board& board, const Placement& placement);

// Takes a placement as it should lie and gives the wrong layings (shifted by 1 to 3 pitches of its
// own probes along x or y, turned by 180 degrees, flipped about either axis through its middle, clips
// where they are; two plates move together)
// under which every reading would come out as expected: all tips on copper, the probes of each
// group on one piece, groups that must be isolated on pieces that do not conduct to each other.
std::vector<std::string> indistinguishable_layings(const expect::Board& board, const Pieces& pieces,
                                                   const Placement& placement);
std::vector<std::string> indistinguishable_layings(const expect::Board& board,
                                                   const Placement& placement);

}  // namespace isthmus::plan
