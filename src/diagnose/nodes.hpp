// SPDX-License-Identifier: Apache-2.0
// Which nodes of the wiring the tips of each placement touch, and what "conducts" says of them.
#pragma once

#include <memory>

#include "diagnose/evidence.hpp"

namespace isthmus::diagnose {

// A clip through a hole without metal of its own ties two nodes for as long as it sits: what
// conducts to it may do so by either, and it counts on a side only between needles that conducted to
// it there.
class TouchedNodes {
 public:
  using Nodes = std::vector<std::uint32_t>;
  TouchedNodes(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence);
  ~TouchedNodes();
  TouchedNodes(TouchedNodes&&) noexcept;
  TouchedNodes& operator=(TouchedNodes&&) = delete;

  // None for twins and tips on no copper.
  [[nodiscard]] const Nodes& under(std::size_t placement, Channel channel) const;
  // Pairs of nodes of which copper, and no clip, says that they are one piece when these two
  // channels conduct.
  [[nodiscard]] std::vector<std::pair<std::uint32_t, std::uint32_t>> said_by_copper(
      std::size_t placement, Channel a, Channel b) const;
  // Those of a clip that ties two which were proven before this landing and after it; else under().
  [[nodiscard]] Nodes proven_around(std::size_t placement, Channel channel) const;

 private:
  struct Seats;  // of rounds with clips that tie two nodes
  void note_proofs(const Evidence& evidence);

  const plan::Plan& plan_;
  std::vector<std::map<Channel, Nodes>> under_;
  std::unique_ptr<Seats> seats_;
  // (round, node) -> first and last landing at which a needle conducted to it
  std::map<std::pair<std::size_t, std::uint32_t>, std::pair<std::size_t, std::size_t>> proven_;
};

}  // namespace isthmus::diagnose
