// SPDX-License-Identifier: Apache-2.0
// Which spots have to be touched from which side, and which groups have to meet, so that every
// entry of the list is excluded on a good board.
#pragma once

#include <array>

#include "plan/make_fixture_layout.hpp"

namespace isthmus::plan {

class Demands {
 public:
  // Every required point from one side, every pair where it is easy; then what the list needs.
  Demands(const expect::Board& board, Nanometres tip);

  [[nodiscard]] const SideDemand& side(Side s) const { return sides_[s == Side::bottom]; }
  // Adds what would tell of the entries that these facts of a good board do not exclude; false
  // where there is nothing more to add.
  bool answer(const expect::Facts& facts);

 private:
  struct Use {
    PointId point{};
    Side side{};
  };
  void share_out(std::size_t group);
  void share_out_pair(std::size_t a, std::size_t b);
  [[nodiscard]] expect::Facts facts_so_far() const;
  bool touch(std::uint32_t node);
  bool bring_together(std::uint32_t p, std::uint32_t q);
  bool meet(SideDemand& demand, std::size_t a, std::size_t b);
  bool want(SideDemand& demand, std::size_t group, SpotId spot);
  [[nodiscard]] std::vector<Use> uses_of(std::uint32_t node) const;
  [[nodiscard]] std::vector<std::uint32_t> touched_with(std::uint32_t node,
                                                        const expect::Derived& derived) const;
  [[nodiscard]] std::optional<Use> easiest_clip(const std::vector<std::uint32_t>& nodes,
                                                Side side) const;
  [[nodiscard]] std::size_t group_of(PointId p) const;

  const expect::Board& board_;
  Side usual_{Side::top};
  std::array<SideDemand, 2> sides_;
  expect::Derived derived_;
};

}  // namespace isthmus::plan
