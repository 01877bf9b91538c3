// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "report/drawing.hpp"
#include "report/nets.hpp"
#include "report/places.hpp"

namespace isthmus::report {
namespace {

constexpr const char* kStyle = R"(
:root{color-scheme:light;--ink:#1d2733;--quiet:#5b6775;--line:#d5dbe2;--paper:#fff;--board:#24473b;--copper:#d99a5b;--fault:#c4123f}
*{box-sizing:border-box}body{margin:0;font:15px/1.5 system-ui,sans-serif;color:var(--ink);background:#eef1f4}
main{max-width:1120px;margin:0 auto;padding:24px;background:var(--paper)}
h1{font-size:24px;margin:0 0 4px}h2{font-size:18px;margin:28px 0 8px;border-bottom:1px solid var(--line);padding-bottom:4px}h3{font-size:16px;margin:20px 0 4px}
.verdict{display:inline-block;padding:4px 14px;border-radius:4px;font-weight:700;color:#fff}
.pass{background:#14703c}.fail{background:var(--fault)}.incomplete{background:#8a5a00}
.quiet{color:var(--quiet)}.views{display:flex;flex-wrap:wrap;gap:16px}figure{margin:0}figcaption{font-size:13px;color:var(--quiet);max-width:520px}
svg.board{display:block;max-width:100%;height:auto;border:1px solid var(--line);border-radius:4px;background:#fff}
.laminate{fill:#dfe8e2}.copper{fill:var(--copper)}.behind{fill:#8fa69b;opacity:.28}.holes{fill:#fff;stroke:none}.slot{stroke:#fff;fill:none}
.edge{fill:none;stroke:#41525f;stroke-width:.15}.stretch{fill:none;stroke:var(--fault);stroke-linejoin:round;stroke-linecap:round;opacity:.75}
.first{fill:none;stroke:var(--fault)}.further{fill:none;stroke:#3b3f9c;opacity:.8}.mark text{fill:var(--fault);font-weight:700;paint-order:stroke;stroke:#fff;stroke-width:.12em}
table{border-collapse:collapse;width:100%;font-size:14px}th,td{text-align:left;padding:4px 8px;border-bottom:1px solid var(--line);vertical-align:top}
td.n{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}.ids{font-family:ui-monospace,monospace;font-size:13px;overflow-wrap:anywhere}
th{white-space:nowrap}td{overflow-wrap:anywhere}.hash{font-size:11px}
.closeups{display:flex;flex-wrap:wrap;gap:12px;margin:8px 0}
@page{margin:14mm}
@media print{body{background:#fff;font-size:12px}main{padding:0;max-width:none}
h2,h3,.lead{break-after:avoid}figure,table,tr,.lead,.closeups{break-inside:avoid}
.views{flex-wrap:nowrap;gap:4mm}.views figure{flex:1 1 0;min-width:0}.closeups{flex-wrap:nowrap;gap:3mm}.closeups figure{flex:0 1 25%;min-width:0}
table{font-size:11px}figcaption,.ids{font-size:10px}.hash{font-size:8px}*{print-color-adjust:exact;-webkit-print-color-adjust:exact}}
@media screen and (max-width:640px){main{padding:12px}.basis th,.basis td{display:block;border:0;padding:2px 0}
.places .titles{display:none}.places tr{display:flex;flex-wrap:wrap;border-bottom:1px solid var(--line)}.places td{border:0;padding:2px 6px}
.places td[data-is]::before{content:attr(data-is) " ";color:var(--quiet)}.places td:last-child{flex-basis:100%}}
)";

std::string joined(const std::vector<std::string>& list, const char* by) {
  std::string text;
  for (const std::string& s : list) text += (text.empty() ? "" : by) + escape(s);
  return text;
}

std::string ohms(const std::optional<Ohms>& r) {
  if (!r || !(r->value < 1e36)) return "over range";
  constexpr std::pair<double, const char*> kUnits[] = {
      {1e9, "G\u03a9"}, {1e6, "M\u03a9"}, {1e3, "k\u03a9"}, {1, "\u03a9"}, {1e-3, "m\u03a9"}};
  for (const auto& [scale, unit] : kUnits) {
    if (r->value >= scale) return fmt::format("{:.3g} {}", r->value / scale, unit);
  }
  return fmt::format("{:.3g} m\u03a9", r->value * 1e3);
}

std::string words(diagnose::FindingKind kind) {
  switch (kind) {
    case diagnose::FindingKind::open:
      return "Open";
    case diagnose::FindingKind::bridge:
      return "Bridge";
    case diagnose::FindingKind::leakage:
      return "Leakage";
    case diagnose::FindingKind::high_resistance:
      return "High resistance";
  }
  return "";
}

bool seen_from_below(const std::string& side) { return side == "bottom"; }

std::string all_marks(const RunView& run, bool from_below, double scale) {
  std::string out;
  int number = 0;
  for (const diagnose::Finding& f : run.result.diagnosis.findings) {
    ++number;
    // The likeliest places last, so that they lie on top.
    for (auto s = f.suspects.rbegin(); s != f.suspects.rend(); ++s) {
      if (s->side == "both" || seen_from_below(s->side) == from_below)
        out += mark(*s, number, scale, from_below);
    }
  }
  return out;
}

std::string views(const RunView& run, const expect::Board& board, Origin origin) {
  constexpr double kWidth = 528;
  const Box area = drawn_area(board);
  const double scale = to_mm(area.hi.x - area.lo.x) / kWidth;
  std::string out = "<h2>The board</h2><div class=\"views\">";
  for (bool below : {false, true}) {
    if (below && board.copper.layers < 2) break;
    const std::string layer = below ? "bottom" : "top";
    out += "<figure>" + draw(board, {area, below, layer, kWidth, all_marks(run, below, scale),
                                     layer + " side with the findings"});
    out += below ? "<figcaption>Bottom side, <b>mirrored</b>: as you see it when the board is "
                   "turned over left to right.</figcaption>"
                 : "<figcaption>Top side, as you look at it.</figcaption>";
    out += "</figure>";
  }
  return out +
         "</div><p class=\"quiet\">A number marks the likeliest place of each finding; a red line "
         "is a stretch to look along; blue rings are less likely places.</p>" +
         (origin == Origin::corner
              ? "<p class=\"quiet\">x and y of the findings are counted from the board's lower "
                "left "
                "corner as seen from the side that is named, of holes from above.</p>"
              : "<p class=\"quiet\">x and y are the artwork's, on both sides. From the corner: the "
                "board's lower left one as seen from the side that is named, of holes from "
                "above.</p>");
}

// The whole of the suspect's stretch, with 2 mm around: the fault may be anywhere along it.
Box close_area(const diagnose::Suspect& s) {
  Box box;
  for (Position p : s.path) box.add(p);
  box.add(s.at);
  box = box.grown(2_mm);
  const std::int64_t side = std::max(box.hi.x - box.lo.x, box.hi.y - box.lo.y) / 2;
  const Position c = box.centre();
  return {{c.x - side, c.y - side}, {c.x + side, c.y + side}};
}

// The board with what its places are said by.
struct Ground {
  const expect::Board& board;
  Places places;
  Origin origin{};
  [[nodiscard]] Position counted(Position p, const std::string& side) const {
    return origin == Origin::corner ? from_corner(places, p, side) : p;
  }
};

std::string closeup(const Ground& ground, const diagnose::Suspect& s, int number) {
  constexpr double kWidth = 250;
  const bool below = seen_from_below(s.side);
  const Box area = close_area(s);
  const double scale = to_mm(area.hi.x - area.lo.x) / kWidth;
  const std::string layer = s.side == "both" ? "top" : s.side;
  const Position at = ground.counted(s.at, s.side);
  return "<figure>" +
         draw(ground.board, {area, below, layer, kWidth, mark(s, number, scale, below),
                             fmt::format("close-up of place {}", s.rank)}) +
         fmt::format(
             "<figcaption>{}. {:.2f}, {:.2f} mm, {}{}; {:.1f} mm across</figcaption></figure>",
             s.rank, to_mm(at.x), to_mm(at.y), escape(s.side), below ? " (mirrored)" : "",
             to_mm(area.hi.x - area.lo.x));
}

// The other count's coordinates, and the pad beside which it lies.
std::string whereabouts(const Ground& ground, const diagnose::Suspect& s) {
  const bool corner = ground.origin == Origin::corner;
  const Position other = corner ? s.at : from_corner(ground.places, s.at, s.side);
  const std::string pad = near_in_words(
      ground.places, s.at, s.side, [](double nm) { return fmt::format("{:.2f} mm", nm * 1e-6); });
  return fmt::format(
      "<td class=\"n\" data-is=\"{}\">{:.2f}, {:.2f}</td><td data-is=\"near\">{}</td>",
      corner ? "artwork" : "from the corner", to_mm(other.x), to_mm(other.y), escape(pad));
}

std::string finding(const Ground& ground, const diagnose::Finding& f, int number) {
  constexpr std::size_t kCloseups = 4;
  std::string out =
      fmt::format("<section class=\"finding\"><div class=\"lead\"><h3>{}. {}: {}</h3>", number,
                  words(f.kind), joined(f.nets, ", "));
  out += fmt::format("<p>Measured {}, limit {}{}.</p>", ohms(f.measured), ohms(f.limit),
                     f.uncertainty.value > 0 ? ", \u00b1 " + ohms(f.uncertainty) : "");
  for (std::size_t i = 0; i < f.parts.size(); ++i) {
    out += fmt::format("<div>Piece {}: <span class=\"ids\">{}</span></div>", i + 1,
                       joined(f.parts[i], " "));
  }
  out += "</div><div class=\"closeups\">";
  for (std::size_t i = 0; i < std::min(kCloseups, f.suspects.size()); ++i)
    out += closeup(ground, f.suspects[i], number);
  out += fmt::format(
      "</div><table class=\"places\"><tr class=\"titles\"><th>Place</th><th>x, mm</th><th>y, "
      "mm</th><th>Side</th><th>{}</th><th>Nearest pad</th><th>Share</th><th>Why</th></tr>",
      ground.origin == Origin::corner ? "In the artwork, mm" : "From the corner, mm");
  for (const diagnose::Suspect& s : f.suspects) {
    const std::string nets = s.nets.empty() ? "" : " (" + joined(s.nets, ", ") + ")";
    const Position at = ground.counted(s.at, s.side);
    out += fmt::format(
        "<tr><td class=\"n\" data-is=\"place\">{}</td><td class=\"n\" data-is=\"x\">{:.3f}</td><td "
        "class=\"n\" data-is=\"y\">{:.3f}</td><td>{}</td>{}<td "
        "class=\"n\">{}</td><td>{}{}</td></tr>",
        s.rank, to_mm(at.x), to_mm(at.y), escape(s.side), whereabouts(ground, s),
        escape(percent(s.likelihood)), escape(s.why), nets);
  }
  return out + "</table></section>";
}

std::string untested(const diagnose::Diagnosis& d) {
  if (d.untested.empty()) return "";
  std::string out = "<h2>Not tested</h2><table><tr><th>Net</th><th>Points</th><th>Why</th></tr>";
  for (const diagnose::Untested& u : d.untested) {
    out += fmt::format("<tr><td>{}</td><td class=\"ids\">{}</td><td>{}{}</td></tr>", escape(u.net),
                       joined(u.points, " "), escape(u.why),
                       u.detail.empty() ? "" : ": " + escape(u.detail));
  }
  return out + "</table>";
}

std::string cannot_tell(const diagnose::Diagnosis& d) {
  constexpr std::size_t kMost = 200;
  if (d.cannot_tell.empty()) return "";
  std::string out = "<h2>Cannot be told (" + cannot_tell_in_words(d) +
                    ")</h2><table><tr><th>Nets</th><th>Possible</th><th>x</th><th>y</th>"
                    "<th>Side</th><th>What would tell</th></tr>";
  for (std::size_t i = 0; i < d.cannot_tell.size() && i < kMost; ++i) {
    const diagnose::CannotTell& c = d.cannot_tell[i];
    out += fmt::format(
        "<tr><td>{}</td><td>{}</td><td class=\"n\">{:.3f}</td><td class=\"n\">{:.3f}</td>"
        "<td>{}</td><td>{}</td></tr>",
        joined(c.nets, ", "), expect::is_break(c.kind) ? "break" : "bridge", to_mm(c.at.x),
        to_mm(c.at.y), escape(c.side), escape(would_tell_in_words(c)));
  }
  out += "</table>";
  if (d.cannot_tell.size() > kMost)
    out += fmt::format("<p>and {} more in report.json</p>", d.cannot_tell.size() - kMost);
  return out;
}

std::string hidden_if_bridged(const diagnose::Diagnosis& d, const expect::Board& board) {
  if (d.breaks.unless_bridged == 0) return "";
  const std::vector<UnlessBridged> list = unless_bridged(board, d);
  std::string out =
      "<h2>Excluded unless bridged within their own or a tied net</h2><p>Copper of one net, or of "
      "tied ones, faces itself on the two sides of these places. A break there with solder across "
      "conducts as it should.</p>";
  if (list.size() != d.breaks.unless_bridged)  // from the record, which keeps their number alone
    out += fmt::format("<p>{} of these {} were excluded in this run.</p>", d.breaks.unless_bridged,
                       list.size());
  out +=
      "<table><tr><th>Net</th><th>Possible</th><th>x</th><th>y</th>"
      "<th>Side</th></tr>";
  for (const UnlessBridged& u : list) {
    out += fmt::format(
        "<tr><td>{}</td><td>{}</td><td class=\"n\">{:.3f}</td><td class=\"n\">{:.3f}</td>"
        "<td>{}</td></tr>",
        escape(u.net), u.entry->join ? "missing join" : "break", to_mm(u.entry->at.x),
        to_mm(u.entry->at.y), escape(u.side));
  }
  return out + "</table>";
}

std::string window_of(const RunView& run) {
  return window_in_words(run.head.stage, run.head.limits.window,
                         [](double nm) { return fmt::format("{:.2f} mm", nm * 1e-6); });
}

std::string basis_of_verdict(const RunView& run) {
  const formats::LimitKeys& l = run.head.limits;
  std::string out = "<h2>What the verdict rests on</h2><table class=\"basis\">";
  const auto row = [&](const std::string& a, const std::string& b) {
    out += "<tr><th>" + a + "</th><td>" + b + "</td></tr>";
  };
  row("Basis", escape(run.head.basis));
  row("Limits",
      fmt::format(
          "continuity {}, isolation {} at {} V, bridge below {}, excess {}, pairs within {}",
          ohms(l.continuity), ohms(l.isolation), l.voltage.value, ohms(l.bridge), ohms(l.excess),
          window_of(run)));
  if (run.result.diagnosis.foil)
    row("Copper as measured", escape(foil_in_words(*run.result.diagnosis.foil)));
  row("Adapter", escape(run.head.adapter_name + " " + run.head.adapter_serial + " at " +
                        run.head.adapter_address));
  row("Run",
      fmt::format("{}, started {}, {} measurements, {} placement{} {}", run.head.id,
                  escape(run.head.started_utc), run.result.measurements, run.result.placements,
                  run.result.placements == 1 ? "" : "s", time_in_words(run)));
  for (const std::string& remark : all_remarks(run)) row("Note", escape(remark));
  for (const formats::FileHash& h : run.head.hashes)
    row("SHA-256", "<span class=\"ids\">" + escape(h.file) + " <span class=\"hash\">" + h.sha256 +
                       "</span></span>");
  return out +
         "</table><p class=\"quiet\">A screening at low voltage on an unpowered board: no "
         "conformity to a test standard is claimed. Rinse and dry the "
         "board before you handle it (etchant residue), keep copper-bearing waste out of the "
         "drain, and wear eye protection near spring pins and blades.</p>";
}

std::string verdict_word(const RunView& run) {
  if (broken_off(run) && run.result.diagnosis.findings.empty())
    return "no verdict" + beside_the_verdict(run);
  return std::string(name(run.result.diagnosis.verdict)) + beside_the_verdict(run);
}

std::string headline(const RunView& run) {
  const diagnose::Diagnosis& d = run.result.diagnosis;
  std::string text = fmt::format(
      "<h1>{}{}</h1><p><span class=\"verdict {}\">{}</span> &nbsp; stage <b>{}</b> &middot; {}{} "
      "&middot; {} finding{}</p>",
      escape(run.head.board), run.head.unit.empty() ? "" : ", unit " + escape(run.head.unit),
      name(d.verdict), verdict_word(run), escape(run.head.stage), basis_in_words(run),
      counts_in_words(run, window_of(run)), d.findings.size(), d.findings.size() == 1 ? "" : "s");
  if (!run.result.problem.empty())
    text += "<p><b>The run broke off:</b> " + escape(run.result.problem) + "</p>";
  return text;
}

std::string waived(const diagnose::Diagnosis& d) {
  if (d.waived.empty()) return "";
  std::string out =
      "<h2>Waived by name, not tested</h2><table><tr><th>Net</th><th>Left "
      "out</th><th>Why</th></tr>";
  for (const expect::Waiver& w : d.waived) {
    out += fmt::format("<tr><td>{}</td><td class=\"ids\">{}</td><td>{}</td></tr>", escape(w.net),
                       escape(w.point), escape(w.why));
  }
  return out + "</table>";
}

}  // namespace

std::string run_html(const RunView& run, const expect::Board& board, Origin origin) {
  const Ground ground{board, places_of(board), origin};
  std::string out =
      "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" "
      "content=\"width=device-width,initial-scale=1\"><title>" +
      escape(run.head.board) + ": " + verdict_word(run) + "</title><style>" + kStyle +
      "</style></head><body>\n" + definitions(board) + "<main>" + headline(run) +
      views(run, board, origin);
  if (!run.result.diagnosis.findings.empty()) out += "<h2>Findings</h2>";
  int number = 0;
  for (const diagnose::Finding& f : run.result.diagnosis.findings)
    out += finding(ground, f, ++number);
  return out + untested(run.result.diagnosis) + cannot_tell(run.result.diagnosis) +
         hidden_if_bridged(run.result.diagnosis, board) + waived(run.result.diagnosis) +
         basis_of_verdict(run) + "</main></body></html>\n";
}

}  // namespace isthmus::report
