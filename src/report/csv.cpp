// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include "isthmus/report/report.hpp"

namespace isthmus::report {
namespace {

// RFC 4180: quoted where needed, quotes doubled. A leading =, +, - or @ would run as a formula in a
// spreadsheet.
std::string field(std::string text) {
  if (!text.empty() && std::string("=+-@").find(text[0]) != std::string::npos) {
    std::string guarded(1, '\'');
    text = guarded += text;
  }
  if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
  std::string quoted = "\"";
  for (char c : text) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + "\"";
}

// A word, not the JSON's 1e37: a spreadsheet leaves words out of sums and charts.
std::string ohm(const std::optional<Ohms>& r) {
  return r && r->value < 1e36 ? fmt::format("{:.6g}", r->value) : "over-range";
}

std::string joined(const std::vector<std::string>& list, const char* by) {
  std::string text;
  for (const std::string& s : list) text += (text.empty() ? "" : by) + s;
  return text;
}

}  // namespace

std::string findings_csv(const RunView& run) {
  std::string out =
      "finding,kind,nets,parts,measured_ohm,limit_ohm,rank,x_mm,y_mm,side,likelihood,why\r\n";
  int number = 0;
  for (const diagnose::Finding& f : run.result.diagnosis.findings) {
    ++number;
    std::vector<std::string> parts;
    for (const auto& part : f.parts) parts.push_back(joined(part, " "));
    const std::string head = fmt::format("{},{},{},{},{},{}", number, name(f.kind),
                                         field(joined(f.nets, " ")), field(joined(parts, " | ")),
                                         ohm(f.measured), fmt::format("{:.6g}", f.limit.value));
    if (f.suspects.empty()) out += head + ",,,,,,\r\n";
    for (const diagnose::Suspect& s : f.suspects) {
      out += fmt::format("{},{},{:.3f},{:.3f},{},{:.3f},{}\r\n", head, s.rank, to_mm(s.at.x),
                         to_mm(s.at.y), s.side, s.likelihood, field(s.why));
    }
  }
  return out;
}

}  // namespace isthmus::report
