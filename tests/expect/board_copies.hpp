// SPDX-License-Identifier: Apache-2.0
// A board moved, shuffled or set twice in memory, to be written out and read back.
#pragma once

#include <algorithm>
#include <map>
#include <random>
#include <string>
#include <utility>

#include "isthmus/expect/netlist_of_copper.hpp"

namespace isthmus::test {

// Mirror (x becomes -x), then quarter turns counter-clockwise, then shift: exact in nanometres.
struct Motion {
  bool mirror{false};
  int quarter_turns{0};
  Position shift{};

  [[nodiscard]] Position operator()(Position p) const {
    if (mirror) p.x = -p.x;
    for (int i = 0; i < quarter_turns; ++i) p = {-p.y, p.x};
    return p + shift;
  }
};

inline void move(Contour& contour, const Motion& motion) {
  for (Position& p : contour) p = motion(p);
  if (motion.mirror) std::reverse(contour.begin(), contour.end());
}

inline void move(formats::LayerImage& image, const Motion& motion) {
  image.extent = {};
  for (formats::Object& object : image.objects) {
    for (Position& p : object.spine) p = motion(p);
    for (Polygon& polygon : object.shape) {
      move(polygon.outer, motion);
      for (Contour& hole : polygon.holes) move(hole, motion);
      image.extent.add(box_of(polygon.outer));
    }
  }
}

inline void move(formats::Netlist& netlist, const Motion& motion) {
  for (formats::NetlistRecord& r : netlist.records) {
    r.at = motion(r.at);
    if (r.hole_at) r.hole_at = motion(*r.hole_at);
    if (motion.quarter_turns % 2 == 1) std::swap(r.size_x, r.size_y);
  }
}

inline formats::Design moved(formats::Design design, const Motion& motion) {
  for (formats::LayerImage& image : design.copper) move(image, motion);
  for (formats::Hole& hole : design.holes) {
    hole.from = motion(hole.from);
    hole.to = motion(hole.to);
  }
  if (design.netlist) move(*design.netlist, motion);
  return design;
}

// Within a run of one polarity the order is without meaning (GLF 2023.08, 2.4: only a change of
// polarity lets a later object undo an earlier one).
inline formats::Design shuffled(formats::Design design, std::uint32_t seed) {
  std::mt19937 lot(seed);
  for (formats::LayerImage& image : design.copper) {
    for (auto from = image.objects.begin(); from != image.objects.end();) {
      const auto to =
          std::find_if(from, image.objects.end(),
                       [dark = from->dark](const formats::Object& o) { return o.dark != dark; });
      std::shuffle(from, to, lot);
      from = to;
    }
  }
  return design;
}

// What the copy's names begin with, and how far it stands from the original.
inline constexpr char kCopy = 'Q';

inline Position beside(const formats::Design& design) {
  Box box;
  for (const formats::LayerImage& image : design.copper) box.add(image.extent);
  return {box.hi.x - box.lo.x + from_mm(10).value, 0};
}

// The design and, right of it, itself again, point P7 as Q7.
inline formats::Design twice(formats::Design design) {
  const formats::Design copy = moved(design, {.shift = beside(design)});
  for (std::size_t i = 0; i < design.copper.size(); ++i) {
    auto& objects = design.copper[i].objects;
    const auto& more = copy.copper[i].objects;
    objects.insert(objects.end(), more.begin(), more.end());
    design.copper[i].extent.add(copy.copper[i].extent);
  }
  std::int32_t slots = 0;
  for (const formats::Hole& hole : design.holes) slots = std::max(slots, hole.slot + 1);
  for (formats::Hole hole : copy.holes) {
    if (hole.slot >= 0) hole.slot += slots;
    design.holes.push_back(hole);
  }
  if (!design.netlist) return design;
  for (formats::NetlistRecord r : copy.netlist->records) {
    r.ref.front() = kCopy;
    r.net += kCopy;
    design.netlist->records.push_back(std::move(r));
  }
  return design;
}

// The netlist of the board's copper, each record with a reference of its own, P1, P2...: names
// that no motion changes.
inline formats::Netlist numbered_netlist(const expect::Board& board) {
  formats::Netlist netlist = expect::netlist_of_copper(board);
  std::size_t number = 0;
  for (formats::NetlistRecord& r : netlist.records) {
    r.ref = "P" + std::to_string(++number);
    r.pin = "1";
  }
  return netlist;
}

}  // namespace isthmus::test
