// SPDX-License-Identifier: Apache-2.0
// Program messages as the simulated adapter takes them apart.
#include <algorithm>

#include "hostsim/device/scpi.hpp"
#include "tests/fuzz/fuzz.hpp"

using namespace isthmus;
using namespace isthmus::fuzz;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes = text_of(data, size);
  const auto units = hostsim::parse_message(bytes);
  const auto ends = static_cast<std::size_t>(std::count(bytes.begin(), bytes.end(), ';'));
  demand(units.size() <= ends + 1, "no more units than there are ends");
  for (const hostsim::Unit& unit : units) {
    demand(unit.error <= 0, "SCPI's error numbers are negative");
    demand(unit.error != 0 || !unit.keywords.empty(), "a sound unit has a header");
    for (const std::string& word : unit.keywords) hostsim::matches_keyword("SYSTem", word);
    for (const hostsim::Argument& argument : unit.arguments) {
      demand(argument.number == argument.number, "a number is one, or infinite");
    }
  }
  return 0;
}
