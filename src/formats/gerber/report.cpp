// SPDX-License-Identifier: Apache-2.0
#include "formats/gerber/report.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace isthmus::formats::gerber {
namespace {

constexpr int kTellAtMost = 3;

// Source text for the caret: printable, the column kept.
std::string printable(std::string_view line) {
  std::string text(line);
  for (char& c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte < 0x20 || byte == 0x7f) c = ' ';
  }
  return text;
}

}  // namespace

Problem Report::place(std::size_t at) const {
  at = std::min(at, bytes_.size());
  Problem p;
  p.file = file_;
  std::size_t start = 0;
  p.line = 1;
  for (std::size_t i = 0; i < at; ++i) {
    const bool lone_return = bytes_[i] == '\r' && (i + 1 >= bytes_.size() || bytes_[i + 1] != '\n');
    if (bytes_[i] != '\n' && !lone_return) continue;
    ++p.line;
    start = i + 1;
  }
  p.column = static_cast<int>(at - start) + 1;
  const std::size_t end = std::min(bytes_.find_first_of("\r\n", start), bytes_.size());
  p.source_line = printable(bytes_.substr(start, end - start));
  return p;
}

bool Report::fail(std::size_t at, const char* code, std::string message, std::string hint) {
  if (problem_) return false;
  problem_ = place(at);
  problem_->code = code;
  problem_->message = std::move(message);
  problem_->hint = std::move(hint);
  return false;
}

void Report::tell(Severity severity, std::size_t at, const char* code, std::string message,
                  std::string hint) {
  Count& count = told_[code];
  count.severity = severity;
  if (++count.times > kTellAtMost) return;
  Problem p = place(at);
  p.code = code;
  p.message = std::move(message);
  p.hint = std::move(hint);
  severity == Severity::warning ? notes_.warn(std::move(p)) : notes_.note(std::move(p));
}

void Report::warn(std::size_t at, const char* code, std::string message, std::string hint) {
  tell(Severity::warning, at, code, std::move(message), std::move(hint));
}

void Report::note(std::size_t at, const char* code, std::string message, std::string hint) {
  tell(Severity::note, at, code, std::move(message), std::move(hint));
}

void Report::count_rest() {
  for (const auto& [code, count] : told_) {
    if (count.times <= kTellAtMost) continue;
    Problem p;
    p.file = file_;
    p.code = code;
    p.message = fmt::format("the same at {} further places", count.times - kTellAtMost);
    count.severity == Severity::warning ? notes_.warn(std::move(p)) : notes_.note(std::move(p));
  }
}

}  // namespace isthmus::formats::gerber
