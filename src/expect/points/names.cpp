// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <map>
#include <tuple>

#include "expect/points/points.hpp"

namespace isthmus::expect {
namespace {

std::string base_name(const Pad& pad) {
  if (pad.via) return "VIA" + place_name(pad.at);
  if (pad.ref.empty()) return place_name(pad.at);
  return pad.pin.empty() ? pad.ref : pad.ref + "." + pad.pin;
}

bool order(const Pad& a, const Pad& b) {
  // Pads with a reference first, then bare places, then vias.
  const auto rank = [](const Pad& p) { return p.via ? 2 : p.ref.empty() ? 1 : 0; };
  if (rank(a) != rank(b)) return rank(a) < rank(b);
  if (a.ref != b.ref) return natural_less(a.ref, b.ref);
  if (a.pin != b.pin) return natural_less(a.pin, b.pin);
  return std::tuple(a.at.x, a.at.y, a.access) < std::tuple(b.at.x, b.at.y, b.access);
}

// Records of one place: a hole (but for the ends of a slot), or one side of the board within 10 um.
bool same_place(const Pad& a, const Pad& b, const Holes& holes) {
  if (a.hole || b.hole) {
    return a.hole == b.hole &&
           distance_nm(a.at, b.at) <= static_cast<double>(holes.joins[*a.hole].diameter.value);
  }
  return a.access == b.access && a.through == b.through && distance_nm(a.at, b.at) <= 10'000;
}

bool same_net(const Pad& a, const Pad& b) {
  return a.own_net == b.own_net && (a.own_net || a.net == b.net);
}

bool same_pin(const Pad& a, const Pad& b) {
  return a.ref == b.ref && a.pin == b.pin && a.via == b.via;
}

void absorb(Pad& kept, const Pad& other) {
  kept.size = kept.size.value == 0 ? other.size : kept.size;
  if (kept.net_full.empty()) kept.net_full = other.net_full;
  kept.unknown_net = kept.unknown_net && other.unknown_net;
}

// One pad of one pin may be written several times: a record and its repeats, a flash on each side.
std::vector<Pad> drop_repeats(std::vector<Pad> pads, const Holes& holes) {
  std::vector<Pad> kept;
  for (Pad& pad : pads) {
    const auto twin = std::find_if(kept.begin(), kept.end(), [&](const Pad& k) {
      return same_pin(k, pad) && same_place(k, pad, holes) && same_net(k, pad);
    });
    if (twin == kept.end()) {
      kept.push_back(std::move(pad));
    } else {
      absorb(*twin, pad);
    }
  }
  return kept;
}

void number(std::vector<Pad>& pads) {
  std::map<std::string, int> seen;
  for (Pad& pad : pads) {
    const std::string base = base_name(pad);
    const int n = ++seen[base];
    pad.id = n == 1 ? base : base + "#" + std::to_string(n);
  }
}

// The first pad in order stays (pads come before vias); the others' names become its aliases.
std::vector<Pad> merge_places(std::vector<Pad> pads, const Holes& holes) {
  std::vector<Pad> kept;
  for (Pad& pad : pads) {
    const auto twin = std::find_if(kept.begin(), kept.end(), [&](const Pad& k) {
      return same_place(k, pad, holes) && same_net(k, pad);
    });
    if (twin == kept.end()) {
      kept.push_back(std::move(pad));
    } else {
      twin->aliases.push_back(pad.id);
      absorb(*twin, pad);
    }
  }
  return kept;
}

}  // namespace

std::vector<Pad> name_pads(std::vector<Pad> pads, const Holes& holes) {
  std::stable_sort(pads.begin(), pads.end(), order);
  pads = drop_repeats(std::move(pads), holes);
  number(pads);
  return merge_places(std::move(pads), holes);
}

}  // namespace isthmus::expect
