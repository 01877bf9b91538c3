// SPDX-License-Identifier: Apache-2.0
#include "expect/faults/pads.hpp"

#include <algorithm>

namespace isthmus::expect {

FlashedPads::FlashedPads(const formats::LayerImage& image) {
  for (const formats::Object& o : image.objects) {
    if (o.kind != formats::ObjectKind::flash || !o.dark || o.shape.empty()) continue;
    Box box;
    Pad pad{&o, 0};
    for (const Polygon& p : o.shape) box.add(box_of(p.outer)), pad.area += area_nm2(p);
    pads_.add(box, pad);
  }
  pads_.sort();
}

const formats::Object* FlashedPads::under(Position p) const {
  const Pad* best = nullptr;
  pads_.each_over({p, p}, [&](const Pad& pad) {
    if ((!best || pad.area < best->area) && holds(*pad.object, p)) best = &pad;
    return true;
  });
  return best ? best->object : nullptr;
}

bool holds(const formats::Object& object, Position p) {
  return std::ranges::any_of(
      object.shape, [&](const Polygon& shape) { return locate(p, shape) != Where::outside; });
}

}  // namespace isthmus::expect
