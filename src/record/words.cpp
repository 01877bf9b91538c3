// SPDX-License-Identifier: Apache-2.0
#include "record/words.hpp"

#include <array>
#include <charconv>
#include <utility>

namespace isthmus::record {
namespace {

using diagnose::FindingKind;
using diagnose::Verdict;
using diagnose::WhyCannotTell;
using plan::StepKind;

constexpr std::array kStepKinds{
    std::pair{StepKind::board_voltage, "board-voltage"},
    std::pair{StepKind::reference, "reference"},
    std::pair{StepKind::control_open, "control-open"},
    std::pair{StepKind::control_short, "control-short"},
    std::pair{StepKind::contact, "contact"},
    std::pair{StepKind::continuity, "continuity"},
    std::pair{StepKind::isolation, "isolation"},
    std::pair{StepKind::isolation_by_current, "isolation-by-current"},
    std::pair{StepKind::resistance, "resistance"},
};
constexpr std::array kFindingKinds{
    std::pair{FindingKind::open, "open"},
    std::pair{FindingKind::bridge, "bridge"},
    std::pair{FindingKind::high_resistance, "high-resistance"},
    std::pair{FindingKind::leakage, "leakage"},
};
constexpr std::array kVerdicts{
    std::pair{Verdict::pass, "pass"},
    std::pair{Verdict::fail, "fail"},
    std::pair{Verdict::incomplete, "incomplete"},
};
constexpr std::array kFaultKinds{
    std::pair{expect::FaultKind::stretch, "stretch"}, std::pair{expect::FaultKind::join, "join"},
    std::pair{expect::FaultKind::link, "link"},       std::pair{expect::FaultKind::ways, "ways"},
    std::pair{expect::FaultKind::bridge, "bridge"},
};
constexpr std::array kWhys{
    std::pair{WhyCannotTell::not_reached, "not-reached"},
    std::pair{WhyCannotTell::contact_unproven, "contact-unproven"},
    std::pair{WhyCannotTell::doubtful, "doubtful"},
    std::pair{WhyCannotTell::broken_off, "broken-off"},
    std::pair{WhyCannotTell::no_touch, "no-touch"},
    std::pair{WhyCannotTell::reopened, "reopened"},
};
constexpr std::array kSides{
    std::pair{Side::top, "top"},
    std::pair{Side::bottom, "bottom"},
    std::pair{Side::both, "both"},
};

template <class Table, class Value>
std::string_view write(const Table& table, Value value) {
  for (const auto& [known, text] : table) {
    if (known == value) return text;
  }
  ENSURE(false);
}

template <class Table>
auto read(const Table& table, std::string_view text) {
  using Value = decltype(table.front().first);
  for (const auto& [value, known] : table) {
    if (text == known) return std::optional<Value>(value);
  }
  return std::optional<Value>();
}

}  // namespace

std::string_view word(StepKind k) { return write(kStepKinds, k); }
std::string_view word(FindingKind k) { return write(kFindingKinds, k); }
std::string_view word(Verdict v) { return write(kVerdicts, v); }
std::string_view word(expect::FaultKind k) { return write(kFaultKinds, k); }
std::string_view word(WhyCannotTell w) { return write(kWhys, w); }
std::string_view word(Side s) { return write(kSides, s); }
std::optional<StepKind> step_kind(std::string_view word) { return read(kStepKinds, word); }
std::optional<FindingKind> finding_kind(std::string_view word) { return read(kFindingKinds, word); }
std::optional<Verdict> verdict(std::string_view word) { return read(kVerdicts, word); }
std::optional<expect::FaultKind> fault_kind(std::string_view word) {
  return read(kFaultKinds, word);
}
std::optional<WhyCannotTell> why_cannot_tell(std::string_view word) { return read(kWhys, word); }
std::optional<Side> side(std::string_view word) { return read(kSides, word); }

std::string write_list(const std::vector<std::string>& items) {
  std::string out;
  for (const std::string& item : items) {
    for (const char c : item) {
      if (c == '\n')
        out += "\\n";
      else if (c == '\\')
        out += "\\\\";
      else
        out += c;
    }
    out += '\n';
  }
  return out;
}

std::vector<std::string> read_list(std::string_view text) {
  std::vector<std::string> out;
  std::string item;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '\n')
      out.push_back(std::exchange(item, {}));
    else if (text[i] == '\\' && i + 1 < text.size())
      item += text[++i] == 'n' ? '\n' : text[i];
    else
      item += text[i];
  }
  return out;
}

std::string write_numbers(const std::vector<std::int64_t>& numbers) {
  std::string out;
  for (const std::int64_t n : numbers) out += (out.empty() ? "" : " ") + std::to_string(n);
  return out;
}

std::optional<std::vector<std::int64_t>> read_numbers(std::string_view text) {
  std::vector<std::int64_t> out;
  while (!text.empty()) {
    std::int64_t n = 0;
    const auto read = std::from_chars(text.data(), text.data() + text.size(), n);
    if (read.ec != std::errc{}) return std::nullopt;
    out.push_back(n);
    text.remove_prefix(static_cast<std::size_t>(read.ptr - text.data()));
    if (text.empty()) break;
    if (text.front() != ' ') return std::nullopt;
    text.remove_prefix(1);
  }
  return out;
}

}  // namespace isthmus::record
