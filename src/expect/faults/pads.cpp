// SPDX-License-Identifier: Apache-2.0
#include "expect/faults/pads.hpp"

#include <algorithm>

namespace isthmus::expect {

FlashedPads::FlashedPads(const formats::LayerImage& image) {
  for (const formats::Object& o : image.objects) {
    if (o.kind != formats::ObjectKind::flash || !o.dark || o.shape.empty()) continue;
    Pad pad{&o, {}, 0};
    for (const Polygon& p : o.shape) pad.box.add(box_of(p.outer)), pad.area += area_nm2(p);
    widest_ = std::max(widest_, pad.box.hi.x - pad.box.lo.x);
    pads_.push_back(pad);
  }
  std::ranges::sort(pads_, {}, [](const Pad& p) { return p.box.lo.x; });
}

const formats::Object* FlashedPads::under(Position p) const {
  const Pad* best = nullptr;
  auto it = std::ranges::lower_bound(pads_, p.x - widest_, {},
                                     [](const Pad& pad) { return pad.box.lo.x; });
  for (; it != pads_.end() && it->box.lo.x <= p.x; ++it) {
    if (!it->box.contains(p) || (best && it->area >= best->area) || !holds(*it->object, p))
      continue;
    best = &*it;
  }
  return best ? best->object : nullptr;
}

bool holds(const formats::Object& object, Position p) {
  return std::ranges::any_of(
      object.shape, [&](const Polygon& shape) { return locate(p, shape) != Where::outside; });
}

}  // namespace isthmus::expect
