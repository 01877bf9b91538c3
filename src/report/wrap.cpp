// SPDX-License-Identifier: Apache-2.0
#include "isthmus/report/wrap.hpp"

#include <algorithm>

namespace isthmus::report {
namespace {

std::size_t columns(const std::string& s) {
  std::size_t n = 0;
  bool escape = false;
  for (char c : s) {
    if (c == '\033') escape = true;
    const bool continues = (static_cast<unsigned char>(c) & 0xC0U) == 0x80U;
    if (!escape && !continues) ++n;
    if (c == 'm') escape = false;
  }
  return n;
}

// Under the words after "  1. ", else two blanks further in.
std::size_t hanging(const std::string& line, std::size_t width) {
  const std::size_t indent = std::min(line.find_first_not_of(' '), line.size());
  std::size_t digits = indent;
  while (digits < line.size() && line[digits] >= '0' && line[digits] <= '9') ++digits;
  const bool numbered = digits > indent && line.compare(digits, 2, ". ") == 0;
  return std::min(numbered ? digits + 2 : indent + 2, width / 2);
}

std::string wrapped_line(const std::string& line, std::size_t width) {
  const std::string margin(hanging(line, width), ' ');
  std::string out, row;
  std::size_t at = 0;
  bool empty = true;  // no word in this row yet
  while (at < line.size()) {
    const std::size_t word = std::min(line.find_first_not_of(' ', at), line.size());
    const std::size_t end = std::min(line.find(' ', word), line.size());
    const std::string blanks = line.substr(at, word - at), text = line.substr(word, end - word);
    if (!empty && columns(row) + columns(blanks) + columns(text) > width) {
      out.append(row).append("\n");
      row = margin + text;
    } else {
      row += blanks + text;
    }
    empty = empty && text.empty();
    at = end;
  }
  return out + row;
}

}  // namespace

std::string wrapped(const std::string& text, std::size_t width) {
  std::string out;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    const std::string line = text.substr(at, end - at);
    out += columns(line) > width ? wrapped_line(line, width) : line;
    if (end < text.size()) out += '\n';
    at = end + 1;
  }
  return out;
}

}  // namespace isthmus::report
