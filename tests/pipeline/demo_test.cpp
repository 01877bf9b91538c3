// SPDX-License-Identifier: Apache-2.0
// The demo board from design files to findings, judged by a scorer that reads only the scenario and
// the JSON.
#include <gtest/gtest.h>

#include "score/score.hpp"
#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

using test::Folder;
using test::Ran;

struct Scene {
  const char* stage;
  const char* bench;
  int code;
};

constexpr Scene kStory[]{{"etched", "etched", 1},
                         {"joined", "joined", 1},
                         {"finished", "finished", 1},
                         {"finished", "mended", 0}};

void make_board(const Folder& folder, int seed) {
  if (seed == 0) return test::lay_tide_gauge(folder);
  const Ran made =
      test::run(test::board_maker(), {"--out", folder.path(), "--seed", std::to_string(seed)});
  ASSERT_EQ(made.code, 0) << made.err;
}

std::string make_fixture(const Folder& folder, const std::string& stage,
                         const std::string& channels, bool check = true) {
  const std::string file =
      folder / ("fixture-" + stage + "-" + channels + (check ? "" : "-twins") + ".yaml");
  if (std::filesystem::exists(file)) return file;
  std::vector<std::string> arguments{
      "fixture", folder / "board.yaml", "--stage", stage, "--channels", channels, "--out", file};
  if (check) arguments.push_back("--contact-check");
  const Ran made = test::isthmus(arguments);
  EXPECT_EQ(made.code, 0) << made.err;
  return file;
}

Ran test_board(const Folder& folder, const Scene& scene, const std::string& fixture,
               const std::string& adapter) {
  return test::isthmus({"test", folder / "board.yaml", "--stage", scene.stage, "--fixture", fixture,
                        "--adapter", adapter, "--record", folder / "record.db", "--json"});
}

void expect_perfect(const Folder& folder, const Scene& scene, const Ran& ran) {
  ASSERT_EQ(ran.code, scene.code) << scene.bench << "\n" << ran.out.substr(0, 3000) << ran.err;
  test::write(folder / "report.json", ran.out);
  const auto truths = score::read_truths(folder / (std::string("bench-") + scene.bench + ".yaml"));
  const auto report = score::read_report(folder / "report.json");
  const auto judged = score::judge(truths, report);
  EXPECT_TRUE(judged.perfect()) << score::table(truths, report, judged);
}

class DemoBoard : public ::testing::TestWithParam<int> {};

TEST_P(DemoBoard, EveryFaultIsFoundAndNoneInvented) {
  ISTHMUS_SKIP_IF_SLOW(GetParam() > 1);
  const Folder folder;
  make_board(folder, GetParam());
  for (const Scene& scene : kStory) {
    const std::string adapter =
        "sim:" + (folder / (std::string("bench-") + scene.bench + ".yaml")).string();
    expect_perfect(folder, scene,
                   test_board(folder, scene, make_fixture(folder, scene.stage, "64"), adapter));
  }
}
INSTANTIATE_TEST_SUITE_P(BuiltInAndSeeds, DemoBoard, ::testing::Values(0, 1, 2, 3, 4, 5));

TEST(DemoBoardOverTcp, FindsTheSameWhenNothingOfTheBenchCanBeRead) {
  const Folder design, bench;
  make_board(bench, 0);
  for (const char* file : {"board.yaml", "top.gbr", "bottom.gbr", "top-mask.gbr", "bottom-mask.gbr",
                           "edge.gbr", "holes.drl", "mounting.drl", "tide-gauge.d356"}) {
    std::filesystem::copy(bench / file, design / file);
  }
  const Scene& scene = kStory[0];
  const std::string fixture = make_fixture(design, scene.stage, "64");
  const test::Background sim(test::simulator_program(),
                             {bench / "bench-etched.yaml", "--fixture", fixture, "--tcp", "0"});
  // The simulator has read everything; now nobody else can.
  std::filesystem::copy(bench / "bench-etched.yaml", design / "bench-etched.yaml.truth");
  std::filesystem::remove_all(bench.path());
  const Ran ran = test_board(design, scene, fixture, sim.first_line());
  std::filesystem::rename(design / "bench-etched.yaml.truth", design / "bench-etched.yaml");
  expect_perfect(design, scene, ran);
}

TEST(DemoBoardOverPty, FindsTheSame) {
  const Folder folder;
  make_board(folder, 0);
  const std::string fixture = make_fixture(folder, "etched", "64");
  const test::Background sim(test::simulator_program(),
                             {folder / "bench-etched.yaml", "--fixture", fixture, "--pty"});
  expect_perfect(folder, kStory[0], test_board(folder, kStory[0], fixture, sim.first_line()));
}

TEST(DemoBoardWithTwinTips, FindsTheSameWithoutAContactCheck) {
  const Folder folder;
  make_board(folder, 0);
  for (const Scene& scene : {kStory[1], kStory[2], kStory[3]}) {
    const std::string adapter =
        "sim:" + (folder / (std::string("bench-") + scene.bench + ".yaml")).string();
    expect_perfect(
        folder, scene,
        test_board(folder, scene, make_fixture(folder, scene.stage, "64", false), adapter));
  }
}

TEST(DemoBoardWithOtherAdapters, FewAndManyChannelsFindTheSame) {
  const Folder folder;
  make_board(folder, 0);
  for (const char* channels : {"16", "256"}) {
    const std::string bench = test::with(test::read(folder / "bench-joined.yaml"), "channels: 64",
                                         std::string("channels: ") + channels);
    test::write(folder / "bench-joined.yaml", bench);
    const std::string adapter = "sim:" + (folder / "bench-joined.yaml").string();
    expect_perfect(
        folder, kStory[1],
        test_board(folder, kStory[1], make_fixture(folder, "joined", channels), adapter));
    test::write(folder / "bench-joined.yaml",
                test::with(bench, std::string("channels: ") + channels, "channels: 64"));
  }
}

TEST(DemoBoardLaidWrongly, IsSaidToBeSoAndIsNoFaultOfTheBoard) {
  const Folder folder;
  make_board(folder, 0);
  const std::string fixture = make_fixture(folder, "finished", "64");
  const std::string mended = test::read(folder / "bench-mended.yaml");
  for (const char* wrong : {"{turn: 180}", "{mirror: true}", "{shift: [1.27, 0]}"}) {
    test::write(folder / "bench-mended.yaml", mended + "fixture: " + wrong + "\n");
    const Ran ran =
        test_board(folder, kStory[3], fixture, "sim:" + (folder / "bench-mended.yaml").string());
    EXPECT_EQ(ran.code, 4) << wrong << ran.out.substr(0, 3000) << ran.err;
    EXPECT_NE(ran.out.find("seems to be laid wrongly"), std::string::npos) << wrong;
  }
}

TEST(DemoBoardOnTwoWires, FindsOpensAndBridgesAndSaysWhatItCannot) {
  const Folder folder;
  make_board(folder, 0);
  const std::string bench =
      test::with(test::read(folder / "bench-finished.yaml"), "wires: 4", "wires: 2");
  test::write(folder / "bench-finished.yaml", bench);
  const Ran ran = test_board(folder, kStory[2], make_fixture(folder, "finished", "64"),
                             "sim:" + (folder / "bench-finished.yaml").string());
  expect_perfect(folder, kStory[2], ran);
  EXPECT_NE(ran.out.find("two-wire adapter"), std::string::npos);
}

}  // namespace
}  // namespace isthmus
