// SPDX-License-Identifier: Apache-2.0
// Both sides in true size, to be laid on the board.
#include <fmt/format.h>

#include <algorithm>

#include "report/drawing.hpp"
#include "report/page_parts.hpp"

namespace isthmus::report {
namespace {

// 50 mm between the outer edges, black as nothing else on the page is.
constexpr const char* kBars =
    "<svg class=\"check\" width=\"54mm\" height=\"54mm\" viewBox=\"0 0 54 54\" role=\"img\" "
    "aria-label=\"check bars, 50 mm each way\"><path fill=\"#000\" d=\"M2 1H52V2H2ZM1 2H2V52H1Z\"/>"
    "<text x=\"6\" y=\"7\" font-size=\"3.4\" font-family=\"sans-serif\" fill=\"#333\">50.0 mm each "
    "way"
    "</text><text x=\"6\" y=\"12\" font-size=\"2.8\" font-family=\"sans-serif\" "
    "fill=\"#333\">print at "
    "100 %, then measure</text></svg>";

// The paper that holds the side, its bars and a line of words; empty where usual paper does.
std::string paper_for(double w, double h) {
  constexpr double kWidest = 190, kHighest = 190;  // of A4 and Letter alike, margins and bars off
  if (w <= kWidest && h <= kHighest) return "";
  return fmt::format("<style>@page overlay{{size:{:.0f}mm {:.0f}mm}}</style>",
                     std::max(w + 21, 210.0), std::max(h + 86, 297.0));
}

}  // namespace

std::string overlay_pages(const RunView& run, const expect::Board& board) {
  const Box area = drawn_area(board);
  std::string out = "<div class=\"overlay\">" +
                    paper_for(to_mm(area.hi.x - area.lo.x), to_mm(area.hi.y - area.lo.y));
  for (bool below : {false, true}) {
    if (below && board.copper.layers < 2) break;
    out += fmt::format(
        "<section><p><b>{}</b>{}, {} side{}, in true size: lay it on the board.</p>{}{}</section>",
        escape(run.head.board), run.head.unit.empty() ? "" : ", unit " + escape(run.head.unit),
        below ? "bottom" : "top", below ? ", mirrored as seen from below" : "", kBars,
        side_drawing(run, board, {below, 0, false}));
  }
  return out + "</div>\n";
}

}  // namespace isthmus::report
