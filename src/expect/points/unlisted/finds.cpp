// SPDX-License-Identifier: Apache-2.0
#include "expect/points/unlisted/finds.hpp"

#include <utility>

#include "expect/faults/pads.hpp"
#include "expect/sight.hpp"
#include "isthmus/expect/fault_list.hpp"

namespace isthmus::expect {
namespace {

constexpr double kSamePlace = 125'000;  // nm

}  // namespace

Finds::Finds(const Ground& ground, const Holes& holes, const std::vector<Pad>& known)
    : ground_(ground), holes_(holes), known_(known), padded_(ground.copper.islands.size(), false) {
  for (const Pad& pad : known) note(pad);
  for (const formats::LayerImage& image : ground.design.copper) drawn_.emplace_back(image);
}

void Finds::note(const Pad& pad) {
  for (const auto& island : pad.islands) {
    if (island) padded_[index(*island)] = true;
  }
}

bool Finds::same_place(const Pad& a, const Pad& b) const {
  // The two ends of a slot are two places; a pad round all of it is none of its own.
  if (a.hole && a.hole == b.hole && !at_end_of_slot(a)) return true;
  if (a.hole && b.hole && a.hole != b.hole) return false;
  // A hole in a pad leads to the other side, unless the pad's record meant it; a joined via in a pad
  // is no such pad.
  if ((a.hole && !b.hole && !b.through) || (b.hole && !a.hole && !stands(b))) return false;
  // A ring round the pad of another net is not that pad.
  return meet(a.access, b.access) && one_pad(a, b);
}

// Whether both lie on one thing drawn as a pad, with copper straight from one to the other. Their
// sizes do not matter: a record may be larger than its pad.
bool Finds::one_pad(const Pad& a, const Pad& b) const {
  const double apart = distance_nm(a.at, b.at);
  for (std::size_t l = 0; l < std::min(a.islands.size(), b.islands.size()); ++l) {
    if (!a.islands[l] || a.islands[l] != b.islands[l]) continue;
    if (apart <= kSamePlace) return true;
    const auto both = [&](const formats::Object* o) {
      return holds(*o, b.at) && (o->kind == formats::ObjectKind::flash ||
                                 apart <= static_cast<double>(kPadSpan.value));
    };
    if (std::ranges::any_of(drawn_[l].over(a.at), both) &&
        sees(ground_.copper.island(*a.islands[l]), a.at, b.at))
      return true;
  }
  return false;
}

double Finds::copper_round(const Pad& pad, std::size_t layer) const {
  const auto span = static_cast<double>(kPadSpan.value);
  return pad.islands[layer]
             ? std::min(span, clearance(ground_.copper.island(*pad.islands[layer]), pad.at))
             : 0;
}

Finds::Body Finds::body_of(const Pad& pad, std::size_t layer) const {
  Body body{pad.at, drawn_[layer].over(pad.at), 0};
  if (body.objects.empty()) body.radius = copper_round(pad, layer);
  return body;
}

bool Finds::meets(const Pad& pad, std::size_t layer, const Polygon& shape) const {
  return locate(pad.at, shape) != Where::outside ||
         distance_to(shape, pad.at) <= copper_round(pad, layer);
}

// A hole whose rings have records of their own, as before it is joined.
bool Finds::named_by_sides(const Pad& pad) const {
  if (!pad.hole) return false;
  const auto reach = static_cast<double>(holes_.joins[*pad.hole].diameter.value) / 2;
  for (std::size_t l = 0; l < pad.islands.size(); ++l) {
    if (!pad.islands[l] || !outer(l)) continue;
    const bool named = any_on(*pad.islands[l], l, [&](const Pad& other) {
      return distance_nm(other.at, pad.at) <= reach;
    });
    if (!named) return false;
  }
  return true;
}

bool Finds::stands(const Pad& pad) const {
  return !(pad.via && pad.hole && holes_.joins[*pad.hole].conducts);
}

bool Finds::at_end_of_slot(const Pad& pad) const {
  const formats::Hole& hole = ground_.design.holes[holes_.joins[*pad.hole].hole];
  const auto reach = static_cast<double>(hole.diameter.value);
  return hole.is_slot() &&
         (distance_nm(pad.at, hole.from) <= reach || distance_nm(pad.at, hole.to) <= reach);
}

void Finds::take(Pad pad) {
  std::vector<Pad> one{pad};
  place_pads(ground_, holes_, one);
  if (!one.front().has_copper()) return;
  const auto taken = [&](const Pad& other) { return same_place(one.front(), other); };
  if (std::ranges::any_of(known_, taken) || std::ranges::any_of(placed_, taken) ||
      named_by_sides(one.front()))
    return;
  note(one.front());
  placed_.push_back(std::move(one.front()));
  found.push_back(std::move(pad));
}

void Finds::take_bare(std::size_t layer, Position at, Nanometres size) {
  Pad pad;
  pad.at = at;
  pad.size = size;
  pad.access = layer == 0 ? Side::top : Side::bottom;
  take(std::move(pad));
}

}  // namespace isthmus::expect
