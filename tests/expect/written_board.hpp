// SPDX-License-Identifier: Apache-2.0
// A board written out by our own writers and read back. The writers know millimetres alone; for
// inches every number of their text is converted here: Gerber to 1e-6 inch (its finest), drill
// files to 1e-9 inch, the netlist to 1e-4 inch (its only).
#pragma once

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cctype>
#include <cmath>
#include <map>
#include <sstream>
#include <string>

#include "isthmus/formats/design.hpp"
#include "isthmus/formats/gerber.hpp"

namespace isthmus::test {

enum class Unit { mm, inch };

// Every number that follows one of `letters`, through `convert`.
template <class Convert>
std::string with_numbers(const std::string& line, const std::string& letters, Convert convert) {
  std::string out;
  for (std::size_t i = 0; i < line.size();) {
    out += line[i];
    const bool number = letters.find(line[i++]) != std::string::npos;
    std::size_t end = i;
    while (number && end < line.size() &&
           (std::isdigit(line[end]) || line[end] == '-' || line[end] == '+' || line[end] == '.')) {
      ++end;
    }
    if (end > i) out += convert(line.substr(i, end - i));
    i = end;
  }
  return out;
}

inline std::string inches(const std::string& mm) {
  return fmt::format("{:.9f}", std::stod(mm) / 25.4);
}

inline std::string gerber_in_inches(const std::string& text) {
  std::istringstream lines(text);
  std::string out;
  for (std::string line; std::getline(lines, line); out += line + "\n") {
    if (line == "%FSLAX46Y46*%") line = "%FSLAX36Y36*%";
    if (line == "%MOMM*%") line = "%MOIN*%";
    if (line.rfind("%ADD", 0) == 0) line = with_numbers(line, ",", inches);
    if (line.rfind('X', 0) != 0) continue;
    line = with_numbers(line, "XY", [](const std::string& nm) {
      return std::to_string(std::llround(std::stod(nm) / 25.4));
    });
  }
  return out;
}

inline std::string drill_in_inches(const std::string& text) {
  std::istringstream lines(text);
  std::string out;
  for (std::string line; std::getline(lines, line); out += line + "\n") {
    if (line == "METRIC") line = "INCH";
    if (line.rfind(';', 0) != 0) line = with_numbers(line, "CXY", inches);
  }
  return out;
}

inline std::string netlist_in_inches(const std::string& text) {
  std::istringstream lines(text);
  std::string out;
  for (std::string line; std::getline(lines, line); out += line + "\n") {
    if (line == "P  UNITS CUST 1") line = "P  UNITS CUST 0";
    if (std::isdigit(line[0]) == 0 || line == "999") continue;
    constexpr std::size_t kHole = 32;  // what comes before are names
    line =
        line.substr(0, kHole) + with_numbers(line.substr(kHole), "DXY", [](const std::string& um) {
          const auto width = static_cast<int>(um.size());
          const auto counts = std::llround(std::stod(um) / 2.54);
          return um[0] == '+' || um[0] == '-' ? fmt::format("{:+0{}}", counts, width)
                                              : fmt::format("{:0{}}", counts, width);
        });
  }
  return out;
}

template <class T>
T whole(Result<T> result) {
  EXPECT_TRUE(result.ok()) << format(result.problem());
  return std::move(result).value();
}

inline formats::Design written_and_read(formats::Design design, Unit unit) {
  const bool inch = unit == Unit::inch;
  const auto layers = static_cast<int>(design.copper.size());
  Diagnostics notes;
  for (formats::LayerImage& image : design.copper) {
    const std::string text = formats::write_gerber(image);
    image = whole(formats::read_gerber(inch ? gerber_in_inches(text) : text, image.file, notes));
  }
  std::map<std::optional<std::pair<int, int>>, formats::DrillFile> spans;
  for (const formats::Hole& hole : design.holes) spans[hole.span].holes.push_back(hole);
  design.holes.clear();
  std::int32_t slots = 0;
  for (const auto& [span, file] : spans) {
    const std::string text = formats::write_drill(file, layers);
    const auto read =
        whole(formats::read_drill(inch ? drill_in_inches(text) : text, "holes.drl", notes));
    EXPECT_EQ(read.holes.size(), file.holes.size());
    const std::int32_t first = slots;
    for (formats::Hole hole : read.holes) {
      if (hole.slot >= 0) hole.slot += first;
      slots = std::max(slots, hole.slot + 1);
      design.holes.push_back(hole);
    }
  }
  const std::string text = formats::write_ipc_d_356(*design.netlist);
  design.netlist =
      whole(formats::read_ipc_d_356(inch ? netlist_in_inches(text) : text, "netlist.d356", notes));
  for (const Diagnostic& d : notes.list()) {
    EXPECT_EQ(d.what.code, "NET-025") << format(d.what);  // a pad over 9.999 mm fills its field
  }
  return design;
}

}  // namespace isthmus::test
