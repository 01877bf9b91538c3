// SPDX-License-Identifier: Apache-2.0
// The words of docs/adapter.md: what a request says on the wire, and what is accepted as its
// answer.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "isthmus/adapter/instrument.hpp"

namespace isthmus::adapter {

// Ascending row, then channel, each once: "(@1!5,2!9)"; "(@)" when none.
std::string canonical_list(std::vector<Crosspoint> closed);

// Crosspoints as command text, runs of neighbouring channels as ranges; entries are cut into lists
// of at most `limit` characters (REQUIRES limit >= 40), at least one list unless nothing is closed.
std::vector<std::string> command_lists(std::vector<Crosspoint> closed, std::size_t limit);

// The shortest NRf that reads back as the same number.
std::string number_text(double value);

// ":MEAS:ISOL? 1E+07" and the like.
std::string measure_query(const Request& request);

// The answer, or what is wrong with the text.
struct Judged {
  std::optional<Answer> answer;
  std::string wrong;
};
// Accepts tag,list,value,status,#Hcrc only when the checksum holds and tag and list are the
// request's. An answer of status 32 (not carried out) may show other switches: it carries no value.
Judged judge_answer(std::string_view text, const Request& request);

// A whole number or decimal in full; nothing otherwise. A leading + is allowed; no blanks.
std::optional<double> parse_number(std::string_view text);
std::optional<long> parse_integer(std::string_view text);

// Problems ADP-021, ADP-023, ADP-024.
Result<Identity> parse_identity(const std::string& line);
Result<Capabilities> parse_capabilities(const std::string& line);

}  // namespace isthmus::adapter
