// SPDX-License-Identifier: Apache-2.0
// Places of copper that no record names: it must hang together all the same.
#include <algorithm>
#include <map>
#include <set>

#include "expect/faults/pads.hpp"
#include "expect/groups/groups.hpp"
#include "expect/points/points.hpp"

namespace isthmus::expect {
namespace {

using formats::Object;
using formats::ObjectKind;

constexpr Nanometres kLeastSize = 250_um;  // smaller flashes end strokes; no lead is soldered there
constexpr Nanometres kLeastBlob = 400_um;

bool meet(Side a, Side b) { return a == Side::both || b == Side::both || a == b; }

class Finder {
 public:
  Finder(const Ground& ground, const Holes& holes, const std::vector<Pad>& known)
      : ground_(ground), holes_(holes), known_(known), padded_(ground.copper.islands.size()) {
    for (const Pad& pad : known) note(pad);
    if (!ground.design.netlist) return;
    // That a drill file calls its holes unplated says little: all are, where they are drilled at
    // home.
    for (const auto& record : ground.design.netlist->records) {
      if (record.kind != formats::FeatureKind::tooling) continue;
      if (const auto hole = hole_at(ground, holes.joins, record.at)) tooling_.insert(*hole);
    }
  }

  std::vector<Pad> run() {
    for (Pad& pad : pads_of_artwork(ground_, holes_)) {
      const bool drilled = pad.hole.has_value();
      if (drilled && tooling_.contains(*pad.hole)) continue;
      if (!drilled && pad.size < kLeastSize) continue;
      // What it says of itself is the netlist's business: it is a place, and no more.
      pad.ref.clear();
      pad.pin.clear();
      pad.via = drilled;
      take(std::move(pad));
    }
    openings(ground_.design.mask_top, 0);
    if (ground_.last() > 0) openings(ground_.design.mask_bottom, ground_.last());
    link_ends();
    blobs();
    areas();
    pours();
    return std::move(found_);
  }

 private:
  void note(const Pad& pad) {
    for (const auto& island : pad.islands) {
      if (island) padded_[index(*island)] = true;
    }
  }

  [[nodiscard]] bool near(const Pad& a, const Pad& b) const {
    // The two ends of a slot are two places; a pad round all of it is none of its own.
    if (a.hole && a.hole == b.hole && !at_end_of_slot(a)) return true;
    if (!meet(a.access, b.access)) return false;
    const std::int64_t reach = std::max({a.size.value, b.size.value, kLeastSize.value}) / 2;
    return distance_nm(a.at, b.at) <= static_cast<double>(reach);
  }

  [[nodiscard]] bool at_end_of_slot(const Pad& pad) const {
    const formats::Hole& hole = ground_.design.holes[holes_.joins[*pad.hole].hole];
    const auto reach = static_cast<double>(hole.diameter.value);
    return hole.is_slot() &&
           (distance_nm(pad.at, hole.from) <= reach || distance_nm(pad.at, hole.to) <= reach);
  }

  void take(Pad pad) {
    const auto taken = [&](const Pad& other) { return near(pad, other); };
    if (std::ranges::any_of(known_, taken) || std::ranges::any_of(found_, taken)) return;
    found_.push_back(std::move(pad));
    std::vector<Pad> one{found_.back()};
    place_pads(ground_, holes_, one);
    if (!one.front().has_copper()) {
      found_.pop_back();
      return;
    }
    note(one.front());
  }

  void take_bare(std::size_t layer, Position at, Nanometres size) {
    Pad pad;
    pad.at = at;
    pad.size = size;
    pad.access = layer == 0 ? Side::top : Side::bottom;
    take(std::move(pad));
  }

  [[nodiscard]] bool outer(std::size_t layer) const {
    return (layer == 0 || layer == ground_.last()) && ground_.counts(layer);
  }

  void openings(const std::optional<formats::LayerImage>& mask, std::size_t layer) {
    if (!mask || !outer(layer)) return;
    for (const Object& o : mask->objects) {
      if (!o.dark || o.shape.empty()) continue;
      const Position at = place_of(o);
      const auto island = ground_.index.at(ground_.layer(layer), at);
      if (island && !within_pad(o, layer)) take_bare(layer, at, {0});
    }
  }

