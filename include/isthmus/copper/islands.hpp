// SPDX-License-Identifier: Apache-2.0
// Connected copper per layer, from the exact outlines of the artwork.
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "isthmus/base/geometry.hpp"
#include "isthmus/base/result.hpp"
#include "isthmus/base/terms.hpp"
#include "isthmus/formats/design.hpp"

namespace isthmus::copper {

struct Island {
  LayerId layer{};
  Polygon outline;    // as drawn: holes are not drilled out of pads
  Box box;            // of all pieces
  double area_nm2{};  // of all pieces
  std::vector<Polygon>
      more;  // further pieces, by falling area: they touch the rest in points only. Rarely any
  [[nodiscard]] std::size_t pieces() const { return 1 + more.size(); }
  [[nodiscard]] const Polygon& piece(std::size_t i) const { return i == 0 ? outline : more[i - 1]; }
};
// Exact; boundary wins over inside wins over outside among the pieces.
Where locate(Position p, const Island& island);

// Two islands closer than 1 um, or two objects that hold together by less than that: a plotter may
// draw them joined or apart (GLF 2023.08, 4.14.2). For copper that is joined in the artwork a == b.
struct Marginal {
  LayerId layer{};
  IslandId a{}, b{};
  Position at;
  double distance_nm{};
};

struct Copper {
  std::size_t layers{};
  std::vector<Island>
      islands;  // by layer, then by box.lo.x, box.lo.y, area: deterministic numbering
  std::vector<Marginal> marginals;
  [[nodiscard]] const Island& island(IslandId id) const { return islands[index(id)]; }
};

// Paints each layer's objects in order (a clear object removes what lies under it, in order) and
// takes the connected pieces.
//
// Shape   islands by layer, box.lo.x, box.lo.y, area: the drawing order does not show.
// Units   Nanometres. What hangs together is exact; vertices of outlines are within 1.5 nm.
// Errors  CPR-0xx.
// Source  GLF 2023.08, 4.9 and 4.14.2; docs/copper.md.
Result<Copper> extract_copper(const formats::Design& design);

// Which island lies here. Borrows `copper`, which must outlive it.
//
// Cost    O(log n + k) a question.
class IslandIndex {
 public:
  explicit IslandIndex(const Copper& copper);
  ~IslandIndex();
  IslandIndex(IslandIndex&&) noexcept;
  IslandIndex& operator=(IslandIndex&&) noexcept;
  // The island that contains `p` (boundary included); the lowest id when two touch there.
  [[nodiscard]] std::optional<IslandId> at(LayerId layer, Position p) const;
  // Islands with copper within `reach` of `p`, ascending by distance, then id.
  [[nodiscard]] std::vector<IslandId> near(LayerId layer, Position p, Nanometres reach) const;

 private:
  struct Tree;
  std::unique_ptr<Tree> tree_;
};

}  // namespace isthmus::copper
