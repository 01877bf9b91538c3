// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "isthmus/report/hand.hpp"
#include "report/drawing.hpp"
#include "report/labels.hpp"

namespace isthmus::report {
namespace {

constexpr const char* kSheetStyle =
    "<style>.copper{fill:#e8cdb0}.behind{fill:#eee}.holes{fill:#fff;stroke:#999;stroke-width:.05}."
    "slot{stroke:#fff;fill:none}"
    ".edge{fill:none;stroke:#000;stroke-width:.15}.tip{fill:none;stroke:#c4123f;stroke-width:.12}"
    ".leader{stroke:#c4123f;stroke-width:.06}.channel{font-size:1.1px;text-anchor:middle}"
    ".row{font-size:2.1px}"
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

struct Pin {
  Position at;
  std::string channel, point;
};

// U1.2 before U1.10: digits count as the number they write.
bool in_order_of_pins(const Pin& a, const Pin& b) {
  const auto digit = [](char c) { return c >= '0' && c <= '9'; };
  std::size_t i = 0, j = 0;
  const std::string &s = a.point, &t = b.point;
  while (i < s.size() && j < t.size()) {
    if (digit(s[i]) && digit(t[j])) {
      std::size_t e = i, f = j;
      while (e < s.size() && digit(s[e])) ++e;
      while (f < t.size() && digit(t[f])) ++f;
      const std::string m = s.substr(i, e - i), n = t.substr(j, f - j);
      if (m.size() != n.size()) return m.size() < n.size();
      if (m != n) return m < n;
      i = e;
      j = f;
    } else {
      if (s[i] != t[j]) return s[i] < t[j];
      ++i;
      ++j;
    }
  }
  return s.size() - i < t.size() - j;
}

std::string channels_of(const plan::Probe& p) {
  return p.twin ? fmt::format("{}+{}", p.channel, *p.twin) : std::to_string(p.channel);
}

std::vector<Pin> pins_of(const expect::Board& board, const plan::Placement& placement, Side side) {
  std::vector<Pin> pins;
  for (const plan::Probe& probe : placement.probes) {
    if (probe.clip || probe.side != side) continue;
    pins.push_back({probe.at, channels_of(probe), board.expectation.point(probe.point).id});
  }
  std::ranges::stable_sort(pins, in_order_of_pins);
  return pins;
}

std::vector<std::string> clips_of(const expect::Board& board, const plan::Placement& placement) {
  std::vector<std::string> clips;
  for (const plan::Probe& probe : placement.probes) {
    if (probe.clip) clips.push_back(clip_in_words(board, probe));
  }
  return clips;
}

std::string tips_drawn(const std::vector<Tip>& tips, double radius) {
  constexpr double kHeight = 1.1;
  const std::vector<LabelPlace> places = place_labels(tips, radius, kHeight);
  std::string out;
  for (std::size_t i = 0; i < tips.size(); ++i) {
    out += fmt::format("<circle class=\"tip\" cx=\"{:.3f}\" cy=\"{:.3f}\" r=\"{:.3f}\"/>",
                       tips[i].x, tips[i].y, radius);
    if (places[i].leader) {
      out += fmt::format("<path class=\"leader\" d=\"M{:.3f} {:.3f}L{:.3f} {:.3f}\"/>", tips[i].x,
                         tips[i].y, places[i].x, places[i].y);
    }
  }
  for (std::size_t i = 0; i < tips.size(); ++i) {
    out += fmt::format("<text class=\"channel\" x=\"{:.3f}\" y=\"{:.3f}\">{}</text>", places[i].x,
                       places[i].y + 0.36 * kHeight, tips[i].label);
  }
  return out;
}

// Beside the drawing: every channel and its point, in columns from the top.
constexpr double kRow = 3.2, kColumn = 38, kClipColumn = 72;

std::size_t rows_in(double height) { return static_cast<std::size_t>(height / kRow); }

double table_width(std::size_t count, double height, double column) {
  const std::size_t rows = rows_in(height);
  const std::size_t columns = (count + rows - 1) / rows;
  return column * static_cast<double>(columns);
}

std::string table(const std::vector<Pin>& pins, double left, double height) {
  const std::size_t rows = rows_in(height);
  std::string out;
  for (std::size_t i = 0; i < pins.size(); ++i) {
    const std::size_t column = i / rows;
    const double x = left + kColumn * static_cast<double>(column);
    const double y = 11 + kRow * static_cast<double>(i % rows);
    out += fmt::format(
        "<text class=\"row\" x=\"{:.3f}\" y=\"{:.3f}\" text-anchor=\"end\">{}</text>"
        "<text class=\"row\" x=\"{:.3f}\" y=\"{:.3f}\">{}</text>",
        x + 8, y, pins[i].channel, x + 10, y, escape(pins[i].point));
  }
  return out;
}

// Beside the pins: the clips, under a line that says what they are.
std::string clip_table(const std::vector<std::string>& clips, double left, double height) {
  if (clips.empty()) return "";
  const std::size_t rows = rows_in(height);
  std::string out = fmt::format(
      "<text class=\"row\" x=\"{:.3f}\" y=\"7\">clips, not through the plate: channel on "
      "point</text>",
      left + 4);
  for (std::size_t i = 0; i < clips.size(); ++i) {
    out += fmt::format("<text class=\"row\" x=\"{:.3f}\" y=\"{:.3f}\">{}</text>",
                       left + 4 + kClipColumn * static_cast<double>(i / rows),
                       11 + kRow * static_cast<double>(i % rows), escape(clips[i]));
  }
  return out;
}

Box placed(const Box& box, const plan::Placing& placing) {
  Box out;
  for (const Position corner : {box.lo, box.hi, Position{box.lo.x, box.hi.y}, {box.hi.x, box.lo.y}})
    out.add(placing(corner));
  return out;
}

std::string mirrored(Side side) {
  return side == Side::bottom ? ", MIRRORED (seen from below)" : "";
}

struct Sheet {
  std::string title;
  Side side{};
  double tip_mm{};
  std::vector<Pin> pins;
  std::vector<std::string> clips;
};

std::string page(const expect::Board& board, const Sheet& sheet, const plan::Placing& placing) {
  const bool below = sheet.side == Side::bottom;
  const Box area = placed(drawn_area(board), placing);
  const double w = to_mm(area.hi.x - area.lo.x), h = to_mm(area.hi.y - area.lo.y);
  const double page_w = std::max(w, 104.0) + 14, page_h = std::max(h, 104.0) + 26;
  const double clips_x = page_w + table_width(sheet.pins.size(), page_h - 14, kColumn);
  const double whole_w = clips_x + table_width(sheet.clips.size(), page_h - 14, kClipColumn);
  // Artwork x to page x: the view from below is mirrored.
  const auto page_x = [&](std::int64_t x) {
    return 10 + (below ? to_mm(area.hi.x - x) : to_mm(x - area.lo.x));
  };
  const auto page_y = [&](std::int64_t y) { return 18 + to_mm(area.hi.y - y); };
  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:.3f}mm\" height=\"{1:.3f}mm\" "
      "viewBox=\"0 0 {0:.3f} {1:.3f}\">",
      whole_w, page_h);
  out += kSheetStyle + definitions(board);
  out += fmt::format("<text x=\"10\" y=\"7\" font-size=\"4\">{}</text>", escape(sheet.title));
  out += fmt::format(
      "<g transform=\"translate({:.3f} {:.3f}) scale({} -1) matrix({:.6f} {:.6f} {:.6f} {:.6f} "
      "{:.4f} {:.4f})\">",
      below ? 10 + to_mm(area.hi.x) : 10 - to_mm(area.lo.x), 18 + to_mm(area.hi.y), below ? -1 : 1,
      placing.xx, placing.yx, placing.xy, placing.yy, placing.x0 / 1e6, placing.y0 / 1e6);
  out += fmt::format(
      "<use href=\"#copper-{}\" class=\"copper\"/><use href=\"#holes\" class=\"holes\"/><use "
      "href=\"#outline\" class=\"edge\"/></g>",
      below ? "bottom" : "top");
  std::vector<Tip> tips;
  for (const Pin& pin : sheet.pins) {
    const Position at = placing(pin.at);
    tips.push_back({page_x(at.x), page_y(at.y), pin.channel});
  }
  out += tips_drawn(tips, sheet.tip_mm / 2);
  out += table(sheet.pins, page_w, page_h - 14) + clip_table(sheet.clips, clips_x, page_h - 14);
  return out + bars(6, 14) + "</svg>\n";
}

}  // namespace

