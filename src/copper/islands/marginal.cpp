// SPDX-License-Identifier: Apache-2.0
#include "copper/islands/marginal.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>
#include <utility>

#include "copper/index/layer.hpp"
#include "copper/islands/clip.hpp"
#include "isthmus/base/sets.hpp"

namespace isthmus::copper {
namespace {

constexpr Nanometres kMarginal = 1_um;
constexpr Nanometres kErosion = 500_nm;  // off each side: what holds together by less falls apart
constexpr double kSpeck = 1e6;           // nm^2; smaller leftovers of the erosion are no parts
constexpr double kAlong = 4000;          // nm; nearer along the outline is a corner, not a joint
constexpr Nanometres kPartReach = 4_um;  // from a joint to the eroded parts it holds together
constexpr std::int64_t kCell = 100'000;

// Two edges with less than a micrometre of copper between them.
struct Thin {
  std::uint32_t island;
  Closest where;
  std::vector<Position> spots;  // the closest place and the ends of the stretch
};

std::vector<Position> spots_of(const Segment& a, const Segment& b, const Closest& where) {
  std::vector<Position> spots{where.on_first};
  const auto add = [&spots](Position p, const Segment& s) {
    if (closest(p, s).distance_nm < static_cast<double>(kMarginal.value)) spots.push_back(p);
  };
  add(a.a, b);
  add(a.b, b);
  add(b.a, a);
  add(b.b, a);
  return spots;
}

// Copper between two places of the outlines, as opposed to a slit between them.
bool is_copper(const Island& island, const Closest& c) {
  const Position middle{(c.on_first.x + c.on_second.x) / 2, (c.on_first.y + c.on_second.y) / 2};
  return locate(middle, island) != Where::outside;
}

// Whether two places on edges i < j of one contour are near each other along the contour.
bool same_corner(const LayerEdges& edges, std::uint32_t i, std::uint32_t j, const Closest& c) {
  const std::vector<Segment>& segments = edges.grid.segments();
  const std::pair<std::uint32_t, std::uint32_t> range = edges.contours[edges.owners[i].contour];
  const auto run = [&](std::uint32_t from, Position start, std::uint32_t to, Position end) {
    double length = distance_nm(start, segments[from].b) + distance_nm(segments[to].a, end);
    for (std::uint32_t k = from + 1;; ++k) {
      if (k == range.second) k = range.first;
      if (k == to || length > kAlong) return length;
      length += distance_nm(segments[k].a, segments[k].b);
    }
  };
  return run(i, c.on_first, j, c.on_second) <= kAlong ||
         run(j, c.on_second, i, c.on_first) <= kAlong;
}

struct Found {
  std::map<std::pair<std::uint32_t, std::uint32_t>, Closest> apart;  // by pair of islands
  std::vector<Thin> thin;
};

Found search(std::span<const Island> islands, const LayerEdges& edges) {
  Found found;
  const std::vector<Segment>& segments = edges.grid.segments();
  for (std::uint32_t i = 0; i < segments.size(); ++i) {
    const Box box = box_of(segments[i]).grown(kMarginal);
    const EdgeOwner mine = edges.owners[i];
    edges.grid.for_each(box, [&](std::uint32_t j) {
      if (j <= i || !box.overlaps(box_of(segments[j]))) return true;
      const Closest c = closest(segments[i], segments[j]);
      if (c.distance_nm >= static_cast<double>(kMarginal.value)) return true;
      const EdgeOwner other = edges.owners[j];
      if (mine.island != other.island) {
        const auto [it, fresh] = found.apart.try_emplace({mine.island, other.island}, c);
        if (!fresh && c.distance_nm < it->second.distance_nm) it->second = c;
      } else if ((mine.contour != other.contour || !same_corner(edges, i, j, c)) &&
                 is_copper(islands[mine.island], c)) {
        found.thin.push_back({mine.island, c, spots_of(segments[i], segments[j], c)});
      }
      return true;
    });
  }
  return found;
}

// The eroded parts of an island, for the question which of them come near a place.
class Parts {
 public:
  explicit Parts(const Polygons& parts) {
    std::vector<Segment> edges;
    for (std::size_t i = 0; i < parts.size(); ++i) {
      append_edges(parts[i], edges);
      owners_.resize(edges.size(), i);
    }
    grid_ = SegmentGrid(std::move(edges), kCell);
  }
  void add_near(Position p, std::set<std::size_t>& found) const {
    grid_.for_each(Box{p, p}.grown(kPartReach), [&](std::uint32_t i) {
      const double d = closest(p, grid_.segments()[i]).distance_nm;
      if (d <= static_cast<double>(kPartReach.value)) found.insert(owners_[i]);
      return true;
    });
  }

