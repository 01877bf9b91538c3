// SPDX-License-Identifier: Apache-2.0
// A place of copper that somebody touches, as a point of the board.
#include <fmt/format.h>

#include <algorithm>

#include "expect/expectation/ground.hpp"
#include "expect/nearest_copper.hpp"
#include "expect/sight.hpp"
#include "isthmus/base/ensure.hpp"
#include "isthmus/expect/board.hpp"

namespace isthmus::expect {
namespace {

Problem off_copper(const Board& board, Position at, Side side, LayerId layer) {
  const Stage stage = board.expectation.stage;
  return problem(
      board.design, "EXP-025",
      fmt::format("no copper lies at {} on the {} side", place_name(at), name(side)),
      is_etched(stage, layer, board.copper.layers)
          ? nearest_copper_in_words(board.copper, layer, at)
          : fmt::format("the {} side is not etched yet at stage {}", name(side), name(stage)));
}

std::optional<PointId> added_before(const Expectation& e, Position at, std::size_t layer,
                                    IslandId island) {
  for (std::size_t i = 0; i < e.points.size(); ++i) {
    const Point& p = e.points[i];
    if (p.unlisted && p.at == at && p.islands[layer] == island)
      return PointId{static_cast<std::uint32_t>(i)};
  }
  return std::nullopt;
}

// Of the copper's groups (several where nets are tied) that of the nearest point.
std::optional<GroupId> group_of(const Expectation& e, IslandId island, Position at) {
  std::optional<GroupId> best;
  double nearest = 0;
  for (const Point& p : e.points) {
    if (!p.group || !std::ranges::binary_search(e.group(*p.group).islands, island)) continue;
    const double d = distance_nm(p.at, at);
    if (best && d >= nearest) continue;
    best = p.group;
    nearest = d;
  }
  return best;
}

// Copper that no net's point lies on goes by its lowest island, as in every list.
GroupId new_group(Board& board, std::uint32_t piece) {
  const std::vector<IslandId>& islands = board.faults.islands_of_piece[piece];
  const GroupId id = board.expectation.sheet_group();
  board.expectation.groups.push_back({fmt::format("#{}", index(islands.front())), {}, islands, ""});
  board.faults.groups_of_piece[piece].push_back(id);
  return id;
}

std::string free_name(const Expectation& e, Position at) {
  const auto taken = [&](const std::string& id) {
    return std::ranges::any_of(e.points, [&](const Point& p) {
      return p.id == id || std::ranges::find(p.aliases, id) != p.aliases.end();
    });
  };
  const std::string plain = place_name(at);
  std::string id = plain;
  for (int k = 2; taken(id); ++k) id = fmt::format("{}#{}", plain, k);
  return id;
}

}  // namespace

Result<PointId> add_place(Board& board, Position at, Side side) {
  ENSURE(side != Side::both);
  Expectation& e = board.expectation;
  const std::size_t number = side == Side::top ? 0 : board.copper.layers - 1;
  const auto layer = static_cast<LayerId>(number);
  const auto island = copper::IslandIndex(board.copper).at(layer, at);
  if (!island || !is_etched(e.stage, layer, board.copper.layers))
    return off_copper(board, at, side, layer);
  if (const auto before = added_before(e, at, number, *island)) return *before;

  FaultList& faults = board.faults;
  const std::uint32_t node =
      faults.node_of_axis.at(nearest_in_sight(board.copper, board.conductors, *island, at));
  auto group = group_of(e, *island, at);
  if (!group) group = new_group(board, faults.wiring.nodes[node].piece);
  const PointId id{static_cast<std::uint32_t>(e.points.size())};
  Point point;
  point.id = free_name(e, at);
  point.net = e.group(*group).net;
  point.net_full = e.group(*group).net_full;
  point.at = at;
  point.side = side;
  point.islands.resize(board.copper.layers);
  point.islands[number] = island;
  point.group = group;
  point.required = false;
  point.unlisted = true;
  e.points.push_back(std::move(point));
  e.groups[index(*group)].points.push_back(id);
  faults.top_node.push_back(side == Side::top ? node : Wiring::kNone);
  faults.bottom_node.push_back(side == Side::bottom ? node : Wiring::kNone);
  faults.points_of_node[node].push_back(id);
  faults.wiring.nodes[node].place = true;
  return id;
}

}  // namespace isthmus::expect
