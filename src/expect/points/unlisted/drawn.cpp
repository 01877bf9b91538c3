// SPDX-License-Identifier: Apache-2.0
#include "expect/points/unlisted/drawn.hpp"

#include <algorithm>
#include <limits>

#include "expect/faults/pads.hpp"
#include "expect/points/points.hpp"
#include "expect/rim.hpp"

namespace isthmus::expect {
namespace {

using formats::Object;
using formats::ObjectKind;

double distance_to_rim(const Polygon& shape, Position p) {
  double best = nearest_edge_nm(p, shape.outer);
  for (const Contour& hole : shape.holes) best = std::min(best, nearest_edge_nm(p, hole));
  return best;
}

// Grows with the width, however long it is.
double compactness(const Object* o) {
  double area = 0, rim = 0;
  for (const Polygon& p : o->shape) {
    area += area_nm2(p);
    for (std::size_t i = 0, j = p.outer.size() - 1; i < p.outer.size(); j = i++)
      rim += distance_nm(p.outer[j], p.outer[i]);
  }
  return area / rim;
}

bool short_stroke(const Object& o) {
  Box box;
  for (const Position p : o.spine) box.add(p);
  return std::max(box.hi.x - box.lo.x, box.hi.y - box.lo.y) <= 2 * o.width.value;
}

}  // namespace

Drawn::Drawn(const formats::LayerImage& image) {
  for (const Object& o : image.objects) {
    Box box;
    for (const Polygon& p : o.shape) box.add(box_of(p.outer));
    if (o.dark && !box.empty()) objects_.add(box, &o);
  }
  objects_.sort();
}

std::vector<const Object*> Drawn::over(Position p) const {
  std::vector<const Object*> found;
  objects_.each_over({p, p}, [&](const Object* o) {
    if (holds(*o, p)) found.push_back(o);
    return true;
  });
  std::ranges::sort(found);  // all of one vector
  return found;
}

DrawnPads::DrawnPads(const formats::LayerImage& image) {
  for (const Object& o : image.objects) {
    if (!o.dark || o.shape.empty()) continue;
    Box box;
    for (const Polygon& p : o.shape) box.add(box_of(p.outer));
    if (o.kind == ObjectKind::flash) {
      flashes_.add(box, &o);
    } else if (o.kind == ObjectKind::region
                   ? extent_of(o) < kLeastArea || is_pad(image.attributes[o.attributes])
                   : short_stroke(o)) {
      others_.add(box, &o);
    }
  }
  flashes_.sort();
  others_.sort();
}

std::vector<const Object*> DrawnPads::over(Position p) const {
  std::vector<const Object*> found;
  for (const auto* list : {&flashes_, &others_}) {
    list->each_over({p, p}, [&](const Object* o) {
      if (holds(*o, p)) found.push_back(o);
      return true;
    });
    if (!found.empty()) break;
  }
  // A track drawn as an area may lead to the middle of its pad.
  if (found.size() > 1 && found.front()->kind != ObjectKind::flash)
    found = {*std::ranges::max_element(found, {}, compactness)};
  return found;
}

double distance_to(const Polygon& shape, Position p) {
  return locate(p, shape) != Where::outside ? 0 : distance_to_rim(shape, p);
}

double distance_to(const Object& object, Position p) {
  double best = std::numeric_limits<double>::infinity();
  for (const Polygon& shape : object.shape) best = std::min(best, distance_to(shape, p));
  return best;
}

double clearance(const copper::Island& island, Position p) {
  double best = 0;
  for (std::size_t i = 0; i < island.pieces(); ++i) {
    if (locate(p, island.piece(i)) != Where::outside)
      best = std::max(best, distance_to_rim(island.piece(i), p));
  }
  return best;
}

}  // namespace isthmus::expect
