// SPDX-License-Identifier: Apache-2.0
// Public boards as their authors left them: what import takes each file for. Oracle: expected.json
// beside them, written by a person who looked into each folder. Read docs/formats/import.md.
#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <set>

#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

std::string file_name(const YAML::Node& node) {
  return node ? fs::path(node.as<std::string>()).filename().string() : "";
}

json taken(const fs::path& board) {
  const YAML::Node yaml = YAML::LoadFile(board.string());
  json out{{"top", file_name(yaml["artwork"]["top"])},
           {"bottom", file_name(yaml["artwork"]["bottom"])},
           {"inner", json::array()},
           {"netlist", file_name(yaml["netlist"])}};
  for (const auto& inner : yaml["artwork"]["inner"]) out["inner"].push_back(file_name(inner));
  std::set<std::string> holes;
  for (const auto& file : yaml["holes"]) holes.insert(file_name(file["file"]));
  out["holes"] = holes;
  return out;
}

const std::vector<std::string> kWild{"curmon", "ex1",      "headamp", "heat",  "nixie", "plant",
                                     "poe",    "solenoid", "stamp",   "stram", "volt",  "yaw"};

class WildBoard : public ::testing::TestWithParam<std::string> {};

TEST_P(WildBoard, IsRecognisedAtTheFirstCall) {
  const auto wild = test::wild_dir();
  if (!wild) GTEST_SKIP() << "the boards as found are not here (set ISTHMUS_WILD)";
  json expected = json::parse(test::read(*wild / "expected.json")).at(GetParam());
  if (!expected.contains("inner")) expected["inner"] = json::array();
  const test::Folder folder;
  const test::Ran ran =
      test::isthmus({"import", *wild / GetParam(), "--out", folder / "board.yaml"});
  ASSERT_EQ(ran.code, 0) << ran.err;
  EXPECT_EQ(taken(folder / "board.yaml"), expected) << ran.out;
}

// Nothing is left out of the list above.
TEST(WildBoards, AreAllThatAreExpected) {
  const auto wild = test::wild_dir();
  if (!wild) GTEST_SKIP() << "the boards as found are not here (set ISTHMUS_WILD)";
  EXPECT_EQ(json::parse(test::read(*wild / "expected.json")).size(), kWild.size());
}

INSTANTIATE_TEST_SUITE_P(Boards, WildBoard, ::testing::ValuesIn(kWild),
                         [](const ::testing::TestParamInfo<std::string>& tested) {
                           return tested.param;
                         });

}  // namespace
}  // namespace isthmus
