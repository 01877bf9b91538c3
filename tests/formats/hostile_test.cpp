// SPDX-License-Identifier: Apache-2.0
// Input made to exhaust: each is refused, or read, within 20 s of processor time and 4 GB, in a
// process of its own that the system ends where it takes more.
#include <gtest/gtest.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <functional>

#include "isthmus/formats/board_file.hpp"
#include "isthmus/formats/design.hpp"
#include "isthmus/formats/drill.hpp"
#include "isthmus/formats/fixture_file.hpp"
#include "isthmus/formats/gerber.hpp"
#include "isthmus/formats/ipc_d_356.hpp"
#include "isthmus/formats/recognise.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

void limit(int resource, rlim_t value) {
  const rlimit most{value, value};
  ::setrlimit(static_cast<__rlimit_resource_t>(resource), &most);
}

// What `run` says, or how the process that ran it ended.
std::string bounded(const std::function<std::string()>& run) {
  int pipe_ends[2];
  if (::pipe(pipe_ends) != 0) return "no pipe";
  const pid_t child = ::fork();
  if (child == 0) {
#ifdef __SANITIZE_ADDRESS__  // reserves terabytes, and is some five times as slow
    limit(RLIMIT_CPU, 100);
#else
    limit(RLIMIT_AS, rlim_t{4096} << 20);
    limit(RLIMIT_CPU, 20);
#endif
    std::string said;
    try {
      said = run();
    } catch (const std::exception& e) {
      said = std::string("thrown: ") + e.what();
    }
    const ssize_t written =
        ::write(pipe_ends[1], said.data(), std::min<std::size_t>(said.size(), 4000));
    ::_exit(written < 0 ? 1 : 0);
  }
  ::close(pipe_ends[1]);
  std::string said(4096, '\0');
  const ssize_t got = ::read(pipe_ends[0], said.data(), said.size());
  ::close(pipe_ends[0]);
  int status = 0;
  ::waitpid(child, &status, 0);
  if (WIFSIGNALED(status)) return "ended by signal " + std::to_string(WTERMSIG(status));
  said.resize(got > 0 ? static_cast<std::size_t>(got) : 0);
  return said;
}

template <class T>
std::string code_of(const Result<T>& r) {
  return r.ok() ? "read" : r.problem().code;
}
std::string gerber(const std::string& bytes) {
  return bounded([&] {
    Diagnostics notes;
    return code_of(read_gerber(bytes, "layer.gbr", notes));
  });
}
std::string drill(const std::string& bytes) {
  return bounded([&] {
    Diagnostics notes;
    return code_of(read_drill(bytes, "holes.drl", notes));
  });
}
std::string netlist(const std::string& bytes) {
  return bounded([&] {
    Diagnostics notes;
    return code_of(read_ipc_d_356(bytes, "nets.d356", notes));
  });
}
std::string board(const std::string& bytes) {
  return bounded([&] { return code_of(parse_board_file(bytes, "board.yaml")); });
}
std::string fixture(const std::string& bytes) {
  return bounded([&] { return code_of(parse_fixture_file(bytes, "fixture.yaml")); });
}

std::string repeated(const std::string& what, std::size_t times) {
  std::string out;
  out.reserve(what.size() * times);
  for (std::size_t i = 0; i < times; ++i) out += what;
  return out;
}

const std::string kHead = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.5*%\nD10*\n";
const std::string kEnd = "M02*\n";
constexpr std::size_t kMany = 20'000'000;

TEST(HostileGerber, StepAndRepeatOfAMillionMillions) {
  EXPECT_EQ(gerber(kHead + "%SRX1000000Y1000000I0.0001J0.0001*%\nX0Y0D03*\n%SR*%\n" + kEnd),
            "GBR-071");
}

TEST(HostileGerber, BlocksOfTenToTheTwelfth) {
  std::string text = kHead;
  for (int level = 0; level < 12; ++level) {
    text += "%ABD" + std::to_string(20 + level) + "*%\nD" +
            std::to_string(level == 0 ? 10 : 19 + level) + "*\n" + repeated("X0Y0D03*\n", 10) +
            "%AB*%\n";
  }
  EXPECT_EQ(gerber(text + "D31*\nX0Y0D03*\n" + kEnd), "GBR-071");
}

