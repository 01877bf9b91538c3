// SPDX-License-Identifier: Apache-2.0
// The board as SVG. Inside, x and y are millimetres of the artwork, y up; each view flips y (and x
// for the view from below) by a transform.
#pragma once

#include <string>

#include "isthmus/report/report.hpp"

namespace isthmus::report {

std::string escape(const std::string& text);  // for HTML and SVG text and attributes

// The outline's box, or the copper's where there is none.
Box board_box(const expect::Board& board);
// Board area: outline if there is one, else copper; with a margin.
Box drawn_area(const expect::Board& board);

// <defs> of <g id="copper-top">…, one group a copper layer with a path of id "i<island>" each, <g id="holes">, <g id="outline">.
std::string shapes(const expect::Board& board);
// The same in an SVG that takes no room: referenced by views.
std::string definitions(const expect::Board& board);

// One SVG that shows `area` from above, or mirrored from below, `layer` in front and the other
// faintly.
struct View {
  Box area;
  bool from_below{false};
  std::string layer;         // "top", "bottom", "L2"...
  double width_px{};         // width on the page; height follows; 0: at its true size
  std::string marks;         // SVG in the same coordinates
  std::string label;         // for screen readers
  std::string attributes{};  // more of the svg element's
};
std::string draw(const expect::Board& board, const View& view);

}  // namespace isthmus::report