  // An opening round a pad is the pad's own.
  [[nodiscard]] bool within_pad(const Object& opening, std::size_t layer) const {
    const auto holds = [&](const Pad& pad) {
      return pad.islands[layer] && std::ranges::any_of(opening.shape, [&](const Polygon& p) {
               return locate(pad.at, p) != Where::outside;
             });
    };
    return std::ranges::any_of(known_, holds) || std::ranges::any_of(found_, [&](const Pad& pad) {
             return meet(pad.access, layer == 0 ? Side::top : Side::bottom) &&
                    std::ranges::any_of(opening.shape, [&](const Polygon& p) {
                      return locate(pad.at, p) != Where::outside;
                    });
           });
  }

  // Copper that a wire is to bring to a net: whoever draws the wire wants it on.
  void link_ends() {
    if (!joins_count(ground_.stage())) return;
    for (const auto& link : ground_.design.board.links) {
      const std::size_t layer = link.side == Side::bottom ? ground_.last() : 0;
      const auto from = ground_.index.at(ground_.layer(layer), link.from);
      const auto to = ground_.index.at(ground_.layer(layer), link.to);
      if (!from || !to || padded_[index(*from)] == padded_[index(*to)]) continue;
      take_bare(layer, padded_[index(*from)] ? link.to : link.from, {0});
    }
  }

  // Copper of strokes and areas without a pad: its areas are drawn pads. Strokes alone, or areas
  // alone, are text and pictures.
  void blobs() {
    std::set<IslandId> stroked;
    std::vector<std::tuple<std::size_t, Position, Nanometres>> areas;
    for (std::size_t l = 0; l < ground_.layers(); ++l) {
      if (!outer(l)) continue;
      for (const Object& o : ground_.design.copper[l].objects) {
        if (!o.dark || o.shape.empty()) continue;
        if (o.kind == ObjectKind::stroke) {
          const auto island = ground_.index.at(ground_.layer(l), o.spine.front());
          if (island) stroked.insert(*island);
        } else if (o.kind == ObjectKind::region && extent_of(o) >= kLeastBlob) {
          areas.emplace_back(l, place_of(o), extent_of(o));
        }
      }
    }
    const std::vector<bool> before = padded_;
    for (const auto& [l, at, size] : areas) {
      const auto island = ground_.index.at(ground_.layer(l), at);
      if (island && stroked.contains(*island) && !before[index(*island)]) take_bare(l, at, size);
    }
  }

  // A drawn area as large as a pour that no pad of its copper lies on: its widest place.
  void areas() {
    if (!ground_.conductors) return;
    for (std::size_t l = 0; l < ground_.layers(); ++l) {
      if (!outer(l)) continue;
      for (const Object& o : ground_.design.copper[l].objects) {
        if (o.dark && o.kind == ObjectKind::region && extent_of(o) >= kPourWidth) area(o, l);
      }
    }
  }

  void area(const Object& o, std::size_t layer) {
    std::vector<IslandId> island;  // its first corner may have been cleared away
    for (const Position corner : o.shape.front().outer) {
      if (island.empty()) island = ground_.index.near(ground_.layer(layer), corner, {0});
    }
    if (island.empty() || !padded_[index(island.front())]) return;
    const auto within = [&](Position p) { return holds(o, p); };
    const auto lies_on = [&](const Pad& pad) {
      return within(pad.at) && ground_.index.at(ground_.layer(layer), pad.at) == island.front();
    };
    if (std::ranges::any_of(known_, lies_on) || std::ranges::any_of(found_, lies_on)) return;
    const copper::ConductorGraph& graph = *ground_.conductors;
    const copper::Branch* widest = nullptr;
    const auto [first, last] = graph.of_island[index(island.front())];
    for (std::size_t n = first; n < last; ++n) {
      for (const std::size_t b : graph.at_node[n]) {
        const copper::Branch& branch = graph.branches[b];
        if (within(branch.narrowest) && (!widest || branch.width > widest->width)) widest = &branch;
      }
    }
    if (widest) take_bare(layer, widest->narrowest, {0});
  }

  // The widest place of the pour, where no pad lies on it.
  void pours() {
    if (!ground_.conductors) return;
    for (std::size_t i = 0; i < ground_.copper.islands.size(); ++i) {
      const std::size_t layer = index(ground_.copper.islands[i].layer);
      if (outer(layer) && padded_[i]) pours_of(static_cast<IslandId>(i), layer);
    }
  }

