// SPDX-License-Identifier: Apache-2.0
#include "tests/support/small_board.hpp"

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <stdexcept>

namespace isthmus::test {
namespace {

std::string at(double x, double y) {
  char text[64];
  std::snprintf(text, sizeof text, "X%ldY%ld", std::lround(x * 1e6), std::lround(y * 1e6));
  return text;
}

struct Layer {
  std::string words;
  void pad(double x, double y) { words += "D10*\n" + at(x, y) + "D03*\n"; }
  void track(double x1, double y1, double x2, double y2) {
    words += "D11*\n" + at(x1, y1) + "D02*\n" + at(x2, y2) + "D01*\n";
  }
  [[nodiscard]] std::string file() const {
    return "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n%ADD10C,0.5*%\n%ADD11C,0.3*%\nG01*\n" + words +
           "M02*\n";
  }
};

// One surface record: 327, net, reference, pin, access, place in micrometres (CUST 1).
std::string record(const char* kind, const char* net, const char* ref, const char* pin, int access,
                   double x, double y) {
  char text[128];
  std::snprintf(text, sizeof text, "%s%-14s   %-6s%c%-4s %sA%02dX%+07ldY%+07ldX0500Y0000\n", kind,
                net, ref, *pin ? '-' : ' ', pin, kind[1] == '1' ? "D0300P" : "      ", access,
                std::lround(x * 1000), std::lround(y * 1000));
  return text;
}

void write(const std::filesystem::path& file, const std::string& text) {
  std::ofstream(file, std::ios::binary) << text;
}

}  // namespace

SmallBoard::SmallBoard(const std::string& stage, bool both_sides) {
  std::string name = (std::filesystem::temp_directory_path() / "isthmus-small-XXXXXX").string();
  if (!mkdtemp(name.data())) throw std::runtime_error("no temporary folder");
  dir_ = name;
  Layer top, bottom;
  std::string net = "P  UNITS CUST 1\n";
  for (int row = 0; row < 2; ++row) {
    const double y = 2 + row;
    const char* const nets[] = {"ALPHA", "BETA"};
    for (int col = 0; col < 3; ++col) {
      top.pad(2 + 10 * col, y);
      const std::string ref = "U" + std::to_string(col + 1), pin = std::to_string(row + 1);
      net += record("327", nets[row], ref.c_str(), pin.c_str(), 1, 2 + 10 * col, y);
    }
    top.track(2, y, 22, y);
  }
  top.pad(2, 4);
  net += record("327", "N/C", "U1", "3", 1, 2, 4);
  top.pad(2, 6), top.track(2, 6, 12, 6), top.pad(12, 6);
  bottom.pad(12, 6), bottom.track(12, 6, 22, 6), bottom.pad(22, 6);
  top.pad(22, 6), top.track(22, 6, 26, 6), top.pad(26, 6);
  net += record("327", "DELTA", "U1", "4", 1, 2, 6) + record("317", "DELTA", "VIA", "", 0, 12, 6) +
         record("317", "DELTA", "VIA", "", 0, 22, 6) + record("327", "DELTA", "U4", "1", 1, 26, 6);
  if (both_sides) {
    top.pad(2, 12), top.track(2, 12, 12, 12), top.pad(12, 12);
    bottom.pad(12, 12), bottom.track(12, 12, 22, 12), bottom.pad(22, 12);
    net += record("327", "GOLF", "U1", "6", 1, 2, 12) +
           record("317", "GOLF", "VIA", "", 0, 12, 12) +
           record("327", "GOLF", "U4", "2", 2, 22, 12);
  }
  top.pad(2, 7), top.track(2, 7, 12, 7), top.pad(12, 7);
  net += record("327", "ECHO", "U1", "5", 1, 2, 7) + record("327", "ECHO", "U2", "5", 1, 12, 7);
  top.track(2, 9, 22, 9);
  for (int col = 0; col < 4; ++col) {
    const double x = 4 + 5 * col;
    top.track(x, 9, x, 10), top.pad(x, 10);
    net += record("327", "FOXTROT", "J1", std::to_string(col + 1).c_str(), 1, x, 10);
  }
  write(dir_ / "top.gbr", top.file());
  write(dir_ / "bottom.gbr", bottom.file());
  write(dir_ / "holes.drl", "M48\nMETRIC\nT1C0.300\n%\nT1\nX12.0Y6.0\nX22.0Y6.0\n" +
                                std::string(both_sides ? "X12.0Y12.0\n" : "") + "M30\n");
  write(dir_ / "small.d356", net + "999\n");
  write(dir_ / "board.yaml",
        "isthmus: 1\nname: small\nartwork: {top: top.gbr, bottom: bottom.gbr}\nholes: [{file: "
        "holes.drl, plated: true}]\n"
        "netlist: small.d356\nstage: " +
            stage + "\njoins: all\nlimits: {excess: 0.1 ohm}\n");
  Diagnostics notes;
  auto file = formats::read_board_file(dir_ / "board.yaml");
  if (!file) throw std::runtime_error(format(file.problem()));
  auto board = expect::load_board(*file, notes);
  if (!board) throw std::runtime_error(format(board.problem()));
  board_ = std::move(board).value();
}

SmallBoard::~SmallBoard() {
  std::error_code error;
  std::filesystem::remove_all(dir_, error);
}

}  // namespace isthmus::test
