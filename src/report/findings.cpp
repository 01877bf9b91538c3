// SPDX-License-Identifier: Apache-2.0
// The list of findings, and each with its close-ups.
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "report/drawing.hpp"
#include "report/marks.hpp"
#include "report/nets.hpp"
#include "report/page_parts.hpp"

namespace isthmus::report {
namespace {

constexpr double kWidthMm = 80, kWidthPx = kWidthMm / 25.4 * 96, kPaperPx = 110;
constexpr std::size_t kCloseups = 4;

// Of a close-up: usual magnifications of a stereo microscope (common practice, no source); the
// greatest at which all of the suspect's stretch is seen, with 1 mm around.
double magnification(const diagnose::Suspect& s) {
  Box box;
  box.add(s.at);
  for (Position p : s.path) box.add(p);
  box = box.grown(1_mm);
  const double across = to_mm(std::max(box.hi.x - box.lo.x, box.hi.y - box.lo.y));
  for (double m : std::array{20.0, 15.0, 10.0, 7.0}) {
    if (kWidthMm / m >= across) return m;
  }
  return kWidthMm / across;
}

Box close_area(const diagnose::Suspect& s, double magnified) {
  Box box;
  box.add(s.at);
  for (Position p : s.path) box.add(p);
  const Position c = box.centre();
  const std::int64_t half = from_mm(kWidthMm / magnified / 2).value;
  return {{c.x - half, c.y - half}, {c.x + half, c.y + half}};
}

std::string closeup(const Ground& ground, const diagnose::Finding& f, int number,
                    const diagnose::Suspect& s) {
  const bool below = s.side == "bottom";
  const double magnified = magnification(s);
  const Box area = close_area(s, magnified);
  const double across = to_mm(area.hi.x - area.lo.x), scale = across / kWidthPx;
  const std::string label = place_number(number, s.rank);
  View v{area, below, s.side == "both" ? "top" : s.side, kWidthPx, "", "", ""};
  v.label = fmt::format("close-up of place {}", label);
  v.attributes = fmt::format("style=\"--px:{:.5f};--paper-px:{:.5f};--flip:{}\"", scale,
                             across / kPaperPx, below ? -1 : 1);
  v.marks = suspect_mark(f, number, s, {scale, below, false}, usual_label(label));
  const Position at = ground.counted(s.at, s.side);
  return "<figure>" + draw(ground.board, v) +
         fmt::format(
             "<figcaption><b>{}</b> {:.2f}, {:.2f} mm, {}{}; {:.3g}\u00d7, {:.1f} mm "
             "across</figcaption></figure>",
             label, to_mm(at.x), to_mm(at.y), escape(s.side),
             below ? " (mirrored: board turned over)" : "", magnified, across);
}

// The other count's coordinates, and the pad beside which it lies.
std::string whereabouts(const Ground& ground, const diagnose::Suspect& s) {
  const bool corner = ground.origin == Origin::corner;
  const Position other = corner ? s.at : from_corner(ground.places, s.at, s.side);
  const std::string pad = near_in_words(
      ground.places, s.at, s.side, [](double nm) { return fmt::format("{:.2f} mm", nm * 1e-6); });
  return fmt::format(
      "<td class=\"n screen-only\" data-is=\"{}\">{:.2f}, {:.2f}</td><td class=\"screen-only\" "
      "data-is=\"near\">{}</td>",
      corner ? "artwork" : "from the corner", to_mm(other.x), to_mm(other.y), escape(pad));
}

std::string places_table(const Ground& ground, const diagnose::Finding& f, int number) {
  std::string out = fmt::format(
      "<table class=\"rows\"><tr class=\"titles\"><th>Place</th><th>x, mm</th><th>y, mm</th>"
      "<th>Side</th><th class=\"screen-only\">{}</th><th>Nearest "
      "pad</th><th>Share</th><th>Why</th></tr>",
      ground.origin == Origin::corner ? "In the artwork, mm" : "From the corner, mm");
  for (const diagnose::Suspect& s : f.suspects) {
    const std::string nets =
        s.nets.empty() || s.nets == f.nets ? "" : " (" + escaped_list(s.nets, ", ") + ")";
    const Position at = ground.counted(s.at, s.side);
    out += fmt::format(
        "<tr><td class=\"n\" data-is=\"place\"><a href=\"#mark-{}-{}\">{}</a></td><td class=\"n\" "
        "data-is=\"x\">{:.3f}</td><td class=\"n\" data-is=\"y\">{:.3f}</td><td>{}</td>{}<td "
        "class=\"n\">{}</td><td class=\"wide\">{}{}</td></tr>",
        number, s.rank, place_number(number, s.rank), to_mm(at.x), to_mm(at.y), escape(s.side),
        whereabouts(ground, s), escape(percent(s.likelihood)), escape(s.why), nets);
  }
  return out + "</table>";
}

std::string measured_in_words(const diagnose::Finding& f) {
  return fmt::format("Measured {}{}, limit {}", ohms_in_words(f.measured),
                     f.uncertainty.value > 0 ? " \u00b1 " + ohms_in_words(f.uncertainty) : "",
                     ohms_in_words(f.limit));
}

std::string section(const Ground& ground, const diagnose::Finding& f, int number) {
  std::string out = fmt::format(
      "<section class=\"finding\" id=\"finding-{0}\"><div class=\"lead\"><h3>{0}. {1}: "
      "{2}</h3><p>{3}.</p>",
      number, kind_in_words(f.kind), escaped_list(f.nets, ", "), measured_in_words(f));
  for (std::size_t i = 0; i < f.parts.size(); ++i) {
    out += fmt::format("<div class=\"parts\">Piece {}: <span class=\"ids\">{}</span></div>", i + 1,
                       escaped_list(f.parts[i], " "));
  }
  out += "</div><div class=\"closeups\">";
  for (std::size_t i = 0; i < std::min(kCloseups, f.suspects.size()); ++i)
    out += closeup(ground, f, number, f.suspects[i]);
  return out + "</div>" +
         (f.suspects.empty() ? "<p>No place is known.</p>" : places_table(ground, f, number)) +
         "</section>";
}

}  // namespace

std::string findings_list(const RunView& run, const Ground& ground) {
  const auto& findings = run.result.diagnosis.findings;
  if (findings.empty()) return "";
  std::string out =
      "<section aria-labelledby=\"findings\"><h2 id=\"findings\">Findings</h2><ol class=\"list\">";
  int number = 0;
  for (const diagnose::Finding& f : findings) {
    ++number;
    out += fmt::format("<li><span class=\"number\">{}</span>{}<span>", number,
                       symbol(std::string(name(f.kind)), "first"));
    const std::string what = kind_in_words(f.kind) + ": " + escaped_list(f.nets, ", ");
    out += f.suspects.empty()
               ? "<b>" + what + "</b>"
               : fmt::format("<a class=\"jump\" href=\"#mark-{}-1\"><b>{}</b></a>", number, what);
    out += "<small>" + measured_in_words(f);
    if (!f.suspects.empty()) {
      const diagnose::Suspect& s = f.suspects[0];
      const Position at = ground.counted(s.at, s.side);
      out += fmt::format("; look at {:.2f}, {:.2f} mm, {}: {}", to_mm(at.x), to_mm(at.y),
                         escape(s.side), escape(s.why));
    }
    out += fmt::format(
        " <a class=\"screen-only\" href=\"#finding-{0}\" aria-label=\"close-ups of "
        "finding {0}\">close-ups</a></small></span></li>",
        number);
  }
  return out + "</ol></section>";
}

std::string finding_sections(const RunView& run, const Ground& ground) {
  const auto& findings = run.result.diagnosis.findings;
  if (findings.empty()) return "";
  std::string out =
      "<section class=\"cards\" aria-labelledby=\"close-up\"><h2 id=\"close-up\">Close up</h2><div "
      "class=\"grid\">";
  out +=
      ground.origin == Origin::corner
          ? "<p class=\"quiet screen-only\">x and y are counted from the board's lower left corner "
            "as seen "
            "from the side that is named, of holes from above.</p>"
          : "<p class=\"quiet screen-only\">x and y are the artwork's, on both sides. From the "
            "corner: the "
            "board's lower left one as seen from the side that is named, of holes from above.</p>";
  int number = 0;
  for (const diagnose::Finding& f : findings) out += section(ground, f, ++number);
  return out + "</div></section>";
}

}  // namespace isthmus::report