TEST(HostileGerber, EmptyBlocksOfTenToTheTwelfth) {
  std::string text = kHead + "%ABD20*%\n%AB*%\n";
  for (int level = 1; level < 12; ++level) {
    text += "%ABD" + std::to_string(20 + level) + "*%\nD" + std::to_string(19 + level) + "*\n" +
            repeated("X0Y0D03*\n", 10) + "%AB*%\n";
  }
  EXPECT_EQ(gerber(text + "D31*\nX0Y0D03*\n" + kEnd), "read");
}

TEST(HostileGerber, MacrosThatNameThemselvesOrNeverEnd) {
  const std::string use = "%ADD11M,1*%\nD11*\nX0Y0D03*\n" + kEnd;
  const auto macro = [&](const std::string& body) {
    return gerber(kHead + "%AMM*" + body + "*%\n" + use);
  };
  EXPECT_EQ(macro("$1=$1+$1*$1=$1x$1x$1*1,1,$1,0,0"), "read");
  EXPECT_EQ(macro("1,1," + std::string(1'000'000, '(') + "1,0,0"), "GBR-031");
  EXPECT_EQ(macro("1,1," + std::string(1'000'000, '-') + "1,0,0"), "GBR-031");
  EXPECT_EQ(macro("1,1,1" + repeated("+1", 1'000'000) + ",0,0"), "GBR-032");
  EXPECT_EQ(macro("4,1,2000000000,0,0"), "GBR-032");
  EXPECT_EQ(macro("5,1,2000000000,0,0,1,0"), "GBR-032");
  EXPECT_NE(macro("6,0,0,1000000,0.000001,0.000001,2000000000,0.1,1,0").find("GBR-"),
            std::string::npos);
  EXPECT_EQ(macro("M,1,1"), "GBR-031");
}

TEST(HostileGerber, NumbersWithoutEnd) {
  const std::string digits(kMany, '9');
  EXPECT_EQ(gerber(kHead + "X" + digits + "Y0D03*\n" + kEnd), "GBR-010");
  EXPECT_EQ(gerber(kHead + "%ADD11C," + digits + "*%\nD11*\nX0Y0D03*\n" + kEnd), "GBR-020");
  EXPECT_EQ(gerber(kHead + "%ADD" + digits + "C,1*%\n" + kEnd), "GBR-020");
  EXPECT_EQ(gerber(kHead + "D" + digits + "*\n" + kEnd), "GBR-010");
}

