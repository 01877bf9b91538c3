// SPDX-License-Identifier: Apache-2.0
#include "session/guide/mended.hpp"

#include <algorithm>
#include <set>

namespace isthmus::session {
namespace {

constexpr Nanometres kReach{5'000'000};

// Of the wiring: all copper that hangs together as drawn.
std::set<std::uint32_t> pieces_near(const expect::Board& board, const diagnose::Finding& finding) {
  const copper::IslandIndex index(board.copper);
  std::set<IslandId> islands;
  const auto add = [&](Position p) {
    for (std::size_t layer = 0; layer < board.copper.layers; ++layer) {
      const auto near = index.near(static_cast<LayerId>(layer), p, kReach);
      islands.insert(near.begin(), near.end());
    }
  };
  for (const diagnose::Suspect& s : finding.suspects) {
    add(s.at);
    for (const Position& p : s.path) add(p);
  }
  std::set<std::uint32_t> pieces;
  const expect::FaultList& faults = board.faults;
  for (std::size_t n = 0; n < faults.island_of_node.size(); ++n) {
    const auto& island = faults.island_of_node[n];
    if (island && islands.contains(*island)) pieces.insert(faults.wiring.nodes[n].piece);
  }
  return pieces;
}

}  // namespace

std::vector<PointId> near_mended(const expect::Board& board, const diagnose::Finding& finding) {
  std::set<PointId> points;
  const auto& all = board.expectation.points;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (std::ranges::find(finding.nets, all[i].net) != finding.nets.end())
      points.insert(static_cast<PointId>(i));
  }
  const std::set<std::uint32_t> pieces = pieces_near(board, finding);
  const expect::FaultList& faults = board.faults;
  for (std::size_t n = 0; n < faults.points_of_node.size(); ++n) {
    if (!pieces.contains(faults.wiring.nodes[n].piece)) continue;
    points.insert(faults.points_of_node[n].begin(), faults.points_of_node[n].end());
  }
  return {points.begin(), points.end()};
}

}  // namespace isthmus::session
