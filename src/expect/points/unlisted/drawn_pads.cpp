// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <map>

#include "expect/faults/pads.hpp"
#include "expect/points/unlisted/finds.hpp"

namespace isthmus::expect {
namespace {

using formats::Object;
using formats::ObjectKind;

constexpr Nanometres kLeastBlob = 400_um;  // no lead is soldered to less
constexpr std::int64_t kSlimmer = 3;       // a track is at most 2/3 as wide as the pad it ends in

// Ends of strokes of one layer, by x.
struct End {
  Position at;
  Nanometres width{};
  std::size_t object{};
};

std::vector<End> ends_of(const formats::LayerImage& image) {
  std::vector<End> ends;
  for (std::size_t i = 0; i < image.objects.size(); ++i) {
    const Object& o = image.objects[i];
    if (o.kind != ObjectKind::stroke || !o.dark || o.shape.empty() || o.spine.empty()) continue;
    ends.push_back({o.spine.front(), o.width, i});
    if (o.spine.back() != o.spine.front()) ends.push_back({o.spine.back(), o.width, i});
  }
  std::ranges::sort(ends, {}, [](const End& e) { return std::tuple(e.at.x, e.at.y, e.object); });
  return ends;
}

template <class Take>
void for_ends_in(const std::vector<End>& ends, const Box& box, Take take) {
  auto at = std::ranges::lower_bound(ends, box.lo.x, {}, [](const End& e) { return e.at.x; });
  for (; at != ends.end() && at->at.x <= box.hi.x; ++at) {
    if (box.contains(at->at)) take(*at);
  }
}

Box grown(Box box, std::int64_t by) {
  return {{box.lo.x - by, box.lo.y - by}, {box.hi.x + by, box.hi.y + by}};
}

Box box_of_object(const Object& o) {
  Box box;
  for (const Polygon& p : o.shape) box.add(box_of(p.outer));
  return box;
}

bool slimmer(Nanometres track, Nanometres pad) { return track.value * kSlimmer <= pad.value * 2; }

// Drawn pads of one layer.
class Layer {
 public:
  Layer(Finds& finds, std::size_t layer)
      : finds_(finds),
        layer_(layer),
        image_(finds.ground().design.copper[layer]),
        ends_(ends_of(image_)) {}

  void run() {
    for (const Object& o : image_.objects) {
      if (o.dark && o.kind == ObjectKind::region && !o.shape.empty()) area(o);
    }
    strokes();
  }

 private:
  // A pad of its own copper that meets the shapes, as far as its size says.
  [[nodiscard]] bool has_pad(IslandId island, const std::vector<Polygon>& shapes) const {
    return finds_.any_on(island, layer_, [&](const Pad& pad) {
      return finds_.stands(pad) && std::ranges::any_of(shapes, [&](const Polygon& p) {
               return finds_.meets(pad, layer_, p);
             });
    });
  }

  void take(const Object& o, const std::vector<Polygon>& shapes, Position at) {
    const Ground& ground = finds_.ground();
    const auto island = ground.index.at(ground.layer(layer_), at);
    if (island && finds_.padded(*island) && !has_pad(*island, shapes))
      finds_.take_bare(layer_, at, extent_of(o));
  }

  void area(const Object& o) {
    const Nanometres extent = extent_of(o);
    if (extent < kLeastBlob || extent >= kLeastArea) return;
    const bool met = std::ranges::any_of(image_.objects, [&](const Object& stroke) {
      return stroke.kind == ObjectKind::stroke && stroke.dark && slimmer(stroke.width, extent) &&
             meets(o, stroke.spine);
    });
    if (met) take(o, o.shape, place_of(o));
  }

  static bool meets(const Object& area, const std::vector<Position>& spine) {
    const Box box = box_of_object(area);
    for (std::size_t i = 0; i < spine.size(); ++i) {
      if (holds(area, spine[i])) return true;
      if (i == 0) continue;
      const Segment way{spine[i - 1], spine[i]};
      if (std::max(way.a.x, way.b.x) < box.lo.x || std::min(way.a.x, way.b.x) > box.hi.x ||
          std::max(way.a.y, way.b.y) < box.lo.y || std::min(way.a.y, way.b.y) > box.hi.y)
        continue;
      if (std::ranges::any_of(area.shape, [&](const Polygon& p) { return crossed(p.outer, way); }))
        return true;
    }
    return false;
  }

