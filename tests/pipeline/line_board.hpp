// SPDX-License-Identifier: Apache-2.0
// A board small enough to be told in one sentence, and a fixture for it.
#pragma once

#include <gtest/gtest.h>

#include <cstdio>

#include "tests/pipeline/programs.hpp"

namespace isthmus::test {

// Pads on a line, 2 mm apart: A1 A2 A3, B1 B2, C1 as three nets on parallel tracks 1 mm apart.
inline void write_line_board(const Folder& folder) {
  const std::string head = "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n%ADD10C,0.5*%\n%ADD11C,0.3*%\nG01*\n";
  write(folder / "top.gbr",
        head +
            "D10*\nX0Y0D03*\nX5000000Y0D03*\nX10000000Y0D03*\nX0Y1000000D03*"
            "\nX10000000Y1000000D03*\nX5000000Y2000000D03*\n"
            "D11*\nX0Y0D02*\nX10000000Y0D01*\nX0Y1000000D02*\nX10000000Y1000000D01*\nM02*\n");
  const auto record = [](const char* net, const char* ref, char pin, int x, int y) {
    char text[100];
    std::snprintf(text, sizeof text, "327%-14s   %-6s-%c          A01X%+07dY%+07dX0500Y0000\n", net,
                  ref, pin, x, y);
    return std::string(text);
  };
  write(folder / "n.d356",
        "P  UNITS CUST 1\n" + record("AFT", "A", '1', 0, 0) + record("AFT", "A", '2', 5000, 0) +
            record("AFT", "A", '3', 10000, 0) + record("BOW", "B", '1', 0, 1000) +
            record("BOW", "B", '2', 10000, 1000) + record("N/C", "C", '1', 5000, 2000) + "999\n");
  write(folder / "board.yaml",
        "isthmus: 1\nname: line\nartwork: {top: top.gbr}\nnetlist: n.d356\nstage: "
        "etched-top\nlimits: {excess: 0.2 ohm}\n");
  const auto made = isthmus({"fixture", folder / "board.yaml", "--channels", "8", "--contact-check",
                             "--out", folder / "f.yaml"});
  ASSERT_EQ(made.code, 0) << made.err;
}

}  // namespace isthmus::test
