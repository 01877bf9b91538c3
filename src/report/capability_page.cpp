// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <span>

#include "isthmus/expect/capability.hpp"
#include "report/drawing.hpp"
#include "report/shortfalls.hpp"

namespace isthmus::report {
namespace {

using expect::Shortfall;
using expect::ShortfallKind;

constexpr std::size_t kDrawn = 12;   // close-ups
constexpr std::size_t kListed = 60;  // the rest is in the JSON

constexpr const char* kStyle = R"(
:root{color-scheme:light}*{box-sizing:border-box}
body{margin:0;font:14px/1.45 system-ui,sans-serif;color:#1d2733;background:#eef1f4}
main{max-width:1120px;margin:0 auto;padding:20px;background:#fff}
h1{font-size:22px;margin:0}h2{font-size:17px;margin:22px 0 6px;border-bottom:1px solid #d5dbe2}
.quiet{color:#5b6775}figure{margin:0}figcaption{font-size:12px;color:#5b6775}
.bars{display:flex;gap:3mm}.true{display:flex;flex-wrap:wrap;gap:4mm;margin-top:3mm}.true figure{flex:none}
.closeups{display:flex;flex-wrap:wrap;gap:12px}.closeups figure{width:205px}
svg{display:block}svg.bar{flex:none}svg.board{border:1px solid #d5dbe2;background:#fff}
.laminate{fill:#f1f4f2}.copper{fill:#c98a4b}.behind{fill:#8fa69b;opacity:.25}.holes{fill:#fff;stroke:none}.slot{stroke:#fff;fill:none}
.edge{fill:none;stroke:#41525f;stroke-width:.15}.place{fill:none;stroke:#c4123f}.number{fill:#c4123f;font-weight:700;paint-order:stroke;stroke:#fff;stroke-width:.12em}
.fiducial{fill:none;stroke:#1746a2}.letter{fill:#1746a2;font-weight:700;paint-order:stroke;stroke:#fff;stroke-width:.12em}
table{border-collapse:collapse;width:100%;font-size:13px}th,td{text-align:left;padding:3px 7px;border-bottom:1px solid #d5dbe2;vertical-align:top}
td.n,th.n{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}td.blank{min-width:26mm;border:1px solid #41525f}
pre{background:#f4f6f8;padding:8px;overflow-x:auto;white-space:pre-wrap}
@page{margin:12mm}@media print{body{background:#fff;font-size:11px}main{padding:0;max-width:none}figure,tr,pre,.bars{break-inside:avoid}h2{break-after:avoid}
*{print-color-adjust:exact;-webkit-print-color-adjust:exact}}
)";

std::string bar(bool upright) {
  std::string out = fmt::format(
      "<svg class=\"bar\" role=\"img\" aria-label=\"100 mm {}\" width=\"{}mm\" height=\"{}mm\" "
      "viewBox=\"0 0 {} {}\"><g transform=\"{}\" stroke=\"#000\" stroke-width=\".15\">",
      upright ? "upright" : "across", upright ? 9 : 102, upright ? 102 : 9, upright ? 9 : 102,
      upright ? 102 : 9, upright ? "translate(1 101) rotate(-90)" : "translate(1 1)");
  for (int i = 0; i <= 10; ++i)
    out += fmt::format("<path d=\"M{0} 0V{1}\"/>", i * 10, i % 5 == 0 ? 4 : 2.5);
  return out + "<path d=\"M0 0H100\"/></g><text font-size=\"2.6\" " +
         (upright ? "transform=\"translate(8.4 51) rotate(-90)\"" : "x=\"51\" y=\"8.4\"") +
         " text-anchor=\"middle\">100 mm between the outer lines</text></svg>";
}

struct MarkPlace {
  Position at;
  std::string what;
};

// Up to four holes or pads of the side, the farthest out towards each corner.
std::vector<MarkPlace> corner_marks(const expect::Board& board, bool bottom) {
  std::vector<MarkPlace> all;
  for (const expect::Point& p : board.expectation.points) {
    const std::size_t layer = bottom ? board.copper.layers - 1 : 0;
    const bool here = p.side == Side::both || p.side == (bottom ? Side::bottom : Side::top);
    if (here && p.islands.size() > layer && p.islands[layer]) all.push_back({p.at, p.id});
  }
  std::vector<MarkPlace> out;
  for (const std::array<int, 2>& to : {std::array{-1, -1}, {1, -1}, {1, 1}, {-1, 1}}) {
    const auto out_there = [&](const MarkPlace& m) { return to[0] * m.at.x + to[1] * m.at.y; };
    const auto best = std::ranges::max_element(all, {}, out_there);
    if (best == all.end()) break;
    const bool known =
        std::ranges::any_of(out, [&](const MarkPlace& m) { return m.at == best->at; });
    if (!known) out.push_back(*best);
  }
  return out;
}

std::string text_at(Position at, double off, double size, bool below, const char* kind,
                    const std::string& text) {
  return fmt::format(
      "<text class=\"{}\" transform=\"translate({:.3f} {:.3f}) scale({} -1)\" "
      "font-size=\"{:.3f}\">{}</text>",
      kind, to_mm(at.x) + (below ? -off : off), to_mm(at.y) + off, below ? -1 : 1, size, text);
}

std::string ring_round(Position at, double radius, double line, const char* kind) {
  return fmt::format(
      "<circle class=\"{}\" cx=\"{:.3f}\" cy=\"{:.3f}\" r=\"{:.3f}\" stroke-width=\"{:.3f}\"/>",
      kind, to_mm(at.x), to_mm(at.y), radius, line);
}

char letter(std::size_t i) { return static_cast<char>('A' + static_cast<char>(i)); }

std::string true_size(const expect::Board& board, const std::vector<Shortfall>& all, bool below) {
  const std::string layer = below ? "bottom" : "top";
  std::string marks;
  for (std::size_t i = std::min(all.size(), kDrawn); i-- > 0;) {
    if (all[i].side != layer) continue;
    marks += ring_round(all[i].at, 0.9, 0.25, "place") +
             text_at(all[i].at, 0.9, 2.4, below, "number", std::to_string(i + 1));
  }
  const auto corners = corner_marks(board, below);
  for (std::size_t i = 0; i < corners.size(); ++i) {
    marks += ring_round(corners[i].at, 1.4, 0.2, "fiducial") +
             text_at(corners[i].at, 1.4, 2.8, below, "letter", std::string(1, letter(i)));
  }
  return "<figure>" +
         draw(board, {drawn_area(board), below, layer, 0, marks, layer + " side in true size"}) +
         (below ? "<figcaption>Bottom side, <b>mirrored</b>: as seen when the board is turned over "
                  "left to right.</figcaption></figure>"
                : "<figcaption>Top side, as you look at it.</figcaption></figure>");
}

std::string closeup(const expect::Board& board, const Shortfall& s, std::size_t number) {
  const bool below = s.side == "bottom";
  Box area;
  area.add(s.at);
  area = area.grown(1500_um);
  const std::string marks = ring_round(s.at, 0.35, 0.03, "place");
  return "<figure>" +
         draw(board, {area, below, s.side, 200, marks, fmt::format("place {}", number)}) +
         fmt::format("<figcaption>{}. {}{}; 3 mm across</figcaption></figure>", number,
                     escape(in_words(s)), below ? " (mirrored)" : "");
}

std::string table(const std::vector<Shortfall>& all) {
  std::string out =
      "<table><tr><th class=\"n\">No.</th><th>What</th><th class=\"n\">drawn, mm</th><th "
      "class=\"n\">needed, mm</th><th class=\"n\">x, mm</th><th "
      "class=\"n\">y, mm</th><th>Side</th><th>Nets</th><th>What may happen</th></tr>";
  std::size_t number = 0;
  for (const Shortfall& s : std::span(all).first(std::min(all.size(), kListed))) {
    std::string nets;
    for (const std::string& net : s.nets) nets += (nets.empty() ? "" : ", ") + escape(net);
    out += fmt::format(
        "<tr><td class=\"n\">{}</td><td>{}</td><td class=\"n\">{:.3f}</td><td "
        "class=\"n\">{:.3f}</td><td class=\"n\">{:.3f}</td><td "
        "class=\"n\">{:.3f}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
        ++number, name(s.kind), to_mm(s.drawn.value), to_mm(s.needed.value), to_mm(s.at.x),
        to_mm(s.at.y), escape(s.side), nets, escape(what_may_happen(s)));
  }
  out += "</table>";
  if (all.size() > kListed)
    out += fmt::format("<p class=\"quiet\">and {} more: isthmus inspect --json</p>",
                       all.size() - kListed);
  return out;
}

std::string marks_table(const std::vector<MarkPlace>& marks, const std::string& side) {
  std::string rows;
  for (std::size_t i = 0; i < marks.size(); ++i) {
    rows += fmt::format(
        "<tr><td>{}</td><td>{}</td><td class=\"n\">{:.3f}</td><td class=\"n\">{:.3f}</td><td "
        "class=\"blank\"></td><td class=\"blank\"></td></tr>",
        letter(i), escape(marks[i].what), to_mm(marks[i].at.x), to_mm(marks[i].at.y));
  }
  return fmt::format(
      "<h3>{} side</h3><table><tr><th>Mark</th><th>Pad</th><th class=\"n\">x, mm</th><th "
      "class=\"n\">y, mm</th><th>x measured</th><th>y measured</th></tr>{}</table>",
      side, rows);
}

std::string placed_marks(const expect::Board& board) {
  std::string tables, yaml;
  for (const bool below : {false, true}) {
    const auto marks = corner_marks(board, below);
    if (marks.empty() || (below && board.copper.layers < 2)) continue;
    tables += marks_table(marks, below ? "Bottom" : "Top");
    std::string list;
    for (const MarkPlace& m : marks)
      list += fmt::format("{}[{:.3f}, {:.3f}, ___, ___]", list.empty() ? "" : ", ", to_mm(m.at.x),
                          to_mm(m.at.y));
    yaml += fmt::format("\n  {}: [{}]", below ? "bottom" : "top", list);
  }
  return tables.empty() ? "" : tables + "<pre>placed:" + yaml + "</pre>";
}

std::string process_line(const formats::ProcessKeys& p) {
  return fmt::format(
      "Declared process: gap {:.3f} mm, track {:.3f} mm, registration {:.3f} mm, drill wander "
      "{:.3f} mm, undercut {:.3f} mm a side.",
      to_mm(p.gap.value), to_mm(p.track.value), to_mm(p.registration.value),
      to_mm(p.drill_wander.value), to_mm(p.undercut.value));
}

}  // namespace

std::string capability_html(const expect::Board& board) {
  const std::vector<Shortfall> all = expect::shortfalls(board);
  const bool two = board.copper.layers > 1;
  const std::string title = escape(board.design.board.name);
  std::string out =
      "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" "
      "content=\"width=device-width,initial-scale=1\"><title>" +
      title + ": before the resist is printed</title><style>" + kStyle + "</style></head><body>\n" +
      definitions(board) + "<main><h1>" + title + ": before the resist is printed</h1><p>" +
      process_line(board.design.board.process) + " ";
  out += all.empty() ? "Nothing on this board asks more.</p>"
                     : fmt::format("<b>{} place{} ask{} more</b>, the worst first.</p>", all.size(),
                                   all.size() == 1 ? "" : "s", all.size() == 1 ? "s" : "");
  out +=
      "<h2>Measure the print</h2><p>Print at 100 %, without fitting to the page, and measure both "
      "bars. What they are off by, the resist from the same printer will be off by. The board is "
      "drawn "
      "in true size, with the first places numbered and the marks of the last section "
      "lettered.</p><div "
      "class=\"bars\">" +
      bar(true) + "<div>" + bar(false) + "<div class=\"true\">" + true_size(board, all, false) +
      (two ? true_size(board, all, true) : "") + "</div></div></div>";
  if (!all.empty()) {
    out += "<h2>What falls short</h2>" + table(all) + "<h2>Close up</h2><div class=\"closeups\">";
    for (std::size_t i = 0; i < std::min(all.size(), kDrawn); ++i)
      out += closeup(board, all[i], i + 1);
    out += "</div>";
    if (all.size() > kDrawn)
      out +=
          fmt::format("<p class=\"quiet\">The first {} of {} are drawn.</p>", kDrawn, all.size());
  }
  out +=
      "<h2>Where the artwork came to lie</h2><p>On the etched board, measure the middles of these "
      "pads "
      "from one corner of the pin plate, x to the right and y upwards as seen from the top side "
      "(on "
      "the board turned over, x runs to the left). Write them into board.yaml in place of the "
      "blanks; "
      "<code>isthmus fixture</code> then tells scale, shift and turn, and drills by them. Leave "
      "out "
      "marks you cannot measure: two give turn and scale, three each axis of its own.</p>";
  return out + placed_marks(board) +
         "<p class=\"quiet\">Etchants burn and stain, spent etchant holds copper: goggles, gloves, "
         "and not "
         "into the drain; local rules come first.</p></main></body></html>\n";
}

}  // namespace isthmus::report
