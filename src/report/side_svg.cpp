// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include "isthmus/base/ensure.hpp"
#include "report/drawing.hpp"
#include "report/page_parts.hpp"

namespace isthmus::report {
namespace {

// Colours written out: readers of SVG know no variables.
constexpr const char* kColours =
    "<style>.laminate{fill:#eef3f0}.copper{fill:#c99a70}.behind{fill:#7d8f86;opacity:.2}"
    ".holes{fill:#fff;stroke:none}.slot{stroke:#fff;fill:none}"
    ".edge{fill:none;stroke:#41525f;stroke-width:.15}.name{fill:#000;text-anchor:middle}"
    "text{font-family:sans-serif}.mark text,.scale text,.origin text{font-size:11px;"
    "font-weight:700}.mark path,.scale path,.origin path{fill:none;stroke-width:1.4}"
    ".stretch{fill:none;stroke-width:.25}"
    ".first path,.first .stretch{stroke:#9b0030}.first text{fill:#9b0030}"
    ".further path,.further .stretch{stroke:#26358f}.further text{fill:#26358f;font-size:9px}"
    ".doubt path{stroke:#3b434c}.doubt.rings path{stroke-width:.08}"
    ".scale path,.origin path{stroke:#1d2733}"
    ".mark .halo,.scale .halo,.origin .halo{stroke:none}</style>";

}  // namespace

std::string side_svg(const RunView& run, const expect::Board& board, Side side) {
  ENSURE(side != Side::both);
  const Box area = drawn_area(board);
  return fmt::format(
             "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{:.3f}mm\" height=\"{:.3f}mm\">"
             "<title>{}, {} side{}</title>",
             to_mm(area.hi.x - area.lo.x), to_mm(area.hi.y - area.lo.y), escape(run.head.board),
             name(side), side == Side::bottom ? ", mirrored: seen from below" : "") +
         kColours + shapes(board) + side_drawing(run, board, {side == Side::bottom, 0, true}) +
         "</svg>\n";
}

}  // namespace isthmus::report