// A long list of nets in force over many objects that each differ in another attribute.
TEST(HostileGerber, LongAttributesOverManyObjects) {
  const auto nets = [](std::size_t count) {
    std::string text = kHead + "%TO.N" + repeated(",N", count) + "*%\n";
    for (int i = 0; i < 20'000; ++i) text += "%TO.C,R" + std::to_string(i) + "*%\nX0Y0D03*\n";
    return gerber(text + kEnd);
  };
  EXPECT_EQ(nets(500'000), "GBR-061");
  EXPECT_EQ(nets(4'000), "GBR-062");
}

TEST(HostileGerber, ManyCommandsThatDoNothing) {
  EXPECT_EQ(gerber(kHead + std::string(kMany, '*') + kEnd), "read");
  EXPECT_EQ(gerber(kHead + repeated("G04 x*", kMany / 8) + kEnd), "read");
  EXPECT_EQ(gerber(kHead + "G04 " + std::string(kMany, 'x') + "*\n" + kEnd), "read");
  EXPECT_EQ(gerber(std::string(kMany, '%')), "GBR-001");
}

TEST(HostileDrill, RepeatsNumbersAndLinesWithoutEnd) {
  const std::string head = "M48\nMETRIC\nT1C0.8\n%\nT1\n", end = "M30\n";
  EXPECT_EQ(drill(head + "X1.0Y1.0\n" + repeated("R9999X0.001\n", 1000) + end), "DRL-016");
  EXPECT_EQ(drill(head + "X" + std::string(kMany, '9') + "Y1.0\n" + end), "DRL-011");
  EXPECT_EQ(drill(head + "X1." + std::string(kMany, '9') + "Y1.0\n" + end), "DRL-011");
  EXPECT_EQ(drill(head + std::string(kMany, 'X') + "\n" + end), "DRL-002");
  EXPECT_EQ(drill(head + ";" + std::string(kMany, 'x') + "\nX1.0Y1.0\n" + end), "read");
  EXPECT_EQ(drill("M48\nMETRIC\nT" + std::string(kMany, '1') + "C0.8\n%\n" + end), "DRL-006");
  EXPECT_EQ(drill(std::string(kMany, '\n') + end), "read");
}

TEST(HostileNetlist, NumbersNamesAndLinesWithoutEnd) {
  const std::string head = "P  UNITS CUST 1\n", end = "999\n";
  const std::string pad = "317A                J1    -1    D0800PA00X";
  EXPECT_EQ(netlist(head + pad + "+" + std::string(kMany, '9') + "Y+000001\n" + end), "NET-005");
  EXPECT_EQ(netlist(head + std::string(kMany, '3') + "\n" + end), "NET-010");
  EXPECT_EQ(netlist(head + "C" + std::string(kMany, ' ') + "\n" + end), "NET-012");
  EXPECT_EQ(netlist(head + "P  NNAME1 " + std::string(kMany, 'x') + "\n" + end), "NET-012");
  EXPECT_EQ(netlist(head + repeated("P  NNAME1 x\n", 200'000) + end), "NET-012");
  EXPECT_EQ(netlist(std::string(kMany, '\n') + end), "NET-012");
}

// Each alias stands for ten of the one before: a small file that says 10^12 values.
TEST(HostileYaml, AliasesOfAliases) {
  std::string text = "isthmus: 1\na: &a0 [x, x, x, x, x, x, x, x, x, x]\n";
  for (int i = 1; i < 12; ++i) {
    const std::string one = "*a" + std::to_string(i - 1);
    text += "b" + std::to_string(i) + ": &a" + std::to_string(i) + " [" + one +
            repeated(", " + one, 9) + "]\n";
  }
  EXPECT_EQ(board(text), "YML-014");
  EXPECT_EQ(fixture(text), "YML-014");
  EXPECT_NE(board("isthmus: &a [1, *a]\n"), "");  // an anchor within itself
}

TEST(HostileYaml, DepthLengthAndSize) {
  EXPECT_EQ(board(std::string(1'000'000, '[')), "YML-001");
  EXPECT_EQ(board(std::string(1'000'000, '{')), "YML-001");
  EXPECT_EQ(board(repeated("- ", 1'000'000)), "YML-001");
  EXPECT_EQ(board(repeated("? ", 1'000'000)), "YML-001");
  EXPECT_EQ(board("isthmus: " + std::string(3'000'000, '1') + "\n"), "YML-008");
  EXPECT_EQ(board(std::string(5'000'000, 'x')), "YML-014");
  EXPECT_EQ(fixture("isthmus: 1\nchannels: " + std::string(1'000'000, '9') + "\nplacements: []\n"),
            "YML-018");
}

TEST(HostileFiles, OfNulsAreRefusedByEveryReader) {
  const std::string nuls(kMany, '\0');
  EXPECT_EQ(gerber(nuls), "GBR-001");
  EXPECT_EQ(drill(nuls), "DRL-001");
  EXPECT_EQ(netlist(nuls), "NET-002");
  EXPECT_EQ(board(nuls.substr(0, 1'000'000)), "YML-001");
  EXPECT_EQ(fixture(nuls), "YML-014");
}

TEST(HostileFiles, ThatNeverEndAreRefusedUnread) {
  EXPECT_EQ(bounded([] { return code_of(read_whole_file("/dev/zero")); }), "DSN-002");
  EXPECT_EQ(bounded([] { return code_of(read_board_file("/dev/zero")); }), "DSN-002");
  EXPECT_EQ(bounded([] { return code_of(read_fixture_file("/dev/zero")); }), "DSN-002");
}

TEST(HostileFiles, DevicesAreNoDesignFiles) {
  const test::TempDir dir;
  const std::string said = bounded([&] {
    Diagnostics notes;
    return code_of(recognise({"/dev/zero"}, dir.path(), notes));
  });
  EXPECT_EQ(said, "IMP-001");
}

}  // namespace
}  // namespace isthmus::formats