  static bool crossed(const Contour& c, const Segment& way) {
    for (std::size_t i = 0, j = c.size() - 1; i < c.size(); j = i++) {
      if (crosses_or_touches(way, {c[j], c[i]})) return true;
    }
    return false;
  }

  // Strokes of one width whose ends meet are one pad, where together they are short.
  void strokes() {
    Sets sets(image_.objects.size());
    for (const End& e : ends_) {
      if (e.width < kLeastBlob) continue;
      for_ends_in(ends_, grown({e.at, e.at}, e.width.value / 2), [&](const End& other) {
        if (other.width == e.width) sets.unite(e.object, other.object);
      });
    }
    std::vector<Box> boxes(image_.objects.size());
    for (const End& e : ends_) {
      if (e.width >= kLeastBlob) boxes[sets.find(e.object)].add(e.at);
    }
    for (std::size_t i = 0; i < boxes.size(); ++i) {
      if (!boxes[i].empty()) stroke(image_.objects[i], boxes[i], sets, i);
    }
  }

  void stroke(const Object& o, const Box& spines, Sets& sets, std::size_t set) {
    const std::int64_t longest = std::max(spines.hi.x - spines.lo.x, spines.hi.y - spines.lo.y);
    if (longest > 2 * o.width.value) return;
    bool track = false, broad = false;
    for_ends_in(ends_, grown(spines, o.width.value / 2), [&](const End& e) {
      if (sets.find(e.object) == set) return;
      (slimmer(e.width, o.width) ? track : broad) = true;
    });
    if (track && !broad) take(o, shapes_of(sets, set), place_of(o));
  }

  std::vector<Polygon> shapes_of(Sets& sets, std::size_t set) const {
    std::vector<Polygon> shapes;
    for (const End& e : ends_) {
      if (sets.find(e.object) != set) continue;
      const auto& more = image_.objects[e.object].shape;
      shapes.insert(shapes.end(), more.begin(), more.end());
    }
    return shapes;
  }

  Finds& finds_;
  std::size_t layer_;
  const formats::LayerImage& image_;
  std::vector<End> ends_;
};

// Of each island of known copper that the opening lays bare, and that has no pad in it: the place
// nearest to its middle.
void lay_bare(Finds& finds, std::size_t layer, const Object& opening,
              const std::vector<const copper::Node*>& nodes) {
  const Box box = box_of_object(opening);
  std::map<IslandId, const copper::Node*> best;
  auto at =
      std::ranges::lower_bound(nodes, box.lo.x, {}, [](const copper::Node* n) { return n->at.x; });
  for (; at != nodes.end() && (*at)->at.x <= box.hi.x; ++at) {
    if (!finds.padded((*at)->island) || !box.contains((*at)->at) || !holds(opening, (*at)->at))
      continue;
    const copper::Node*& nearest = best[(*at)->island];
    if (!nearest || distance_nm((*at)->at, box.centre()) < distance_nm(nearest->at, box.centre()))
      nearest = *at;
  }
  for (const auto& [island, node] : best) {
    const bool pad =
        finds.any_on(island, layer, [&](const Pad& p) { return holds(opening, p.at); });
    if (!pad) finds.take_bare(layer, node->at, {0});
  }
}

}  // namespace

void find_drawn_pads(Finds& finds) {
  for (std::size_t l = 0; l < finds.ground().layers(); ++l) {
    if (finds.outer(l)) Layer(finds, l).run();
  }
}

void find_bare_copper(Finds& finds) {
  const Ground& ground = finds.ground();
  if (!ground.conductors) return;
  for (std::size_t l = 0; l < ground.layers(); ++l) {
    const auto& mask = l == 0 ? ground.design.mask_top : ground.design.mask_bottom;
    if (!finds.outer(l) || !mask) continue;
    std::vector<const copper::Node*> nodes;
    for (const copper::Node& n : ground.conductors->nodes) {
      if (ground.copper.island(n.island).layer == ground.layer(l)) nodes.push_back(&n);
    }
    std::ranges::sort(nodes, {}, [](const copper::Node* n) { return n->at.x; });
    for (const Object& o : mask->objects) {
      if (o.dark && !o.shape.empty()) lay_bare(finds, l, o, nodes);
    }
  }
}

}  // namespace isthmus::expect
