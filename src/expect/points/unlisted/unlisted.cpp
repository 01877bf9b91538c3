// SPDX-License-Identifier: Apache-2.0
// Places of copper that no record names: it must hang together all the same.
#include <algorithm>
#include <set>
#include <tuple>

#include "expect/faults/pads.hpp"
#include "expect/groups/groups.hpp"
#include "expect/points/unlisted/finds.hpp"

namespace isthmus::expect {
namespace {

using formats::Object;
using formats::ObjectKind;

constexpr Nanometres kLeastSize = 250_um;  // smaller flashes end strokes; no lead is soldered there
constexpr Nanometres kLeastBlob = 400_um;

class Finder {
 public:
  Finder(const Ground& ground, const Holes& holes, const std::vector<Pad>& known)
      : ground_(ground), holes_(holes), known_(known), finds_(ground, holes, known) {
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
      finds_.take(std::move(pad));
    }
    tagged_flashes();
    openings(ground_.design.mask_top, 0);
    if (ground_.last() > 0) openings(ground_.design.mask_bottom, ground_.last());
    link_ends();
    blobs();
    find_drawn_pads(finds_);
    find_dead_ends(finds_);
    find_bare_copper(finds_);
    find_pours(finds_);
    find_second_ways(finds_);
    return std::move(finds_.found);
  }

 private:
  // A flash that calls itself something else than a pad may be soldered all the same, where it is
  // wider than the strokes that end in it (one no wider rounds their ends) and copper leads on.
  void tagged_flashes() {
    for (std::size_t l = 0; l < ground_.layers(); ++l) {
      if (!finds_.outer(l)) continue;
      const formats::LayerImage& image = ground_.design.copper[l];
      for (const Object& o : image.objects) {
        if (!o.dark || o.kind != ObjectKind::flash || o.shape.empty() ||
            extent_of(o) < kLeastSize || may_be_pad(o, image.attributes[o.attributes]))
          continue;
        if (leads_on(o, l) && !rounds_a_stroke(image, o))
          finds_.take_bare(l, place_of(o), extent_of(o));
      }
    }
  }

  bool leads_on(const Object& flash, std::size_t layer) const {
    const auto island = ground_.index.at(ground_.layer(layer), place_of(flash));
    double own = 0;
    for (const Polygon& p : flash.shape) own += area_nm2(p);
    return island && ground_.copper.island(*island).area_nm2 > 1.01 * own &&
           !hole_at(ground_, holes_.joins, place_of(flash));
  }

  static bool rounds_a_stroke(const formats::LayerImage& image, const Object& flash) {
    return std::ranges::any_of(image.objects, [&](const Object& o) {
      return o.dark && o.kind == ObjectKind::stroke && o.width >= flash.width && !o.spine.empty() &&
             (holds(flash, o.spine.front()) || holds(flash, o.spine.back()));
    });
  }

  void openings(const std::optional<formats::LayerImage>& mask, std::size_t layer) {
    if (!mask || !finds_.outer(layer)) return;
    for (const Object& o : mask->objects) {
      if (!o.dark || o.shape.empty()) continue;
      const Position at = place_of(o);
      const auto island = ground_.index.at(ground_.layer(layer), at);
      if (island && !within_pad(o, layer)) finds_.take_bare(layer, at, {0});
    }
  }

  // An opening round a pad is the pad's own.
  [[nodiscard]] bool within_pad(const Object& opening, std::size_t layer) const {
    const Side side = layer == 0 ? Side::top : Side::bottom;
    return std::ranges::any_of(
               known_,
               [&](const Pad& pad) { return pad.islands[layer] && holds(opening, pad.at); }) ||
           std::ranges::any_of(finds_.found, [&](const Pad& pad) {
             return meet(pad.access, side) && holds(opening, pad.at);
           });
  }

  // Copper that a wire is to bring to a net: whoever draws the wire wants it on.
  void link_ends() {
    if (!joins_count(ground_.stage())) return;
    const auto links = find_links(ground_);
    if (!links) return;
    for (bool more = true; more;) {  // from wire to wire
      more = false;
      for (const Link& link : *links) {
        const bool from = finds_.padded(link.from), to = finds_.padded(link.to);
        if (from == to) continue;
        const Position at = from ? link.to_at : link.from_at;
        const IslandId island = from ? link.to : link.from;
        // As near to its copper as an end may be.
        finds_.take_bare(index(ground_.copper.island(island).layer), at, 300_um);
        more = more || finds_.padded(island);
      }
    }
  }

  // Copper of strokes and areas without a pad: its areas are drawn pads. Strokes alone, or areas
  // alone, are text and pictures.
  void blobs() {
    std::set<IslandId> stroked, bare;
    std::vector<std::tuple<std::size_t, Position, Nanometres>> areas;
    for (std::size_t l = 0; l < ground_.layers(); ++l) {
      if (!finds_.outer(l)) continue;
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
    for (const auto& [l, at, size] : areas) {
      const auto island = ground_.index.at(ground_.layer(l), at);
      if (!island || !stroked.contains(*island)) continue;
      if (!finds_.padded(*island)) bare.insert(*island);
      if (bare.contains(*island)) finds_.take_bare(l, at, size);
    }
  }

  const Ground& ground_;
  const Holes& holes_;
  const std::vector<Pad>& known_;
  Finds finds_;
  std::set<std::size_t> tooling_;  // holes that the netlist calls so
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
