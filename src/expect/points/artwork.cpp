// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "expect/points/points.hpp"

namespace isthmus::expect {
namespace {

using formats::Attributes;
using formats::Object;
using formats::ObjectKind;

std::int64_t third(std::int64_t a, std::int64_t b, std::int64_t c) { return (a + b + c) / 3; }

// A place well inside a polygon: its box's centre, else the middle of the widest ear-like triangle.
Position place_inside(const Polygon& polygon) {
  const Position centre = box_of(polygon.outer).centre();
  if (locate(centre, polygon) == Where::inside) return centre;
  const Contour& c = polygon.outer;
  Position best = c.front();
  double best_area = -1;
  for (std::size_t i = 0; i < c.size(); ++i) {
    const Position a = c[i];
    const Position b = c[(i + 1) % c.size()];
    const Position d = c[(i + 2) % c.size()];
    const Position middle{third(a.x, b.x, d.x), third(a.y, b.y, d.y)};
    const double area = signed_area_nm2({a, b, d});
    if (area <= best_area || locate(middle, polygon) != Where::inside) continue;
    best = middle;
    best_area = area;
  }
  return best;
}

// A flash may be a ring: then a place between its rims, as large as they are apart. Or its origin
// lies beside its copper.
void move_onto_copper(const Object& object, Pad& pad) {
  if (std::ranges::any_of(object.shape,
                          [&](const Polygon& p) { return locate(pad.at, p) != Where::outside; }))
    return;
  for (const Polygon& p : object.shape) {
    if (p.holes.empty()) continue;
    const Position rim = p.outer.front();
    Position nearest = p.holes.front().front();
    for (const Contour& hole : p.holes) {
      for (const Position c : hole) {
        if (distance_nm(c, rim) < distance_nm(nearest, rim)) nearest = c;
      }
    }
    const Position middle{(rim.x + nearest.x) / 2, (rim.y + nearest.y) / 2};
    if (locate(middle, p) != Where::inside) continue;
    pad.at = middle;
    pad.size = {static_cast<std::int64_t>(distance_nm(rim, nearest))};
    return;
  }
  pad.at = place_inside(*std::ranges::max_element(object.shape, {}, area_nm2));
}

bool surface_only(const Attributes& a) {
  return a.aperture_function == "SMDPad" || a.aperture_function == "BGAPad" ||
         a.aperture_function == "HeatsinkPad" || a.aperture_function == "ConnectorPad";
}

// What an object says of itself as a pad; the net is filled by the caller.
Pad pad_of(const Ground& ground, const Holes& holes, std::size_t layer, const Object& object,
           const Attributes& a) {
  Pad pad;
  pad.at = place_of(object);
  pad.size = extent_of(object);
  pad.ref = a.component;
  pad.pin = a.pin;
  pad.access = layer == 0 ? Side::top : Side::bottom;
  pad.via = a.aperture_function == "ViaPad" && a.pin.empty();
  if (pad.via) pad.ref.clear();
  if (!surface_only(a)) pad.hole = hole_at(ground, holes.joins, pad.at);
  pad.through = pad.hole.has_value();
  if (pad.through) pad.access = Side::both;
  if (!pad.through) move_onto_copper(object, pad);
  return pad;
}

template <class Take>
void for_outer_objects(const Ground& ground, Take take) {
  for (std::size_t layer = 0; layer < ground.layers(); ++layer) {
    if (layer != 0 && layer != ground.last()) continue;
    const auto& image = ground.design.copper[layer];
    for (const Object& object : image.objects) {
      if (object.dark && !object.shape.empty()) {
        take(layer, object, image.attributes[object.attributes]);
      }
    }
  }
}

void set_net(Pad& pad, const Attributes& a) {
  pad.unknown_net = !a.nets || a.nets->size() != 1;
  if (!pad.unknown_net) {
    pad.net = a.nets->front();
    pad.net_full = pad.net;
  }
  pad.own_net = pad.unknown_net || pad.net.empty() || pad.net == "N/C";
  if (pad.own_net) pad.net_full.clear();
}

void add_bare_holes(const Holes& holes, std::vector<Pad>& pads) {
  std::vector<bool> seen(holes.joins.size(), false);
  for (const Pad& pad : pads) {
    if (pad.hole) seen[*pad.hole] = true;
  }
  for (std::size_t i = 0; i < holes.joins.size(); ++i) {
    const Join& join = holes.joins[i];
    if (seen[i] || join.islands.empty()) continue;
    Pad pad;
    pad.at = join.at;
    pad.access = Side::both;
    pad.through = true;
    pad.hole = i;
    pad.own_net = true;
    pads.push_back(std::move(pad));
  }
}

}  // namespace

bool is_pad(const Attributes& a) {
  const std::string& f = a.aperture_function;
  return f.size() > 3 && f.compare(f.size() - 3, 3, "Pad") == 0 && f != "FiducialPad" &&
         f != "AntiPad";
}

bool may_be_pad(const Object& object, const Attributes& a) {
  if (object.kind == ObjectKind::stroke) return !a.pin.empty();
  if (object.kind == ObjectKind::region) return !a.pin.empty() || is_pad(a);
  return a.aperture_function.empty() || is_pad(a);
}

Position place_of(const Object& object) {
  if (object.kind == ObjectKind::flash && !object.spine.empty()) return object.spine.front();
  if (object.kind == ObjectKind::stroke && !object.spine.empty()) {
    const auto& s = object.spine;
    if (s.size() % 2 == 1) return s[s.size() / 2];
    const Position a = s[s.size() / 2 - 1];
    const Position b = s[s.size() / 2];
    return {(a.x + b.x) / 2, (a.y + b.y) / 2};
  }
  const auto largest = std::max_element(
      object.shape.begin(), object.shape.end(),
      [](const Polygon& a, const Polygon& b) { return area_nm2(a) < area_nm2(b); });
  return place_inside(*largest);
}

Nanometres extent_of(const Object& object) {
  if (object.width.value > 0) return object.width;
  Box box;
  for (const Polygon& p : object.shape) box.add(box_of(p.outer));
  return {std::min(box.hi.x - box.lo.x, box.hi.y - box.lo.y)};
}

std::vector<Pad> pads_of_x2(const Ground& ground, const Holes& holes) {
  std::vector<Pad> pads;
  for_outer_objects(ground, [&](std::size_t layer, const Object& object, const Attributes& a) {
    // A pad without a pin number is mechanical (GLF 2023.08, 5.6.14): a point only where it has a
    // net.
    const bool named = a.nets && a.nets->size() == 1 && !a.nets->front().empty();
    const bool pin = !a.component.empty() && (!a.pin.empty() || (named && is_pad(a)));
    const bool via = a.aperture_function == "ViaPad" && a.nets && object.kind == ObjectKind::flash;
    if (!pin && !via) return;
    Pad pad = pad_of(ground, holes, layer, object, a);
    set_net(pad, a);
    pads.push_back(std::move(pad));
  });
  return pads;
}

std::vector<Pad> pads_of_artwork(const Ground& ground, const Holes& holes) {
  std::vector<Pad> pads;
  for_outer_objects(ground, [&](std::size_t layer, const Object& object, const Attributes& a) {
    if (!may_be_pad(object, a)) return;
    Pad pad = pad_of(ground, holes, layer, object, a);
    if (pad.pin.empty()) pad.ref.clear();
    pad.own_net = true;
    pads.push_back(std::move(pad));
  });
  add_bare_holes(holes, pads);
  return pads;
}

}  // namespace isthmus::expect
