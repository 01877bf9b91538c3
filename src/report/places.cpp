// SPDX-License-Identifier: Apache-2.0
#include "report/places.hpp"

#include <fmt/format.h>

#include "report/drawing.hpp"

namespace isthmus::report {

namespace {

// The board is cut along the middle of the line it is drawn with.
Box cut_out(const expect::Board& board) {
  Box box;
  if (board.design.outline) {
    for (const formats::Object& o : board.design.outline->objects) {
      if (o.kind != formats::ObjectKind::stroke) continue;
      for (Position p : o.spine) box.add(p);
    }
  }
  return box.empty() ? board_box(board) : box;
}

bool shows(const std::string& side, const Places::Pad& pad) {
  return !(side == "top" && pad.side == Side::bottom) &&
         !(side == "bottom" && pad.side == Side::top);
}

const Places::Pad* nearest_of(const Places& places, Position p, const std::string& side) {
  const Places::Pad* nearest = nullptr;
  for (const Places::Pad& pad : places.pads) {
    if (!shows(side, pad)) continue;
    if (!nearest || distance_nm(pad.at, p) < distance_nm(nearest->at, p)) nearest = &pad;
  }
  return nearest;
}

}  // namespace

Places places_of(const expect::Board& board) {
  Places places;
  places.outline = cut_out(board);
  for (const expect::Point& p : board.expectation.points) {
    if (!p.via && !p.unlisted && !p.id.starts_with('@'))
      places.pads.push_back({p.at, p.side, p.id});
  }
  return places;
}

Position from_corner(const Places& places, Position p, const std::string& side) {
  const Box& box = places.outline;
  return {side == "bottom" ? box.hi.x - p.x : p.x - box.lo.x, p.y - box.lo.y};
}

NearPad nearest_pad(const Places& places, Position p, const std::string& side) {
  constexpr Nanometres kNear = 5_mm;  // as far as an eye at a microscope goes from a pad
  const Places::Pad* here = nearest_of(places, p, side);
  if (here && distance_nm(here->at, p) <= static_cast<double>(kNear.value)) return {here, true};
  const Places::Pad* any = nearest_of(places, p, "both");
  return {any, any == here};
}

std::string near_in_words(const Places& places, Position p, const std::string& side,
                          const std::function<std::string(double)>& length) {
  const auto [pad, same_side] = nearest_pad(places, p, side);
  if (!pad) return "";
  return fmt::format("{}{} ({})", pad->id,
                     same_side ? "" : fmt::format(" on the {}", name(pad->side)),
                     length(distance_nm(pad->at, p)));
}

}  // namespace isthmus::report