 private:
  SegmentGrid grid_;
  std::vector<std::size_t> owners_;
};

// Thin stretches that run into each other, as places in `thin`.
std::vector<std::vector<std::size_t>> chains_of(std::span<const Thin> thin) {
  struct Spot {
    Position at;
    std::size_t thin;
  };
  std::vector<Spot> spots;
  for (std::size_t i = 0; i < thin.size(); ++i) {
    for (Position p : thin[i].spots) spots.push_back({p, i});
  }
  std::sort(spots.begin(), spots.end(), [](const Spot& a, const Spot& b) {
    return std::tie(a.at, a.thin) < std::tie(b.at, b.thin);
  });
  Sets sets(thin.size());
  for (std::size_t i = 0; i < spots.size(); ++i) {
    for (std::size_t j = i + 1; j < spots.size(); ++j) {
      if (spots[j].at.x - spots[i].at.x > kPartReach.value) break;
      const bool near =
          distance_nm(spots[i].at, spots[j].at) <= static_cast<double>(kPartReach.value);
      if (near) sets.unite(spots[i].thin, spots[j].thin);
    }
  }
  return sets.groups();
}

// The thin places of one island that hold parts of it together: the thinnest of each chain.
void add_joints(const Island& island, std::uint32_t id, std::span<const Thin> thin,
                std::vector<Marginal>& out) {
  std::vector<Polygon> pieces;
  for (std::size_t i = 0; i < island.pieces(); ++i) pieces.push_back(island.piece(i));
  Polygons eroded = erode(pieces, kErosion);
  std::erase_if(eroded, [](const Polygon& p) { return area_nm2(p) < kSpeck; });
  if (eroded.size() < 2) return;
  const Parts parts(eroded);
  for (const std::vector<std::size_t>& chain : chains_of(thin)) {
    std::set<std::size_t> held;
    const Closest* best = &thin[chain.front()].where;
    for (std::size_t i : chain) {
      if (thin[i].where.distance_nm < best->distance_nm) best = &thin[i].where;
      for (Position p : thin[i].spots) parts.add_near(p, held);
    }
    if (held.size() < 2) continue;
    out.push_back({island.layer, IslandId{id}, IslandId{id}, best->on_first, best->distance_nm});
  }
}

}  // namespace

std::vector<Marginal> find_marginals(std::span<const Island> islands, std::size_t first,
                                     std::size_t last) {
  const LayerEdges edges = layer_edges(islands, first, last, kCell);
  Found found = search(islands, edges);
  std::vector<Marginal> out;
  for (const auto& [pair, c] : found.apart) {
    out.push_back({islands[pair.first].layer, IslandId{pair.first}, IslandId{pair.second},
                   c.on_first, c.distance_nm});
  }
  std::stable_sort(found.thin.begin(), found.thin.end(),
                   [](const Thin& a, const Thin& b) { return a.island < b.island; });
  for (std::size_t i = 0; i < found.thin.size();) {
    std::size_t end = i;
    while (end < found.thin.size() && found.thin[end].island == found.thin[i].island) ++end;
    const std::uint32_t id = found.thin[i].island;
    add_joints(islands[id], id, std::span(found.thin).subspan(i, end - i), out);
    i = end;
  }
  std::sort(out.begin(), out.end(), [](const Marginal& a, const Marginal& b) {
    return std::tie(a.a, a.b, a.at) < std::tie(b.a, b.b, b.at);
  });
  return out;
}

}  // namespace isthmus::copper
