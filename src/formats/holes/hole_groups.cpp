// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/hole_groups.hpp"

#include <algorithm>
#include <set>

#include "isthmus/base/by_left_edge.hpp"

namespace isthmus::formats {
namespace {

constexpr std::int64_t kViaAtMost = 500'000;  // nm; common practice, no source
constexpr std::int64_t kReach = 100'000;      // nm from a record to its hole

Box box_of(const Object& o) {
  Box box;
  for (const Polygon& p : o.shape) box.add(isthmus::box_of(p.outer));
  return box;
}

using Objects = ByLeftEdge<const Object*>;

Objects dark_objects(const LayerImage& layer) {
  Objects list;
  for (const Object& o : layer.objects) {
    if (o.dark && !o.shape.empty()) list.add(box_of(o), &o);
  }
  list.sort();
  return list;
}

bool holds(const Object& o, Position p) {
  return std::ranges::any_of(
      o.shape, [&](const Polygon& g) { return locate(p, g.outer) != Where::outside; });
}

bool edges_meet(const Contour& a, const Contour& b) {
  for (std::size_t i = 0; i < a.size(); ++i) {
    const Segment one{a[i], a[(i + 1) % a.size()]};
    Box box;
    box.add(one.a);
    box.add(one.b);
    for (std::size_t j = 0; j < b.size(); ++j) {
      const Segment other{b[j], b[(j + 1) % b.size()]};
      Box there;
      there.add(other.a);
      there.add(other.b);
      if (box.overlaps(there) && closest(one, other).distance_nm <= 0) return true;
    }
  }
  return false;
}

bool touch(const Object& a, const Object& b) {
  for (const Polygon& p : a.shape) {
    for (const Polygon& q : b.shape) {
      if (locate(p.outer[0], q.outer) != Where::outside) return true;
      if (locate(q.outer[0], p.outer) != Where::outside) return true;
      if (edges_meet(p.outer, q.outer)) return true;
    }
  }
  return false;
}

class Grouper {
 public:
  explicit Grouper(const Design& design) : design_(design) {
    for (const LayerImage& layer : design.copper) layers_.push_back(dark_objects(layer));
  }

  std::vector<GroupedHole> all() const {
    std::vector<GroupedHole> out;
    std::set<Position> seen;
    for (std::size_t i = 0; i < design_.holes.size(); ++i) {
      const Hole& h = design_.holes[i];
      const bool leg = i > 0 && h.slot >= 0 && h.slot == design_.holes[i - 1].slot;
      if (leg || !h.plated.value_or(true)) continue;
      const Position at{h.from.x + (h.to.x - h.from.x) / 2, h.from.y + (h.to.y - h.from.y) / 2};
      if (!seen.insert(at).second) continue;
      if (auto found = group(i, at)) out.push_back(std::move(*found));
    }
    std::ranges::stable_sort(out, {}, &GroupedHole::group);
    return out;
  }

 private:
  struct Copper {
    int layers{};  // with copper at the hole
    int wired{};   // with more copper than the hole's own pad
    bool via_pad{}, component_pad{};
  };

  std::optional<GroupedHole> group(std::size_t hole, Position at) const {
    const Hole& h = design_.holes[hole];
    GroupedHole out{hole, at, HoleGroup::component, ""};
    bool via = false, part = false;
    if (const NetlistRecord* r = record_at(at, h)) {
      if (r->kind == FeatureKind::tooling) return std::nullopt;
      via = r->ref == "VIA";
      part = !via && !r->ref.empty();
      out.point = r->pin.empty() ? r->ref : r->ref + "." + r->pin;
    }
    const Copper copper = copper_at(h, at, out.point);
    if (copper.layers < 2) return std::nullopt;
    via = via || (!part && copper.via_pad);
    part = part || copper.component_pad;
    if (!part && h.diameter.value <= kViaAtMost) via = true;
    out.group = via ? HoleGroup::via : copper.wired <= 1 ? HoleGroup::lead : HoleGroup::component;
    return out;
  }

  const NetlistRecord* record_at(Position at, const Hole& h) const {
    if (!design_.netlist) return nullptr;
    const auto reach = static_cast<double>(std::max(h.diameter.value / 2, kReach));
    const NetlistRecord* best = nullptr;
    double nearest = reach;
    for (const NetlistRecord& r : design_.netlist->records) {
      if (r.kind == FeatureKind::surface) continue;
      const double d = distance_nm(r.hole_at.value_or(r.at), at);
      if (d > nearest || (best != nullptr && d == nearest)) continue;
      best = &r;
      nearest = d;
    }
    return best;
  }

  Copper copper_at(const Hole& h, Position at, std::string& point) const {
    Copper out;
    const std::int64_t r = h.diameter.value / 2 + 1;
    Box here;
    for (const Position end : {h.from, h.to, at}) {
      here.add(Position{end.x - r, end.y - r});
      here.add(Position{end.x + r, end.y + r});
    }
    for (std::size_t layer = 0; layer < layers_.size(); ++layer) {
      const int number = static_cast<int>(layer) + 1;
      if (h.span && (number < h.span->first || number > h.span->second)) continue;
      look(layer, here, at, out, point);
    }
    return out;
  }

  // Own pads are flashes about the hole's middle; a drawn pad counts as other copper.
  void look(std::size_t layer, const Box& here, Position at, Copper& out,
            std::string& point) const {
    std::vector<const Object*> own;
    bool any = false, other = false;
    layers_[layer].each_over(here, [&](const Object* object) {
      const Object& o = *object;
      const bool mine = o.kind == ObjectKind::flash && !o.spine.empty() &&
                        distance_nm(o.spine[0], at) <= static_cast<double>(kReach);
      if (mine) {
        own.push_back(&o);
        const Attributes& a = design_.copper[layer].attributes[o.attributes];
        out.via_pad |= a.aperture_function == "ViaPad";
        out.component_pad |= a.aperture_function == "ComponentPad";
        if (point.empty() && !a.component.empty()) {
          point = a.pin.empty() ? a.component : a.component + "." + a.pin;
        }
      } else {
        other |= holds(o, at);
      }
      any |= mine || holds(o, at);
      return true;
    });
    for (const Object* pad : own) {
      if (other) break;
      layers_[layer].each_over(box_of(*pad), [&](const Object* o) {
        const bool mine = std::ranges::find(own, o) != own.end();
        other = !mine && touch(*pad, *o);
        return !other;
      });
    }
    out.layers += any ? 1 : 0;
    out.wired += other ? 1 : 0;
  }

  const Design& design_;
  std::vector<Objects> layers_;
};

}  // namespace

std::string_view name(HoleGroup g) {
  switch (g) {
    case HoleGroup::via:
      return "via";
    case HoleGroup::component:
      return "component";
    case HoleGroup::lead:
      return "lead";
  }
  return "";
}

std::vector<GroupedHole> grouped_holes(const Design& design) { return Grouper(design).all(); }

std::vector<JoinEntry> joins_of_groups(const Design& design) {
  std::vector<JoinEntry> out;
  for (const GroupedHole& h : grouped_holes(design)) {
    const auto& join = design.board.join_groups[static_cast<std::size_t>(h.group)];
    if (join) out.push_back({h.at, join->kind, join->deferred});
  }
  return out;
}

}  // namespace isthmus::formats
