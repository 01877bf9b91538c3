// SPDX-License-Identifier: Apache-2.0
// The report's page: one file that asks for nothing from elsewhere, and reads without its script.
#include <fmt/format.h>

#include "report/drawing.hpp"
#include "report/nets.hpp"
#include "report/page_parts.hpp"
#include "report/places.hpp"

namespace isthmus::report {
namespace {

std::string verdict_word(const RunView& run) {
  if (broken_off(run) && run.result.diagnosis.findings.empty())
    return "no verdict" + beside_the_verdict(run);
  return std::string(name(run.result.diagnosis.verdict)) + beside_the_verdict(run);
}

std::string headline(const RunView& run) {
  const diagnose::Diagnosis& d = run.result.diagnosis;
  std::string text = fmt::format(
      "<header><h1>{}{}</h1><p><span class=\"verdict {}\">{}</span> &nbsp; stage <b>{}</b> "
      "&middot; {}{} "
      "&middot; {} finding{}</p>",
      escape(run.head.board), run.head.unit.empty() ? "" : ", unit " + escape(run.head.unit),
      name(d.verdict), verdict_word(run), escape(run.head.stage), basis_in_words(run),
      counts_in_words(run, window_of(run)), d.findings.size(), d.findings.size() == 1 ? "" : "s");
  if (!run.result.problem.empty())
    text += "<p><b>The run broke off:</b> " + escape(run.result.problem) + "</p>";
  return text + "</header>";
}

// What can be chosen: works by style alone, but for the search.
constexpr const char* kTools =
    "<div class=\"tools screen-only\">"
    "<div class=\"search live-only\" role=\"search\"><label for=\"search\">Find a net or pad "
    "</label>"
    "<input type=\"search\" id=\"search\" autocomplete=\"off\" spellcheck=\"false\" "
    "aria-controls=\"hits\"><ul class=\"hits\" id=\"hits\"></ul></div>"
    "<fieldset><legend>Colours</legend>"
    "<label><input type=\"radio\" name=\"theme\" id=\"theme-system\" checked> as the system</label>"
    "<label><input type=\"radio\" name=\"theme\" id=\"theme-light\"> light</label>"
    "<label><input type=\"radio\" name=\"theme\" id=\"theme-dark\"> dark</label></fieldset>"
    "<fieldset><legend>On paper</legend>"
    "<label><input type=\"radio\" name=\"paper\" id=\"paper-short\" checked> findings</label>"
    "<label><input type=\"radio\" name=\"paper\" id=\"paper-all\"> everything</label>"
    "<label><input type=\"radio\" name=\"paper\" id=\"paper-overlay\"> both sides in true "
    "size</label></fieldset></div>"
    "<p class=\"live-only quiet\" id=\"said\" role=\"status\"></p>";

// Nothing may be asked for, whatever a name in the design files says.
constexpr const char* kHead =
    "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" "
    "content=\"width=device-width,initial-scale=1\"><meta http-equiv=\"Content-Security-Policy\" "
    "content=\"default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'\"><title>";

std::string counted(std::size_t n, const char* what) {
  return fmt::format("{} {}{}", n, what, n == 1 ? "" : "s");
}

std::string left_out_on_paper(const diagnose::Diagnosis& d) {
  std::size_t points = 0;
  for (const diagnose::Untested& u : d.untested) points += u.points.size();
  std::string what = points > 0 ? counted(points, "untested point") : "";
  if (!d.cannot_tell.empty()) {
    what += (points > 0 ? " and " : "") + counted(d.cannot_tell.size(), "possible fault") +
            " that cannot be told";
  }
  if (what.empty()) return "";
  return "<p class=\"paper-only\">Drawn on the board, not listed on this sheet: " + what + ".</p>";
}

// How much room paper has: for more close-ups of a few findings, for the sides below each other.
std::string room_on_paper(const diagnose::Diagnosis& d, const expect::Board& board) {
  const Box area = drawn_area(board);
  const auto w = area.hi.x - area.lo.x, h = area.hi.y - area.lo.y;
  const bool few = d.findings.size() <= 2, stacked = d.findings.size() <= 4 && w * 20 > h * 23;
  return std::string(few ? "few" : "") + (stacked ? " stacked" : "");
}

}  // namespace

std::string run_html(const RunView& run, const expect::Board& board, Origin origin) {
  const Ground ground{board, places_of(board), origin};
  const diagnose::Diagnosis& d = run.result.diagnosis;
  std::string out = kHead;
  out += escape(run.head.board) + ": " + verdict_word(run) + "</title><style>";
  out += page_style();
  out += "</style></head><body class=\"" + room_on_paper(d, board) +
         "\">\n<a class=\"skip\" href=\"#the-board\">To the board</a>\n" + definitions(board) +
         "<main>" + headline(run) + kTools + findings_list(run, ground) + board_views(run, board) +
         left_out_on_paper(d) + finding_sections(run, ground) + untested_table(d) +
         cannot_tell_table(d) + unless_bridged_table(d, board) + waived_table(d) +
         nets_table(run, board) + basis_table(run) + "</main>" + overlay_pages(run, board) +
         "<script type=\"application/json\" id=\"board-data\">" + page_data(board) +
         "</script>\n<script>";
  out += page_script();
  return out + "</script></body></html>\n";
}

}  // namespace isthmus::report
