// SPDX-License-Identifier: Apache-2.0
// The page's tables: nets, what was not tested, what the verdict rests on.
#include <fmt/format.h>

#include <algorithm>

#include "report/drawing.hpp"
#include "report/net_readings.hpp"
#include "report/nets.hpp"
#include "report/page_parts.hpp"

namespace isthmus::report {
namespace {

std::string predicted_in_words(const NetReading& n) {
  if (!n.predicted) return "";
  return fmt::format("{} \u00b1 {}", ohms_in_words(n.predicted->ohms),
                     ohms_in_words(n.predicted->uncertainty));
}

std::string measured_in_words(const NetReading& n) {
  if (n.readings == 0) return "not read";
  if (!n.measured) return "over range";
  return fmt::format("{} \u00b1 {}", ohms_in_words(n.measured), ohms_in_words(n.uncertainty));
}

std::string net_row(const NetReading& n) {
  const std::string between = n.readings == 0 ? "" : escape(n.from) + " to " + escape(n.to);
  return fmt::format(
      "<tr><th scope=\"row\">{}</th><td class=\"n\" data-is=\"measured\">{}</td><td class=\"n\" "
      "data-is=\"predicted\">{}</td><td>{}</td><td class=\"ids wide\">{}</td></tr>",
      escape(n.net), measured_in_words(n), predicted_in_words(n), between,
      escaped_list(n.points, " "));
}

}  // namespace

std::string ohms_in_words(const std::optional<Ohms>& r) {
  if (!r || !(r->value < 1e36)) return "over range";
  constexpr std::pair<double, const char*> kUnits[] = {
      {1e9, "G\u03a9"}, {1e6, "M\u03a9"}, {1e3, "k\u03a9"}, {1, "\u03a9"}, {1e-3, "m\u03a9"}};
  for (const auto& [scale, unit] : kUnits) {
    if (r->value >= scale) return fmt::format("{:.3g} {}", r->value / scale, unit);
  }
  return fmt::format("{:.3g} m\u03a9", r->value * 1e3);
}

std::string kind_in_words(diagnose::FindingKind kind) {
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

std::string escaped_list(const std::vector<std::string>& list, const char* by) {
  std::string text;
  for (const std::string& s : list) text += (text.empty() ? "" : by) + escape(s);
  return text;
}

std::string window_of(const RunView& run) {
  return window_in_words(run.head.stage, run.head.limits.window,
                         [](double nm) { return fmt::format("{:.2f} mm", nm * 1e-6); });
}

std::string nets_table(const RunView& run, const expect::Board& board) {
  std::string out = fmt::format(
      "<section class=\"long\"><h2>Nets</h2><table class=\"rows\" id=\"nets\"><caption>Resistance "
      "between two points of each net beside what its copper alone should have. The contacts of "
      "two "
      "tips come on top, about {}. Of several readings the one farthest above its prediction. One "
      "standard deviation each.</caption><tr class=\"titles\"><th>Net</th><th "
      "class=\"n\">Measured</th><th class=\"n\">Predicted</th><th>Between</th><th>Points</th></tr>",
      ohms_in_words(Ohms{2 * run.plan.contact.value}));
  for (const NetReading& n : net_readings(board, run.plan, run.readings)) out += net_row(n);
  return out + "</table></section>";
}

std::string untested_table(const diagnose::Diagnosis& d) {
  if (d.untested.empty()) return "";
  std::string out =
      "<section class=\"long\"><h2>Not tested</h2><table class=\"rows\"><tr "
      "class=\"titles\"><th>Net</th><th>Points</th><th>Why</th></tr>";
  for (const diagnose::Untested& u : d.untested) {
    out += fmt::format("<tr><td>{}</td><td class=\"ids\">{}</td><td>{}{}</td></tr>", escape(u.net),
                       escaped_list(u.points, " "), escape(u.why),
                       u.detail.empty() ? "" : ": " + escape(u.detail));
  }
  return out + "</table></section>";
}

std::string cannot_tell_table(const diagnose::Diagnosis& d) {
  constexpr std::size_t kMost = 200;
  if (d.cannot_tell.empty()) return "";
  std::string out = "<section class=\"long\"><h2>Cannot be told (" + cannot_tell_in_words(d) +
                    ")</h2><table class=\"rows\"><tr "
                    "class=\"titles\"><th>Nets</th><th>Possible</th><th>x</th><th>y</th>"
                    "<th>Side</th><th>What would tell</th></tr>";
  for (std::size_t i = 0; i < d.cannot_tell.size() && i < kMost; ++i) {
    const diagnose::CannotTell& c = d.cannot_tell[i];
    out += fmt::format(
        "<tr><td>{}</td><td>{}</td><td class=\"n\" data-is=\"x\">{:.3f}</td><td class=\"n\" "
        "data-is=\"y\">{:.3f}</td>"
        "<td>{}</td><td>{}</td></tr>",
        escaped_list(c.nets, ", "), expect::is_break(c.kind) ? "break" : "bridge", to_mm(c.at.x),
        to_mm(c.at.y), escape(c.side), escape(would_tell_in_words(c)));
  }
  out += "</table>";
  if (d.cannot_tell.size() > kMost)
    out += fmt::format("<p>and {} more in report.json</p>", d.cannot_tell.size() - kMost);
  return out + "</section>";
}

std::string unless_bridged_table(const diagnose::Diagnosis& d, const expect::Board& board) {
  if (d.breaks.unless_bridged == 0) return "";
  const std::vector<UnlessBridged> list = unless_bridged(board, d);
  std::string out =
      "<section class=\"long\"><h2>Excluded unless bridged within their own or a tied "
      "net</h2><p>Copper of one net, or of "
      "tied ones, faces itself on the two sides of these places. A break there with solder across "
      "conducts as it should.</p>";
  if (list.size() != d.breaks.unless_bridged)  // from the record, which keeps their number alone
    out += fmt::format("<p>{} of these {} were excluded in this run.</p>", d.breaks.unless_bridged,
                       list.size());
  out +=
      "<table class=\"rows\"><tr class=\"titles\"><th>Net</th><th>Possible</th><th>x</th><th>y</th>"
      "<th>Side</th></tr>";
  for (const UnlessBridged& u : list) {
    out += fmt::format(
        "<tr><td>{}</td><td>{}</td><td class=\"n\" data-is=\"x\">{:.3f}</td><td class=\"n\" "
        "data-is=\"y\">{:.3f}</td>"
        "<td>{}</td></tr>",
        escape(u.net), u.entry->join ? "missing join" : "break", to_mm(u.entry->at.x),
        to_mm(u.entry->at.y), escape(u.side));
  }
  return out + "</table></section>";
}

std::string basis_table(const RunView& run) {
  const formats::LimitKeys& l = run.head.limits;
  std::string out = "<section><h2>What the verdict rests on</h2><table class=\"basis\">";
  const auto row = [&](const std::string& a, const std::string& b) {
    out += "<tr><th scope=\"row\">" + a + "</th><td>" + b + "</td></tr>";
  };
  row("Basis", escape(run.head.basis));
  row("Limits",
      fmt::format(
          "continuity {}, isolation {} at {} V, bridge below {}, excess {}, pairs within {}",
          ohms_in_words(l.continuity), ohms_in_words(l.isolation), l.voltage.value,
          ohms_in_words(l.bridge), ohms_in_words(l.excess), window_of(run)));
  if (run.result.diagnosis.foil)
    row("Copper as measured", escape(foil_in_words(*run.result.diagnosis.foil)));
  row("Adapter", escape(run.head.adapter_name + " " + run.head.adapter_serial + " at " +
                        run.head.adapter_address));
  row("Run", fmt::format("{}, started {}, {} measurements, {} placement(s), {:.1f} s", run.head.id,
                         escape(run.head.started_utc), run.result.measurements,
                         run.result.placements, run.result.seconds));
  std::string notes;
  for (const std::string& remark : all_remarks(run)) notes += "<li>" + escape(remark) + "</li>";
  if (!notes.empty()) row("Notes", "<ul>" + notes + "</ul>");
  for (const formats::FileHash& h : run.head.hashes) {
    out += "<tr class=\"long\"><th scope=\"row\">SHA-256</th><td><span class=\"ids\">" +
           escape(h.file) + " <span class=\"hash\">" + h.sha256 + "</span></span></td></tr>";
  }
  out += "<tr class=\"paper-only\"><th scope=\"row\">Files</th><td class=\"ids\">" +
         run.head.design_hash + "</td></tr>";
  return out +
         "</table><p class=\"quiet\">A screening at low voltage on an unpowered board: no "
         "conformity to a test standard is claimed. Rinse and dry the "
         "board before you handle it (etchant residue), keep copper-bearing waste out of the "
         "drain, and wear eye protection near spring pins and blades.</p></section>";
}

std::string waived_table(const diagnose::Diagnosis& d) {
  if (d.waived.empty()) return "";
  std::string out =
      "<section><h2>Waived by name, not tested</h2><table><tr><th>Net</th><th>Left "
      "out</th><th>Why</th></tr>";
  for (const expect::Waiver& w : d.waived) {
    out += fmt::format("<tr><td>{}</td><td class=\"ids\">{}</td><td>{}</td></tr>", escape(w.net),
                       escape(w.point), escape(w.why));
  }
  return out + "</table></section>";
}

}  // namespace isthmus::report
