// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include "report/drawing.hpp"

namespace isthmus::report {
namespace {

constexpr const char* kSheetStyle =
    "<style>.copper{fill:#e8cdb0}.behind{fill:#eee}.holes{fill:#fff;stroke:#999;stroke-width:.05}."
    "slot{stroke:#fff;fill:none}"
    ".edge{fill:none;stroke:#000;stroke-width:.15}.tip{fill:none;stroke:#c4123f;stroke-width:.12}"
    "text{font-family:sans-serif}</style>";

// Bars of 100 mm along both axes, to measure the print by.
std::string bars(double x, double y) {
  return fmt::format(
      "<path d=\"M{0:.3f} {1:.3f}h100M{0:.3f} {2:.3f}v2M{3:.3f} {2:.3f}v2M{0:.3f} "
      "{1:.3f}v100M{4:.3f} {1:.3f}h2M{4:.3f} {5:.3f}h2\" fill=\"none\" "
      "stroke=\"#000\" stroke-width=\".15\"/><text x=\"{6:.3f}\" y=\"{7:.3f}\" font-size=\"3\">100 "
      "mm each way: measure the print</text>",
      x, y, y - 1, x + 100, x - 1, y + 100, x + 30, y - 1.5);
}

}  // namespace

std::string fixture_sheet_svg(const expect::Board& board, const formats::FixtureFile& fixture,
                              const formats::PlacementEntry& placement) {
  const bool below = placement.side == Side::bottom;
  const Box area = drawn_area(board);
  const double w = to_mm(area.hi.x - area.lo.x), h = to_mm(area.hi.y - area.lo.y);
  const double page_w = std::max(w, 104.0) + 14, page_h = std::max(h, 104.0) + 26;
  // Artwork x to page x: the view from below is mirrored.
  const auto page_x = [&](std::int64_t x) {
    return 10 + (below ? to_mm(area.hi.x - x) : to_mm(x - area.lo.x));
  };
  const auto page_y = [&](std::int64_t y) { return 18 + to_mm(area.hi.y - y); };
  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:.3f}mm\" height=\"{1:.3f}mm\" "
      "viewBox=\"0 0 {0:.3f} {1:.3f}\">",
      page_w, page_h);
  out += kSheetStyle + definitions(board);
  out += fmt::format(
      "<text x=\"10\" y=\"7\" font-size=\"4\">{}: placement {}, {} side{}, {} probes, tips {:.2f} "
      "mm</text>",
      escape(board.design.board.name), escape(placement.name), name(placement.side),
      below ? ", MIRRORED (seen from below)" : "", placement.probes.size(),
      to_mm(fixture.tip_diameter));
  out += fmt::format("<g transform=\"translate({:.3f} {:.3f}) scale({} -1)\">",
                     below ? 10 + to_mm(area.hi.x) : 10 - to_mm(area.lo.x), 18 + to_mm(area.hi.y),
                     below ? -1 : 1);
  out += fmt::format(
      "<use href=\"#copper-{}\" class=\"copper\"/><use href=\"#holes\" class=\"holes\"/><use "
      "href=\"#outline\" class=\"edge\"/></g>",
      below ? "bottom" : "top");
  for (const auto& [channel, probe] : placement.probes) {
    if (!probe.at) continue;
    out += fmt::format(
        "<circle class=\"tip\" cx=\"{0:.3f}\" cy=\"{1:.3f}\" r=\"{2:.3f}\"/><text x=\"{3:.3f}\" "
        "y=\"{4:.3f}\" font-size=\"1.1\">{5}</text>",
        page_x(probe.at->x), page_y(probe.at->y), to_mm(fixture.tip_diameter) / 2,
        page_x(probe.at->x) + 0.35, page_y(probe.at->y) - 0.35,
        probe.twin ? fmt::format("{}+{}", channel, *probe.twin) : std::to_string(channel));
  }
  return out + bars(6, 14) + "</svg>\n";
}

}  // namespace isthmus::report