  void pours_of(IslandId island, std::size_t layer) {
    const copper::ConductorGraph& graph = *ground_.conductors;
    const std::size_t first = graph.of_island[index(island)].first;
    const std::size_t last = graph.of_island[index(island)].second;
    Sets wide(last - first);
    std::map<std::size_t, const copper::Branch*> widest;
    std::vector<const copper::Branch*> branches;
    for (std::size_t n = first; n < last; ++n) {
      for (const std::size_t b : graph.at_node[n]) {
        const copper::Branch& branch = graph.branches[b];
        if (branch.a != n || branch.width < kPourWidth) continue;
        wide.unite(branch.a - first, branch.b - first);
        branches.push_back(&branch);
      }
    }
    for (const copper::Branch* b : branches) {
      const copper::Branch*& best = widest[wide.find(b->a - first)];
      if (!best || b->width > best->width) best = b;
    }
    // Further lobes that no pad lies on are loose copper.
    const auto pour =
        std::ranges::max_element(widest, {}, [](const auto& body) { return body.second->width; });
    if (pour == widest.end()) return;
    const auto lies_on = [&](const Pad& pad) {
      return ground_.index.at(ground_.layer(layer), pad.at) == island &&
             wide.find(copper::nearest_node(graph, island, pad.at) - first) == pour->first;
    };
    if (std::ranges::none_of(known_, lies_on) && std::ranges::none_of(found_, lies_on))
      take_bare(layer, pour->second->narrowest, {0});
  }

  const Ground& ground_;
  const Holes& holes_;
  const std::vector<Pad>& known_;
  std::vector<bool> padded_;       // by island
  std::set<std::size_t> tooling_;  // holes that the netlist calls so
  std::vector<Pad> found_;
};

// Points by piece: whose net copper has.
std::vector<std::vector<std::size_t>> points_of_pieces(const Pieces& pieces,
                                                       const StagePoints& stage) {
  std::vector<std::vector<std::size_t>> points(pieces.count);
  for (std::size_t i = 0; i < stage.points.size(); ++i) {
    if (const auto piece = piece_of(pieces, stage.points[i])) points[*piece].push_back(i);
  }
  return points;
}

// The nearest of them where a piece has several nets (tied ones).
std::optional<std::size_t> nearest(const std::vector<std::size_t>& points, const StagePoints& stage,
                                   Position at) {
  const auto best = std::ranges::min_element(
      points, {}, [&](std::size_t i) { return distance_nm(stage.points[i].at, at); });
  return best == points.end() ? std::nullopt : std::optional(*best);
}

// Copper that is joined later has the net of all that will hang on it, where that is one.
std::optional<std::size_t> only_net(const std::vector<std::size_t>& points,
                                    const StagePoints& stage) {
  for (const std::size_t i : points) {
    if (stage.keys[i] != stage.keys[points.front()]) return std::nullopt;
  }
  return points.empty() ? std::nullopt : std::optional(points.front());
}

std::string lowest_island(const Pieces& pieces, std::size_t piece) {
  const auto first = std::ranges::find(pieces.of_island, piece);
  return "#" + std::to_string(first - pieces.of_island.begin());
}

}  // namespace

void add_unlisted(const Ground& ground, const Holes& holes, const std::vector<Pad>& known,
                  const Pieces& pieces, const Pieces& promised, StagePoints& stage) {
  std::vector<Pad> pads = name_pads(Finder(ground, holes, known).run(), holes);
  place_pads(ground, holes, pads);
  std::set<std::string> ids;
  for (const Point& p : stage.points) ids.insert(p.id);
  for (Pad& pad : pads) {
    pad.id = place_name(pad.at);
    for (int k = 2; ids.contains(pad.id) || ids.contains(pad.id + "@top"); ++k)
      pad.id = place_name(pad.at) + "#" + std::to_string(k);
    ids.insert(pad.id);
  }
  const auto now = points_of_pieces(pieces, stage), later = points_of_pieces(promised, stage);
  StagePoints more = points_at_stage(ground, holes, pads);
  for (std::size_t i = 0; i < more.points.size(); ++i) {
    Point& point = more.points[i];
    const auto piece = piece_of(pieces, point);
    if (!piece) continue;
    const std::size_t whole = *piece_of(promised, point);
    auto like = nearest(now[*piece], stage, point.at);
    if (!like) like = only_net(later[whole], stage);
    point.unlisted = true;
    point.required = false;
    point.net = like ? stage.points[*like].net : lowest_island(promised, whole);
    point.net_full = like ? stage.points[*like].net_full : "";
    more.keys[i] = like ? stage.keys[*like] : point.net;
  }
  for (std::size_t i = 0; i < more.points.size(); ++i) {
    if (!more.points[i].unlisted) continue;
    stage.points.push_back(std::move(more.points[i]));
    stage.keys.push_back(std::move(more.keys[i]));
    stage.pad_of.push_back(known.size() + more.pad_of[i]);
  }
}

}  // namespace isthmus::expect
