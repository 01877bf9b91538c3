// SPDX-License-Identifier: Apache-2.0
// Real boards from public repositories (each with its SOURCE.txt), faults drawn into a copy of
// their Gerbers.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include "score/score.hpp"
#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

using test::Folder;
using test::Ran;

struct Dot {
  double x, y, diameter;
};
struct RealBoard {
  const char* name;
  const char* top;  // top copper file
  Dot open;         // over a straight track, wider than it
  Dot bridge;       // over a gap, wider than it
};
void PrintTo(const RealBoard& b, std::ostream* out) { *out << b.name; }

// The open dots lie on the middle of long strokes of the Gerbers, the bridge dots on tight gaps.
constexpr RealBoard kBoards[]{
    {"melody", "OndraMelodik-F_Cu.gbr", {80.166, -151.241, 0.6}, {75.810, -143.400, 0.4}},
    {"encoder", "RotaryEncoderDebounced-F_Cu.gtl", {31.312, -21.309, 0.6}, {27.120, -24.569, 0.3}},
    {"rom-programmer",
     "rom-programmer-F_Cu.gtl",
     {188.500, -91.250, 0.5},
     {170.319, -86.768, 0.65}},
};

std::string flash(const Dot& d, int code, const char* polarity) {
  return fmt::format("%LP{}*%\n%ADD{}C,{:.3f}*%\nD{}*\nX{:.0f}Y{:.0f}D03*\n", polarity, code,
                     d.diameter, code, d.x * 1e6, d.y * 1e6);
}

void import(const std::filesystem::path& files, const std::filesystem::path& out) {
  const Ran ran =
      test::isthmus({"import", files, "--out", out, "--name", "board", "--stage", "joined"});
  ASSERT_EQ(ran.code, 0) << ran.err;
  test::write(out, test::with(test::read(out), "joins: none", "joins: plated"));
}

class OnRealBoard : public ::testing::TestWithParam<RealBoard> {};

TEST_P(OnRealBoard, DrawnFaultsAreFoundAndTheUntouchedBoardPasses) {
  ISTHMUS_NEEDS_BOARDS(boards);
  const RealBoard& board = GetParam();
  const Folder folder;
  import(boards / board.name, folder / "design.yaml");
  std::filesystem::copy(boards / board.name, folder / "etched");
  std::filesystem::permissions(folder / "etched", std::filesystem::perms::owner_all);
  const auto top = folder / "etched" / board.top;
  std::filesystem::permissions(top, std::filesystem::perms::owner_all);
  const std::string faults = flash(board.open, 9001, "C") + flash(board.bridge, 9002, "D");
  test::write(top, test::with(test::read(top), "M02*", faults + "M02*"));
  import(folder / "etched", folder / "etched.yaml");
  for (const std::string channels : {"256", "16"}) {
    const auto fixture = folder / ("fixture-" + channels + ".yaml");
    const Ran made = test::isthmus({"fixture", folder / "design.yaml", "--channels", channels,
                                    "--contact-check", "--out", fixture});
    ASSERT_EQ(made.code, 0) << made.err;
    for (bool faulty : {true, false}) {
      const auto scene = folder / (faulty ? "faulty.yaml" : "good.yaml");
      test::write(
          scene,
          fmt::format("isthmus: 1\nboard: {}\nchannels: {}\nseed: 3\nclock: virtual\n",
                      faulty ? "etched.yaml" : "design.yaml", channels) +
              (faulty ? fmt::format(
                            "drawn:\n  - {{kind: open, at: [{}, {}], side: top, diameter: {}}}\n"
                            "  - {{kind: bridge, from: [{}, {}], to: [{}, {}], side: top, width: "
                            "{}}}\n",
                            board.open.x, board.open.y, board.open.diameter, board.bridge.x,
                            board.bridge.y, board.bridge.x, board.bridge.y, board.bridge.diameter)
                      : ""));
      const Ran ran =
          test::isthmus({"test", folder / "design.yaml", "--fixture", fixture, "--adapter",
                         "sim:" + scene.string(), "--record", folder / "r.db", "--json"});
      ASSERT_EQ(ran.code, faulty ? 1 : 0) << ran.out.substr(0, 2000) << ran.err;
      if (!faulty) continue;
      test::write(folder / "report.json", ran.out);
      const auto truths = score::read_truths(scene);
      const auto report = score::read_report(folder / "report.json");
      const auto judged = score::judge(truths, report);
      EXPECT_TRUE(judged.perfect()) << channels << " channels\n"
                                    << score::table(truths, report, judged);
    }
  }
}
INSTANTIATE_TEST_SUITE_P(Boards, OnRealBoard, ::testing::ValuesIn(kBoards));

// One of its switch's pads was never routed: the X2 attributes of its own Gerbers say so too.
TEST(RealBoards, AnUnroutedPadIsTheOneDisagreementOfTheFourLayerBoard) {
  ISTHMUS_NEEDS_BOARDS(boards);
  const Folder folder;
  import(boards / "motion-light-4l", folder / "board.yaml");
  const Ran ran = test::isthmus({"inspect", folder / "board.yaml", "--json"});
  EXPECT_EQ(ran.code, 1);
  const auto disagreements = test::json_of(ran)["disagreements"];
  ASSERT_EQ(disagreements.size(), 1u);
  EXPECT_EQ(disagreements[0]["kind"], "open");
  EXPECT_EQ(disagreements[0]["points"], nlohmann::json::parse(R"(["R13.1","SW1.2#2"])"));
}

TEST(RealBoards, ThoseThatShareAnOriginAgreeWithTheirNetlists) {
  ISTHMUS_NEEDS_BOARDS(boards);
  for (const char* name :
       {"rom-programmer", "ac-coupler", "prom-burner", "fx-switcher", "melody", "encoder"}) {
    const Folder folder;
    import(boards / name, folder / "board.yaml");
    const Ran ran = test::isthmus({"inspect", folder / "board.yaml", "--json"});
    EXPECT_EQ(ran.code, 0) << name << ran.err
                           << (ran.out.empty() ? "" : test::json_of(ran)["disagreements"].dump());
  }
}

}  // namespace
}  // namespace isthmus
