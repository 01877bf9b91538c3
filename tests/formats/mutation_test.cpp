// SPDX-License-Identifier: Apache-2.0
// Damaged input: whatever is done to a file, its reader answers with a value or a problem, never by
// throwing.
#include <gtest/gtest.h>

#include <random>

#include "isthmus/formats/board_file.hpp"
#include "isthmus/formats/drill.hpp"
#include "isthmus/formats/fixture_file.hpp"
#include "isthmus/formats/ipc_d_356.hpp"
#include "isthmus/formats/yaml.hpp"

namespace isthmus::formats {
namespace {

const std::string kNets =
    "P  UNITS CUST 1\nP  NNAME00001 A LONG NET\n"
    "317NNAME00001          J1    -1    D0800PA00X+005000Y+005000X1500Y0000R000 S0\n"
    "017NNAME00001                      D0700PA00X+005100Y+005000\n"
    "307GND                 VIA         D0100PA01X+000010Y+000020          R000 S0L01L02\n"
    "027                                      A01X+000010Y+000020X0200Y0000R000 S0\n999\n";
const std::string kDrill =
    "M48\n;FILE_FORMAT=3:3\n; #@! "
    "TF.FileFunction,Plated,1,2,PTH\nMETRIC,TZ,000.000\nT1C0.8F200S65\n%\nG90\nT1\n"
    "X1500Y1500\nR3X100Y-100\nX1.5Y2.5G85X3.5Y2."
    "5\nG00X1000Y1000\nM15\nG02X2000Y2000A1000\nG01X3000\nM16\nG05\n"
    "M30\n";
const std::string kBoard =
    "isthmus: 1\nname: b\nartwork: {top: t.gbr, bottom: b.gbr}\nholes: [{file: h.drl, plated: "
    "true, span: [1, 2]}]\n"
    "netlist: n.d356\nstage: joined\njoins: [[1, 2], {at: [3, 4], kind: wire}]\nlimits: "
    "{isolation: 10 Mohm}\n"
    "placed: {top: [[0, 0, 1, 1]]}\n";
const std::string kFixture =
    "isthmus: 1\nchannels: 8\nplacements:\n  - {name: A, side: top, probes: {1: U1.3, 2: [1, 2], "
    "3: {point: A, twin: 4}}}\n";

std::string damaged(std::string text, std::mt19937_64& random) {
  const auto below = [&](std::size_t n) { return static_cast<std::size_t>(random() % n); };
  static constexpr std::string_view kBytes = "0123456789.-+XYTMGRAIJ;,:%[]{}&*#\"'\n\r\t \x7f\xff";
  for (std::size_t n = 1 + below(4); n > 0 && !text.empty(); --n) {
    const std::size_t at = below(text.size());
    switch (below(5)) {
      case 0:
        text[at] = kBytes[below(kBytes.size())];
        break;
      case 1:
        text.erase(at, 1 + below(20));
        break;
      case 2:
        text.insert(at, 1 + below(30), kBytes[below(kBytes.size())]);
        break;
      case 3:
        text.insert(at, text.substr(below(text.size()), below(60)));
        break;
      default:
        text.resize(at);
    }
  }
  return text;
}

template <class Read>
void survive(const std::string& seed, int times, Read read) {
  std::mt19937_64 random(1);
  int refused = 0;
  for (int i = 0; i < times; ++i) {
    const std::string text = damaged(seed, random);
    ASSERT_NO_THROW(refused += read(text) ? 0 : 1) << text;
  }
  EXPECT_GT(refused, 0);      // the damage matters
  EXPECT_LT(refused, times);  // and does not always
}

TEST(Damage, NeverThrowsOutOfTheNetlistReader) {
  survive(kNets, 5000, [](const std::string& text) {
    Diagnostics notes;
    return read_ipc_d_356(text, "n", notes).ok();
  });
}

TEST(Damage, NeverThrowsOutOfTheDrillReader) {
  survive(kDrill, 5000, [](const std::string& text) {
    Diagnostics notes;
    return read_drill(text, "h", notes).ok();
  });
}

TEST(Damage, NeverThrowsOutOfTheBoardReader) {
  survive(kBoard, 1500,
          [](const std::string& text) { return parse_board_file(text, "b.yaml").ok(); });
}

TEST(Damage, NeverThrowsOutOfTheFixtureReader) {
  survive(kFixture, 1500,
          [](const std::string& text) { return parse_fixture_file(text, "f.yaml").ok(); });
}

}  // namespace
}  // namespace isthmus::formats
