// SPDX-License-Identifier: Apache-2.0
#include "report/marks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <string_view>
#include <utility>

#include "report/drawing.hpp"

namespace isthmus::report {
namespace {

// In px round the place, for radius 1: scaled when written.
std::string shape(std::string_view what, double r) {
  if (what == "open") return fmt::format("M{0} 0A{0} {0} 0 1 1 -{0} 0A{0} {0} 0 1 1 {0} 0Z", r);
  if (what == "bridge") return fmt::format("M-{0} -{0}H{0}V{0}H-{0}Z", 0.9 * r);
  if (what == "high-resistance")
    return fmt::format("M0 -{0}L{1} {2}H-{1}Z", 1.2 * r, 1.1 * r, 0.75 * r);
  if (what == "leakage") return fmt::format("M0 -{0}L{0} 0L0 {0}L-{0} 0Z", 1.2 * r);
  if (what == "untested") return fmt::format("M-{0} -{0}L{0} {0}M-{0} {0}L{0} -{0}", 0.8 * r);
  return fmt::format("M{0} 0A{0} {0} 0 1 1 -{0} 0A{0} {0} 0 1 1 {0} 0Z", r);  // cannot-tell
}

std::string drawn(std::string_view what, double r) {
  const std::string d = shape(what, r);
  const char* dashed = what == "cannot-tell" ? " dashed" : "";
  return fmt::format("<path class=\"halo\" d=\"{0}\"/><path class=\"line{1}\" d=\"{0}\"/>", d,
                     dashed);
}

std::string stretch(const diagnose::Suspect& s) {
  if (s.path.size() < 2) return "";
  std::string points;
  for (Position p : s.path)
    points += fmt::format("{}{:.3f},{:.3f}", points.empty() ? "" : " ", to_mm(p.x), to_mm(p.y));
  return fmt::format(
      "<polyline class=\"stretch halo\" points=\"{0}\"/><polyline class=\"stretch\" "
      "points=\"{0}\"/>",
      points);
}

double extent_mm(const diagnose::Suspect& s) {
  Box box;
  box.add(s.at);
  for (Position p : s.path) box.add(p);
  return to_mm(std::max(box.hi.x - box.lo.x, box.hi.y - box.lo.y));
}

const expect::Point* point_named(const expect::Board& board, const std::string& id) {
  const auto& points = board.expectation.points;
  const auto found = std::ranges::find(points, id, &expect::Point::id);
  return found == points.end() ? nullptr : &*found;
}

// One path for all of them, in mm: there can be a thousand. Those closer than a ring share one.
std::string cannot_tell_rings(const diagnose::Diagnosis& d, bool below) {
  constexpr double kRadius = 0.3;
  std::set<std::pair<std::int64_t, std::int64_t>> cells;
  std::string rings;
  for (const diagnose::CannotTell& c : d.cannot_tell) {
    if (!drawn_in(c.side, below)) continue;
    const auto cell = [](std::int64_t v) { return (v >= 0 ? v : v - 600'000) / 600'000; };
    if (!cells.insert({cell(c.at.x), cell(c.at.y)}).second) continue;
    rings += fmt::format("M{:.2f} {:.2f}a{r} {r} 0 1 1 -{w} 0a{r} {r} 0 1 1 {w} 0",
                         to_mm(c.at.x) + kRadius, to_mm(c.at.y), fmt::arg("r", kRadius),
                         fmt::arg("w", 2 * kRadius));
  }
  if (rings.empty()) return "";
  return fmt::format(
      "<g class=\"mark doubt rings\"><path class=\"halo\" d=\"{0}\"/><path class=\"line dashed\" "
      "d=\"{0}\"/></g>",
      rings);
}

}  // namespace

bool drawn_in(const std::string& side, bool below) {
  return side == "both" || (side == "bottom") == below;
}

std::string place_number(int finding, int rank) {
  return rank == 1 ? std::to_string(finding) : fmt::format("{}.{}", finding, rank);
}

std::string at_place(Position at, const MarkStyle& style, const std::string& attributes,
                     const std::string& title, const std::string& inside) {
  const double s = style.mm_per_px;
  return fmt::format(
      "<g {} transform=\"translate({:.3f} {:.3f})\"><title>{}</title><g class=\"px\" "
      "transform=\"scale({:.4f} {:.4f})\">{}</g></g>",
      attributes, to_mm(at.x), to_mm(at.y), escape(title), style.below ? -s : s, -s, inside);
}

LabelAt usual_label(const std::string& label) {
  return {14 + 4 * static_cast<double>(label.size()), -10, false};
}

std::string suspect_mark(const diagnose::Finding& finding, int number, const diagnose::Suspect& s,
                         const MarkStyle& style, const LabelAt& label) {
  const std::string called = place_number(number, s.rank);
  const std::string says = fmt::format("Finding {}, place {}: {}, {:.2f}, {:.2f} mm, {}", number,
                                       s.rank, s.side, to_mm(s.at.x), to_mm(s.at.y), s.why);
  const char* kind = s.rank == 1 ? "first" : "further";
  std::string attributes = fmt::format("class=\"mark {}\" data-x=\"{:.3f}\" data-y=\"{:.3f}\" ",
                                       kind, to_mm(s.at.x), to_mm(s.at.y));
  if (style.anchors) {
    attributes += fmt::format("id=\"mark-{}-{}\" data-w=\"{:.2f}\" data-say=\"{}\" ", number,
                              s.rank, extent_mm(s), escape(says));
  }
  std::string inside;
  if (label.leader)
    inside += fmt::format("<path class=\"leader\" d=\"M0 0L{:.1f} {:.1f}\"/>", label.x, label.y);
  inside += drawn(name(finding.kind), s.rank == 1 ? 9 : 6);
  inside += fmt::format("<text text-anchor=\"middle\" x=\"{:.1f}\" y=\"{:.1f}\">{}</text>", label.x,
                        label.y + 4.5, called);
  return fmt::format("<g class=\"mark {}\">{}</g>", kind, stretch(s)) +
         at_place(s.at, style, attributes, says, inside);
}

std::string untested_marks(const diagnose::Diagnosis& d, const expect::Board& board,
                           const MarkStyle& style) {
  std::string out = cannot_tell_rings(d, style.below);
  for (const diagnose::Untested& u : d.untested) {
    for (const std::string& id : u.points) {
      const expect::Point* p = point_named(board, id);
      if (p == nullptr || !drawn_in(std::string(name(p->side)), style.below)) continue;
      out +=
          at_place(p->at, style, "class=\"mark doubt\"",
                   fmt::format("not tested: {} ({}): {}", id, u.net, u.why), drawn("untested", 6));
    }
  }
  return out;
}

std::string symbol(const std::string& what, const std::string& colour_class) {
  return fmt::format(
      "<svg width=\"22\" height=\"22\" viewBox=\"-11 -11 22 22\" aria-hidden=\"true\"><g "
      "class=\"mark {}\">{}</g></svg>",
      colour_class, drawn(what, what == "cannot-tell" ? 4 : 7));
}

}  // namespace isthmus::report
