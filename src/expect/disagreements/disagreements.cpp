// SPDX-License-Identifier: Apache-2.0
#include "expect/disagreements/disagreements.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <span>

namespace isthmus::expect {
namespace {

constexpr double kRound = 1'000;  // 1 um: what chords and integer rounding may differ by

// Net names and one point each of what lies on an island; "#<island>" where nothing does.
void name_island(const Case& c, IslandId island, std::set<std::string>& nets,
                 std::vector<std::string>& points) {
  std::set<std::string> here;
  for (const Point& point : c.stage.points) {
    const auto& on = point.islands[index(c.ground.copper.island(island).layer)];
    if (on == island && here.insert(point.net).second) points.push_back(point.id);
  }
  if (here.empty()) here.insert("#" + std::to_string(index(island)));
  nets.insert(here.begin(), here.end());
}

std::string side_name(const Ground& ground, std::size_t layer) {
  return layer_name(ground.layer(layer), ground.layers());
}

// Whether the rim of the hole leaves the copper: an edge of the outline comes nearer to the axis
// than the radius and does not stay inside the hole, or the whole outline lies inside it.
class Rim {
 public:
  Rim(std::span<const formats::Hole> legs, Nanometres diameter)
      : legs_(legs), radius_(static_cast<double>(diameter.value) / 2) {
    for (const auto& leg : legs) {
      box_.add(leg.from);
      box_.add(leg.to);
    }
    box_ = box_.grown(diameter / 2);
  }

  [[nodiscard]] bool leaves(const Polygon& outline) const {
    if (enters(outline.outer)) return true;
    return std::any_of(outline.holes.begin(), outline.holes.end(),
                       [&](const Contour& c) { return enters(c) && !stays(c); });
  }

 private:
  [[nodiscard]] double axis_distance(const Segment& edge) const {
    double d = -1;
    for (const auto& leg : legs_) {
      const double one = closest(edge, Segment{leg.from, leg.to}).distance_nm;
      if (d < 0 || one < d) d = one;
    }
    return d;
  }
  [[nodiscard]] bool enters(const Contour& c) const {
    for (std::size_t i = 0; i < c.size(); ++i) {
      const Segment edge{c[i], c[(i + 1) % c.size()]};
      Box box;
      box.add(edge.a);
      box.add(edge.b);
      if (box.overlaps(box_) && axis_distance(edge) < radius_ - kRound) return true;
    }
    return false;
  }
  [[nodiscard]] bool stays(const Contour& c) const {
    return std::all_of(c.begin(), c.end(), [&](Position p) {
      return axis_distance({p, p}) <= radius_ + kRound;
    });
  }

  std::span<const formats::Hole> legs_;
  double radius_;
  Box box_;
};

// Pads of the artwork, by their own word or by their hole, on copper that no record of the netlist
// knows: the netlist may be of an older revision. One a piece of copper, with all its pads.
void find_unlisted_pads(const Case& c, std::vector<Disagreement>& found) {
  std::set<std::size_t> known;
  std::map<std::size_t, std::size_t> said;  // piece -> index into found
  for (const Pad& pad : c.pads) {
    for (const auto& island : pad.islands) {
      if (island) known.insert(c.promised.of(*island));
    }
  }
  std::vector<Pad> drawn = name_pads(pads_of_artwork(c.ground, c.holes), c.holes);
  place_pads(c.ground, c.holes, drawn);
  // A lone hole that is called unplated is for a screw; of two one copper, a lead goes into each.
  std::map<std::size_t, std::size_t> holes_on;
  for (const Pad& pad : drawn) {
    if (!pad.hole) continue;
    for (const auto& island : pad.islands) {
      if (island) ++holes_on[c.promised.of(*island)];
    }
  }
  const auto lone = [&](const Pad& pad) {
    return c.holes.tooling[*pad.hole] && std::ranges::none_of(pad.islands, [&](const auto& island) {
             return island && holes_on[c.promised.of(*island)] > 1;
           });
  };
  for (const Pad& pad : drawn) {
    if (pad.pin.empty() && (!pad.hole || lone(pad))) continue;
    for (std::size_t layer = 0; layer < pad.islands.size(); ++layer) {
      const auto& island = pad.islands[layer];
      if (!island || !c.ground.counts(layer)) continue;
      const std::size_t piece = c.promised.of(*island);
      if (known.contains(piece)) continue;
      if (const auto at = said.find(piece); at != said.end()) {
        auto& points = found[at->second].points;
        if (points.back() != pad.id) points.push_back(pad.id);
        continue;
      }
      said[piece] = found.size();
      found.push_back({DisagreementKind::no_net,
                       {"#" + std::to_string(index(*island))},
                       {pad.id},
                       pad.at,
                       side_name(c.ground, layer)});
    }
  }
}

}  // namespace

std::vector<Disagreement> find_missing_copper(const Case& c) {
  std::vector<Disagreement> found;
  for (const Point& point : c.stage.points) {
    if (piece_of(c.pieces, point)) continue;
    Disagreement d;
    d.kind = DisagreementKind::no_copper;
    d.nets = {point.net};
    d.points = {point.id};
    d.at = point.at;
    d.side = name(point.side);
    found.push_back(std::move(d));
  }
  return found;
}

std::vector<Disagreement> find_missing_nets(const Case& c) {
  std::vector<Disagreement> found;
  std::set<std::size_t> seen;
  for (std::size_t i = 0; i < c.stage.points.size(); ++i) {
    const Pad& pad = c.pads[c.stage.pad_of[i]];
    if (!pad.unknown_net || !seen.insert(c.stage.pad_of[i]).second) continue;
    const Point& point = c.stage.points[i];
    found.push_back({DisagreementKind::no_net,
                     {point.net},
                     {point.id},
                     point.at,
                     std::string(name(point.side))});
  }
  if (c.ground.design.netlist) find_unlisted_pads(c, found);
  return found;
}

std::vector<Disagreement> find_breakouts(const Case& c) {
  std::vector<Disagreement> found;
  std::set<std::pair<std::size_t, IslandId>> seen;
  for (const Point& point : c.stage.points) {
    if (!point.join) continue;
    const Join& join = c.holes.joins[*point.join];
    const auto legs = legs_of(c.ground.design, join.hole);
    for (std::size_t layer = 0; layer < point.islands.size(); ++layer) {
      const auto& island = point.islands[layer];
      if (!island || !c.ground.counts(layer) || !seen.insert({*point.join, *island}).second)
        continue;
      const Rim rim(legs, join.diameter);
      if (!rim.leaves(c.ground.copper.island(*island).outline)) continue;
      found.push_back({DisagreementKind::breakout,
                       {point.net},
                       {point.id},
                       join.at,
                       side_name(c.ground, layer)});
    }
  }
  return found;
}

std::vector<Disagreement> find_marginals(const Case& c) {
  std::vector<Disagreement> found;
  for (const auto& marginal : c.ground.copper.marginals) {
    if (!c.ground.counts(index(marginal.layer))) continue;
    std::set<std::string> nets;
    Disagreement d;
    d.kind = DisagreementKind::marginal;
    name_island(c, marginal.a, nets, d.points);
    if (marginal.b != marginal.a) name_island(c, marginal.b, nets, d.points);
    d.nets.assign(nets.begin(), nets.end());
    d.at = marginal.at;
    d.side = side_name(c.ground, index(marginal.layer));
    found.push_back(std::move(d));
  }
  return found;
}

}  // namespace isthmus::expect
