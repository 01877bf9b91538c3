// SPDX-License-Identifier: Apache-2.0
// What the page says a response must be, as a text with a few free places.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace isthmus::adapter {

// The answers of a response: cut at ';' outside of quotes.
std::vector<std::string> answers_of(std::string_view response);

// A reading as the page writes it: exact NR3, capitals, its check right; nothing when it is not.
struct PlainReading {
  std::string tag, list;
  double value{};
  int status{};
};
std::optional<PlainReading> plain_reading(std::string_view answer);

// The third field after a list, whatever else is wrong.
std::optional<double> value_in(std::string_view answer);

// "number,"text"" whose text begins with the standard's words, where the page names the number.
std::optional<int> plain_error(std::string_view answer);

// Whether a response is as wanted. Of the wanted text, answer by answer:
//   =tag,list,value,status   a reading; value: none, over, number, flag (0 or 1), volts (within
//   0.1),
//                            any, or ohms (within 5 % and 1 ohm); status: a number or any
//   ~x                       x as exact NR3, within 3 %
//   !number                  an entry of the error queue
//   *                        any answer, not empty
//   anything else            itself
bool as_wanted(std::string_view wanted, std::string_view response);

}  // namespace isthmus::adapter
