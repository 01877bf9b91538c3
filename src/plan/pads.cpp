// SPDX-License-Identifier: Apache-2.0
#include "plan/pads.hpp"

#include <algorithm>
#include <cstdlib>

namespace isthmus::plan {
namespace {

// Without a pad's shape a place is good to a tenth of a millimetre, as for points without a size.
constexpr double kUnsizedReach = 100'000;
// A painted pad's middle and size may be off by so much. Common practice, no source.
constexpr std::int64_t kPaintedOff = 50'000;

bool within(std::int64_t a, std::int64_t b) { return std::abs(a - b) <= kPaintedOff; }

bool is_conductor(const formats::LayerImage& image, const formats::Object& object) {
  return image.attributes[object.attributes].aperture_function == "Conductor";
}

}  // namespace

Pads::Pads(const expect::Board& board, Side side) : board_(board) {
  if (board.design.copper.empty()) return;
  layer_ = side == Side::bottom ? board.design.copper.size() - 1 : 0;
  for (const formats::Object& object : board.design.copper[layer_].objects) {
    if (object.kind != formats::ObjectKind::flash || !object.dark) continue;
    for (const Polygon& shape : object.shape) {
      const Box box = box_of(shape.outer);
      flashes_.add(box, {&shape, box, object.shape.size() == 1 && shape.holes.empty()});
    }
  }
  flashes_.sort();
}

const Pad* Pads::flash_at(Position p) const {
  const Pad* best = nullptr;
  double best_area = 0;
  flashes_.each_over({p, p}, [&](const Pad& pad) {
    if (locate(p, pad.shape->outer) == Where::outside) return true;
    const double area = std::abs(signed_area_nm2(pad.shape->outer));
    if (best && area >= best_area) return true;
    best = &pad;
    best_area = area;
    return true;
  });
  return best;
}

bool Pads::on_pad_of(const expect::Point& point, Position place) const {
  if (const Pad* pad = flash_at(point.at))
    return locate(place, pad->shape->outer) != Where::outside;
  const double reach = std::max(static_cast<double>(point.size.value) / 2, kUnsizedReach);
  return distance_nm(point.at, place) <= reach || on_painted_pad(point, place);
}

// A track ends at its pad, and a pour is larger: neither lies centred on the point in its size.
bool Pads::on_painted_pad(const expect::Point& point, Position place) const {
  if (point.size.value == 0 || layer_ >= board_.design.copper.size()) return false;
  const formats::LayerImage& image = board_.design.copper[layer_];
  return std::ranges::any_of(image.objects, [&](const formats::Object& object) {
    if (object.kind == formats::ObjectKind::flash || !object.dark || object.shape.size() != 1 ||
        is_conductor(image, object))
      return false;
    const Box box = box_of(object.shape[0].outer);
    const Position middle = box.centre();
    const std::int64_t smaller = std::min(box.hi.x - box.lo.x, box.hi.y - box.lo.y);
    return within(middle.x, point.at.x) && within(middle.y, point.at.y) &&
           within(smaller, point.size.value) &&
           locate(place, object.shape[0].outer) != Where::outside;
  });
}

}  // namespace isthmus::plan
