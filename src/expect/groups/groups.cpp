// SPDX-License-Identifier: Apache-2.0
#include "expect/groups/groups.hpp"

#include <algorithm>
#include <map>

namespace isthmus::expect {
namespace {

void join_all(Sets& sets, const std::vector<IslandId>& islands) {
  for (const IslandId island : islands) sets.unite(index(islands.front()), index(island));
}

void join_links(Sets& sets, const std::vector<Link>& links) {
  for (const Link& link : links) sets.unite(index(link.from), index(link.to));
}

Pieces number_pieces(Sets& sets, std::size_t islands) {
  Pieces pieces;
  pieces.of_island.resize(islands);
  for (std::size_t i = 0; i < islands; ++i) {
    const std::size_t root = sets.find(i);  // the lowest island of the set
    pieces.of_island[i] = root == i ? pieces.count++ : pieces.of_island[root];
  }
  return pieces;
}

}  // namespace

Pieces pieces_at_stage(const Ground& ground, const std::vector<Join>& joins,
                       const std::vector<Link>& links) {
  Sets sets(ground.copper.islands.size());
  for (const Join& join : joins) {
    if (join.conducts) join_all(sets, join.islands);
  }
  join_links(sets, links);
  return number_pieces(sets, ground.copper.islands.size());
}

Pieces pieces_promised(const Ground& ground, const std::vector<Join>& joins,
                       const std::vector<Link>& links, const std::vector<Pad>& pads) {
  Sets sets(ground.copper.islands.size());
  const bool fitted = joins_count(ground.stage());
  for (const Join& join : joins) {
    if (!fitted || join.conducts || join.deferred) join_all(sets, join.islands);
  }
  for (const Pad& pad : pads) {
    if (fitted || !pad.through || pad.hole) continue;
    std::vector<IslandId> islands;
    for (const auto& island : pad.islands) {
      if (island) islands.push_back(*island);
    }
    join_all(sets, islands);
  }
  join_links(sets, links);
  return number_pieces(sets, ground.copper.islands.size());
}

std::optional<std::size_t> piece_of(const Pieces& pieces, const Point& point) {
  for (const auto& island : point.islands) {
    if (island) return pieces.of(*island);
  }
  return std::nullopt;
}

Grouping group_points(const Pieces& pieces, StagePoints& stage, bool each_piece_a_net) {
  std::vector<std::vector<IslandId>> islands(pieces.count);
  for (std::size_t i = 0; i < pieces.of_island.size(); ++i) {
    islands[pieces.of_island[i]].push_back(static_cast<IslandId>(i));
  }
  Grouping out;
  std::map<std::pair<std::size_t, std::string>, std::size_t> known;
  for (std::size_t i = 0; i < stage.points.size(); ++i) {
    Point& point = stage.points[i];
    if (each_piece_a_net) point.net = point.id;
    const auto piece = piece_of(pieces, point);
    if (!piece) continue;
    if (each_piece_a_net) stage.keys[i].clear();
    const auto [entry, fresh] = known.try_emplace({*piece, stage.keys[i]}, out.groups.size());
    if (fresh) {
      Group group;
      group.net = point.net;
      group.net_full = point.net_full;
      group.islands = islands[*piece];
      out.groups.push_back(std::move(group));
      out.keys.push_back(each_piece_a_net ? point.id : stage.keys[i]);
      out.pieces.push_back(*piece);
    }
    Group& group = out.groups[entry->second];
    group.points.push_back(static_cast<PointId>(i));
    if (group.net_full.empty()) group.net_full = point.net_full;
    point.group = static_cast<GroupId>(entry->second);
    if (each_piece_a_net) {
      point.net = group.net;
      stage.keys[i] = out.keys[entry->second];
    }
  }
  return out;
}

void mark_required(Stage stage, std::vector<Point>& points, std::size_t islands) {
  if (!joins_count(stage)) return;
  std::vector<std::size_t> points_on(islands, 0);
  for (const Point& point : points) {
    for (const auto& island : point.islands) {
      if (island) ++points_on[index(*island)];
    }
  }
  for (Point& point : points) {
    if (!point.via) continue;
    const auto leads_on =
        std::count_if(point.islands.begin(), point.islands.end(),
                      [&](const auto& island) { return island && points_on[index(*island)] > 1; });
    point.required = leads_on <= 1;
  }
}

}  // namespace isthmus::expect