std::string clip_in_words(const expect::Board& board, const plan::Probe& clip) {
  return fmt::format("{} on {} ({}, {:.3f}, {:.3f} mm)", channels_of(clip),
                     board.expectation.point(clip.point).id, name(clip.side), to_mm(clip.at.x),
                     to_mm(clip.at.y));
}

std::string fixture_sheet_svg(const expect::Board& board, Nanometres tip,
                              const plan::Placement& placement, Side side,
                              const plan::Placing& placing) {
  Sheet sheet{"", side, to_mm(tip), pins_of(board, placement, side), clips_of(board, placement)};
  sheet.title =
      fmt::format("{}: placement {}, {} side{}, {} probes, tips {:.2f} mm", board.design.board.name,
                  placement.name, name(side), mirrored(side), sheet.pins.size(), to_mm(tip));
  return page(board, sheet, placing);
}

std::string clip_sheet_svg(const expect::Board& board, const plan::Round& round, Side side) {
  constexpr double kDrawn = 2.0;
  Sheet sheet{"", side, kDrawn, {}, {}};
  for (const plan::HandClip& c : round.clips) {
    const expect::Point& p = board.expectation.point(c.point);
    if (c.from != side) continue;
    const bool placed = p.id.starts_with("VIA@") || p.id.starts_with("@");  // says where it lies
    sheet.pins.push_back(
        {p.at, std::to_string(c.channel),
         placed ? p.id : fmt::format("{} ({:.2f}, {:.2f})", p.id, to_mm(p.at.x), to_mm(p.at.y))});
  }
  sheet.title = fmt::format("{}: clips from the {} side{}", board.design.board.name, name(side),
                            mirrored(side));
  return page(board, sheet, {});
}

}  // namespace isthmus::report
