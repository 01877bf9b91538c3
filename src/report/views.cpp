// SPDX-License-Identifier: Apache-2.0
// Both sides of the board, large.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <nlohmann/json.hpp>

#include "report/drawing.hpp"
#include "report/labels.hpp"
#include "report/marks.hpp"
#include "report/names.hpp"
#include "report/page_parts.hpp"

namespace isthmus::report {
namespace {

constexpr double kOnScreen = 760, kOnPaper = 340;  // px wide

// The likeliest places' numbers kept clear of each other; by finding.
std::vector<LabelAt> spread_labels(const RunView& run, bool below, double scale) {
  // place_labels goes in steps made for millimetres on paper: a quarter of a pixel's count.
  constexpr double kFine = 4, kRadius = 10, kHeight = 14;
  std::vector<Tip> tips;
  std::vector<std::size_t> of;
  const auto& findings = run.result.diagnosis.findings;
  for (std::size_t i = 0; i < findings.size(); ++i) {
    if (findings[i].suspects.empty() || !drawn_in(findings[i].suspects[0].side, below)) continue;
    const Position at = findings[i].suspects[0].at;
    of.push_back(i);
    tips.push_back({(below ? -1 : 1) * to_mm(at.x) / scale / kFine, -to_mm(at.y) / scale / kFine,
                    std::to_string(i + 1)});
  }
  std::vector<LabelAt> labels(findings.size());
  const auto places = place_labels(tips, kRadius / kFine, kHeight / kFine);
  for (std::size_t i = 0; i < tips.size(); ++i) {
    labels[of[i]] = {kFine * (places[i].x - tips[i].x), kFine * (places[i].y - tips[i].y),
                     places[i].leader};
  }
  return labels;
}

std::string finding_marks(const RunView& run, const MarkStyle& style) {
  const auto labels = spread_labels(run, style.below, style.mm_per_px);
  std::string further, first;  // the likeliest places last, so that they lie on top
  for (std::size_t i = 0; i < run.result.diagnosis.findings.size(); ++i) {
    const diagnose::Finding& f = run.result.diagnosis.findings[i];
    const int number = static_cast<int>(i) + 1;
    for (const diagnose::Suspect& s : f.suspects) {
      if (!drawn_in(s.side, style.below)) continue;
      MarkStyle once = style;  // what lies on both sides is jumped to on the top
      once.anchors = style.anchors && !(s.side == "both" && style.below);
      const std::string label = place_number(number, s.rank);
      (s.rank == 1 ? first : further) +=
          suspect_mark(f, number, s, once, s.rank == 1 ? labels[i] : usual_label(label));
    }
  }
  return further + first;
}

std::string origin_mark(const Box& area, const MarkStyle& style) {
  if (area.lo.x > 0 || area.lo.y > 0 || area.hi.x < 0 || area.hi.y < 0) return "";
  constexpr const char* kCross = "M-9 0H9M0 -9V9M4 0A4 4 0 1 1 -4 0A4 4 0 1 1 4 0";
  const std::int64_t to_left = style.below ? area.hi.x : -area.lo.x;  // edge of the picture
  const bool right = 2 * to_left > area.hi.x - area.lo.x;  // of the picture: words to its left
  return at_place({0, 0}, style, "class=\"origin\"", "origin of the artwork: 0, 0",
                  fmt::format("<path class=\"halo\" d=\"{0}\"/><path d=\"{0}\"/><text x=\"{1}\" "
                              "y=\"-5\" text-anchor=\"{2}\">0, 0</text>",
                              kCross, right ? -11 : 11, right ? "end" : "start"));
}

std::string origin_in_words(const Box& area) {
  if (area.lo.x <= 0 && area.lo.y <= 0 && area.hi.x >= 0 && area.hi.y >= 0) return "";
  return fmt::format(
      " The origin (0, 0) lies outside the picture; its lower {} is {:.2f}, {:.2f} mm.",
      "left corner, seen from the top,", to_mm(area.lo.x), to_mm(area.lo.y));
}

// 1, 2 or 5 times a power of ten, about a sixth of the width.
double bar_length(double width_mm) {
  const double wanted = width_mm / 6, ten = std::pow(10, std::floor(std::log10(wanted)));
  for (double f : {5.0, 2.0}) {
    if (f * ten <= wanted) return f * ten;
  }
  return ten;
}

// At the lower edge of the picture as it is seen.
std::string scale_bar(const Box& area, bool below, double mm_per_px) {
  const double length = bar_length(to_mm(area.hi.x - area.lo.x));
  const double middle = to_mm(area.centre().x);
  const double x = (below ? -middle : middle) - length / 2;
  const double y = -to_mm(area.lo.y) - 10 * mm_per_px, px = length / mm_per_px;
  const std::string d = fmt::format("M0 -4V4M0 0H{0:.2f}M{0:.2f} -4V4", px);
  return fmt::format(
      "<g class=\"scale\" transform=\"scale({} -1) translate({:.3f} {:.3f})\"><g class=\"bar\" "
      "transform=\"scale({:.5f})\"><path class=\"halo\" d=\"{}\"/><path d=\"{}\"/><text x=\"3\" "
      "y=\"-8\">{} mm</text></g></g>",
      below ? -1 : 1, x, y, mm_per_px, d, d, length);
}

std::string scales(bool below, double screen, double paper) {
  return fmt::format("style=\"--px:{:.5f};--paper-px:{:.5f};--flip:{}\"", screen, paper,
                     below ? -1 : 1);
}

std::string side_caption(bool below, const Box& area) {
  return std::string(below ? "Bottom side, <b>mirrored</b>: as you see it when the board is turned "
                             "over left to right. Coordinates stay the artwork's."
                           : "Top side, as you look at it.") +
         origin_in_words(area);
}

std::string side_figure(const RunView& run, const expect::Board& board, bool below) {
  const Box area = drawn_area(board);
  const std::string side = below ? "bottom" : "top";
  return fmt::format(
             "<figure class=\"side\" id=\"side-{0}\" data-side=\"{0}\"><div class=\"buttons "
             "live-only\"><button type=\"button\" data-do=\"in\" aria-label=\"{0} side: "
             "closer\">+</button><button type=\"button\" data-do=\"out\" aria-label=\"{0} side: "
             "farther\">&minus;</button><button type=\"button\" data-do=\"whole\">Whole "
             "side</button><span class=\"readout quiet\"></span></div><div class=\"stage\">",
             side) +
         side_drawing(run, board, {below, kOnScreen, true}) + "</div><figcaption>" +
         side_caption(below, area) + "</figcaption></figure>";
}

std::string legend_of(const diagnose::Diagnosis& d) {
  std::string out = "<ul class=\"legend\" aria-label=\"What the marks mean\">";
  const auto row = [&out](const std::string& sign, const std::string& words) {
    out += "<li>" + sign + "<span>" + words + "</span></li>";
  };
  std::vector<diagnose::FindingKind> kinds;
  for (const diagnose::Finding& f : d.findings) {
    if (std::ranges::find(kinds, f.kind) == kinds.end()) kinds.push_back(f.kind);
  }
  for (diagnose::FindingKind k : kinds)
    row(symbol(std::string(name(k)), "first"), kind_in_words(k) + ": likeliest place");
  if (!kinds.empty())
    row(symbol(std::string(name(kinds[0])), "further"),
        "smaller, in the second colour: a less likely place; a line: the stretch to look along");
  if (!d.untested.empty()) row(symbol("untested", "doubt"), "cross: a point that was not tested");
  if (!d.cannot_tell.empty())
    row(symbol("cannot-tell", "doubt"),
        "small dashed ring: a possible fault that no reading tells of");
  return out + "</ul>";
}

std::string show_doubt(const diagnose::Diagnosis& d) {
  if (d.untested.empty() && d.cannot_tell.empty()) return "";
  return "<label class=\"screen-only\"><input type=\"checkbox\" id=\"show-doubt\" checked> Show "
         "what "
         "was not tested</label>";
}

}  // namespace

std::string side_drawing(const RunView& run, const expect::Board& board, const SideDrawing& wish) {
  const auto [below, width_px, details] = wish;
  const Box area = drawn_area(board);
  const double w = to_mm(area.hi.x - area.lo.x);
  const double paper = 25.4 / 96;  // mm a CSS pixel
  // A drawing to zoom into has marks of half the size.
  const double scale = width_px > 0 ? w / width_px : details ? paper / 2 : paper;
  const MarkStyle style{scale, below, width_px > 0};
  View v{area, below, below ? "bottom" : "top", width_px, "", "", ""};
  v.label = fmt::format("{} side, {:.1f} by {:.1f} mm, with the findings", v.layer, w,
                        to_mm(area.hi.y - area.lo.y));
  v.attributes = scales(below, scale, width_px > 0 ? w / kOnPaper : scale);
  v.marks = origin_mark(area, style);
  if (details) {
    v.marks += names_svg(names_on(board, below), below, scale) +
               untested_marks(run.result.diagnosis, board, style);
  }
  v.marks += finding_marks(run, style) + scale_bar(area, below, scale);
  return draw(board, v);
}

std::string board_views(const RunView& run, const expect::Board& board) {
  std::string out =
      "<section aria-labelledby=\"the-board\"><h2 id=\"the-board\">The board</h2>" +
      legend_of(run.result.diagnosis) + show_doubt(run.result.diagnosis) +
      "<p class=\"live-only quiet\">Drag to move, pinch to zoom. Click a picture first, then the "
      "wheel, + and &minus; zoom, the arrow keys move, 0 shows all of it. / searches; n and p go "
      "to "
      "the next and the previous finding.</p><div class=\"views\">" +
      side_figure(run, board, false);
  if (board.copper.layers > 1) out += side_figure(run, board, true);
  return out + "</div></section>";
}

std::string page_data(const expect::Board& board) {
  using Json = nlohmann::ordered_json;
  const auto nets = nets_of_islands(board);
  std::map<std::string, std::array<std::vector<std::size_t>, 2>> islands;
  for (const expect::Point& p : board.expectation.points) islands[p.net];
  for (std::size_t i = 0; i < nets.size(); ++i) {
    const std::size_t layer = index(board.copper.islands[i].layer);
    const auto net = islands.find(nets[i]);
    if (net == islands.end()) continue;
    if (layer == 0) net->second[0].push_back(i);
    if (layer > 0 && layer + 1 == board.copper.layers) net->second[1].push_back(i);
  }
  Json list = Json::array(), points = Json::array();
  std::map<std::string, std::size_t> number;
  for (const auto& [net, on] : islands) {
    number[net] = list.size();
    list.push_back({net, on[0], on[1]});
  }
  const auto mm = [](std::int64_t nm) { return std::round(to_mm(nm) * 1e3) / 1e3; };
  for (const expect::Point& p : board.expectation.points) {
    points.push_back({p.id, number[p.net], mm(p.at.x), mm(p.at.y), static_cast<int>(p.side)});
  }
  std::string text = Json{{"nets", list}, {"points", points}}.dump();
  for (std::size_t at = 0; (at = text.find('<', at)) != std::string::npos; at += 6)
    text.replace(at, 1, "\\u003c");
  return text;
}

}  // namespace isthmus::report
