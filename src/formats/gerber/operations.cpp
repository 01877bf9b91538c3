// SPDX-License-Identifier: Apache-2.0
// D01, D02 and D03: GLF 2023.08, 4.7 and 4.8; single quadrant arcs, 8.1.
#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "formats/gerber/reader.hpp"

namespace isthmus::formats::gerber {
namespace {

bool in_range(Position p) {
  return std::abs(p.x) <= kMaxCoordinate && std::abs(p.y) <= kMaxCoordinate;
}

Point offset_from(Position p, std::int64_t i, std::int64_t j) {
  return {static_cast<double>(p.x + i), static_cast<double>(p.y + j)};
}

}  // namespace

bool Reader::target(const Operation& op, Position& to) {
  to = current_;
  if (format_.incremental) {
    to = to + Position{op.x.value_or(0), op.y.value_or(0)};
  } else {
    to = {op.x.value_or(to.x), op.y.value_or(to.y)};
  }
  if (in_range(to)) return true;
  return report_.fail(op.at, "GBR-013", "a coordinate is beyond 1.07 m",
                      "check the units and the coordinate format of the file");
}

bool Reader::perform(Operation& op) {
  if (op.code == 0 && !op.any()) return true;
  const Operation now = op;
  op = {};
  op.at = pos_;
  int code = now.code;
  if (code == 0) {
    code = last_code_;
    if (code != 1) {
      report_.warn(now.at, "GBR-019",
                   code == 0 ? "coordinates before any operation (D01, D02, D03); taken as a move"
                             : fmt::format("coordinates without an operation after D{:02}; it was "
                                           "repeated",
                                           code),
                   "only D01 may be left out; check this place against the design");
    }
    if (code == 0) code = 2;
  }
  last_code_ = code;
  if (!require_units(now.at)) return false;
  const Spot spot{now.at, line_};
  Position to;
  if (!target(now, to)) return false;
  if (code == 2) {
    if (plotter_.in_region() && !plotter_.region_move(to, spot)) return false;
    current_ = to;
    current_known_ = true;
    return true;
  }
  if (!current_known_ && !(now.x && now.y) && !format_.incremental) {
    report_.warn(now.at, "GBR-028", "the plot begins nowhere; (0, 0) or the last place was taken",
                 "a D02 is missing before; check this place against the design");
  }
  if (code == 3) {
    if (plotter_.in_region()) {
      return report_.fail(now.at, "GBR-040", "a flash (D03) within a region",
                          "only D01 and D02 may stand between G36 and G37; export again");
    }
    current_ = to;
    current_known_ = true;
    return plotter_.flash(to, spot);
  }
  return plot_to(now, to, spot);
}

bool Reader::plot_to(const Operation& op, Position to, Spot spot) {
  if (!current_known_) {
    report_.warn(spot.at, "GBR-028", "the plot begins nowhere; (0, 0) or the last place was taken",
                 "a D02 is missing before; check this place against the design");
  }
  const Position from = current_;
  if (interpolation_ >= 2) {
    if (!arc_to(op, to, spot)) return false;
  } else if (!(plotter_.in_region() ? plotter_.region_line(from, to, spot)
                                    : plotter_.line(from, to, spot))) {
    return false;
  }
  current_ = to;
  current_known_ = true;
  return true;
}

bool Reader::arc_to(const Operation& op, Position to, Spot spot) {
  const auto found = find_arc(op, to, spot);
  if (!found)
    return !report_.failed() && (plotter_.in_region() ? plotter_.region_line(current_, to, spot)
                                                      : plotter_.line(current_, to, spot));
  const Arc& arc = *found;
  // Rounding of the end points moves the centre by a few units of the last digit.
  if (std::abs(arc.drift) > 0.02 * arc.radius + 10000) {
    report_.warn(spot.at, "GBR-048",
                 fmt::format("the centre of an arc is {:.3f} mm farther from one end than from the "
                             "other; a spiral between them was taken",
                             std::abs(arc.drift) * 1e-6),
                 "check this arc against the design");
  }
  return plotter_.in_region() ? plotter_.region_arc(arc, current_, to, spot)
                              : plotter_.arc(arc, current_, to, spot);
}

// Nothing without a failure: the arc has no extent and is a line.
std::optional<Arc> Reader::find_arc(const Operation& op, Position to, Spot spot) {
  const std::int64_t i = op.i.value_or(0), j = op.j.value_or(0);
  if (quadrants_ == 0) {
    report_.fail(spot.at, "GBR-047", "an arc before G75 or G74 says how its centre is given",
                 "put G75* before the first arc, if the file was made for it; export again");
    return std::nullopt;
  }
  if (quadrants_ == 74) return single_quadrant_arc({i, j}, to, spot);
  if (i == 0 && j == 0) {
    if (current_ != to) {
      report_.warn(spot.at, "GBR-048", "an arc without a centre (I, J) was drawn as a line",
                   "check this place against the design");
    }
    return std::nullopt;
  }
  return arc_about(current_, to, offset_from(current_, i, j), interpolation_ == 3);
}

// I and J are distances without sign: of the four possible centres, the one whose arc is at most a
// quarter turn and fits the end best.
std::optional<Arc> Reader::single_quadrant_arc(Position offset, Position to, Spot spot) {
  if (current_ == to) return std::nullopt;
  std::optional<Arc> best;
  for (const int sx : {1, -1}) {
    for (const int sy : {1, -1}) {
      const Point centre = offset_from(current_, sx * std::abs(offset.x), sy * std::abs(offset.y));
      const Arc arc = arc_about(current_, to, centre, interpolation_ == 3);
      const bool quarter = std::abs(arc.sweep) <= std::numbers::pi / 2 + 0.01;
      if (quarter && (!best || std::abs(arc.drift) < std::abs(best->drift))) best = arc;
    }
  }
  if (best && best->radius > 0) return best;
  report_.fail(spot.at, "GBR-048", "no arc of up to a quarter turn has this centre (G74)",
               "export the file again, with multi-quadrant arcs (G75)");
  return std::nullopt;
}

}  // namespace isthmus::formats::gerber
