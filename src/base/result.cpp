// SPDX-License-Identifier: Apache-2.0
#include "isthmus/base/result.hpp"

#include <algorithm>

namespace isthmus {

void report_bug(const char* condition, const char* file, int line) {
  throw OurBug(std::string(file) + ":" + std::to_string(line) + ": this should hold: " + condition);
}

std::string format(const Problem& p, const std::string& severity) {
  std::string out;
  if (!p.file.empty()) {
    out += p.file;
    if (p.line > 0) out += ":" + std::to_string(p.line);
    if (p.line > 0 && p.column > 0) out += ":" + std::to_string(p.column);
    out += ": ";
  }
  out += severity;
  if (!p.code.empty()) out += " " + p.code;
  out += ": " + p.message;
  if (!p.source_line.empty()) {
    constexpr std::size_t kShown = 100;
    std::size_t column = p.column > 0 ? static_cast<std::size_t>(p.column) - 1 : 0;
    std::size_t from = 0;
    if (p.source_line.size() > kShown && column > kShown / 2) from = column - kShown / 2;
    std::string shown = p.source_line.substr(std::min(from, p.source_line.size()), kShown);
    std::ranges::replace_if(
        shown, [](char c) { return static_cast<unsigned char>(c) < 0x20; }, ' ');
    out += "\n  " + shown;
    if (p.column > 0) out += "\n  " + std::string(std::min(column - from, kShown), ' ') + "^";
  }
  if (!p.hint.empty()) out += "\n  hint: " + p.hint;
  return out;
}

}  // namespace isthmus
