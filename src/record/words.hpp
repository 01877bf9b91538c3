// SPDX-License-Identifier: Apache-2.0
// How values are written in the record. These words are part of the schema: what people are shown
// may change, these may not.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "isthmus/diagnose/diagnosis.hpp"

namespace isthmus::record {

std::string_view word(plan::StepKind k);
std::string_view word(diagnose::FindingKind k);
std::string_view word(diagnose::Verdict v);
std::string_view word(Side s);
std::string_view word(expect::FaultKind k);
std::string_view word(diagnose::WhyCannotTell w);
std::optional<plan::StepKind> step_kind(std::string_view word);
std::optional<diagnose::FindingKind> finding_kind(std::string_view word);
std::optional<diagnose::Verdict> verdict(std::string_view word);
std::optional<Side> side(std::string_view word);
std::optional<expect::FaultKind> fault_kind(std::string_view word);
std::optional<diagnose::WhyCannotTell> why_cannot_tell(std::string_view word);

// Each item ends in a line feed; a line feed or backslash within one is written \n or \\.
std::string write_list(const std::vector<std::string>& items);
std::vector<std::string> read_list(std::string_view text);

// "1 2 3"; nothing where the text is no such list.
std::string write_numbers(const std::vector<std::int64_t>& numbers);
std::optional<std::vector<std::int64_t>> read_numbers(std::string_view text);

}  // namespace isthmus::record
