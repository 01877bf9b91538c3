// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/drill.hpp"

#include "formats/drill/body.hpp"
#include "formats/drill/words.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

bool looks_like_gerber(std::string_view bytes) {
  const std::string_view head = bytes.substr(0, 65536);
  return contains(head, "%FS") || contains(head, "%MO") || contains(head, "%ADD");
}

}  // namespace

Result<DrillFile> read_drill(std::string_view bytes, const std::string& file_name,
                             Diagnostics& notes, std::optional<NumberFormat> as) {
  DrillFile out;
  out.file = file_name;
  if (contains(bytes.substr(0, 65536), std::string_view("\0", 1))) {
    return Problem{file_name,
                   1,
                   1,
                   "DRL-001",
                   "is not text: a drill file in binary form is not read",
                   "export it as text (XNC or Excellon)",
                   ""};
  }
  if (looks_like_gerber(bytes)) {
    Result<std::vector<Hole>> holes = read_gerber_drill(bytes, file_name, notes);
    if (!holes) return holes.problem();
    out.holes = std::move(*holes);
    return out;
  }
  const std::vector<std::string_view> lines = split_lines(bytes);
  DeclaredFormat format = declared_format(lines);
  if (as) {
    format.candidates = {*as};
    format.declared = format.zeros_declared = true;
  }
  out.format_declared = format.declared;
  out.zeros_declared = format.zeros_declared;
  std::optional<Problem> first;
  for (const NumberFormat candidate : format.candidates) {
    Diagnostics found;
    Result<std::vector<Hole>> holes = read_drill_body(lines, file_name, candidate, found);
    if (!holes) {  // a place out of range rules this format out; anything else is wrong in all of
                   // them
      if (!first) first = holes.problem();
      if (holes.problem().code == "DRL-012") continue;
      return holes.problem();
    }
    if (out.candidates.empty()) {
      out.holes = std::move(*holes);
      for (const Diagnostic& d : found.list()) {
        d.severity == Severity::note ? notes.note(d.what) : notes.warn(d.what);
      }
    }
    out.candidates.push_back(candidate);
  }
  if (out.candidates.empty()) return *first;
  return out;
}

std::vector<NumberFormat> formats_without_unit(std::string_view bytes) {
  const std::vector<std::string_view> lines = split_lines(bytes);
  std::vector<NumberFormat> out;
  for (const bool metric : {false, true}) {
    for (NumberFormat f : declared_format(lines, metric).candidates) {
      f.metric = metric;
      out.push_back(f);
    }
  }
  return out;
}

}  // namespace isthmus::formats
