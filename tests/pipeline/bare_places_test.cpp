// SPDX-License-Identifier: Apache-2.0
// Whole runs with a probe on a track: the line board's AFT runs from A.1 over A.2 at x = 5 to A.3 at
// x = 10.
#include "tests/pipeline/line_run.hpp"

namespace isthmus {
namespace {

using nlohmann::json;
using test::LineRun;
using test::Ran;

class BarePlaces : public ::testing::Test {
 protected:
  BarePlaces() {
    run_.adapter = "contact-check: true";
    run_.of_copper = true;
  }
  Ran measure(const std::string& probes, const std::string& more = "") {
    test::write(
        run_.folder / "f.yaml",
        "isthmus: 1\nchannels: 8\ncontact-check: true\nplacements:\n  - {name: A, side: top, "
        "probes: {1: A.1, 2: A.2, 4: B.1, 5: B.2, 6: C.1, " +
            probes + "}}\n");
    run_.more = more;
    return run_.run();
  }
  LineRun run_;
};

constexpr const char* kOpen = "defects: [{kind: open, at: [9, 0], side: top, diameter: 0.6}]\n";
constexpr const char* kNear = "defects: [{kind: open, at: [6, 0], side: top, diameter: 0.6}]\n";

TEST_F(BarePlaces, OnATrackBesideAllPadsPasses) {
  const Ran ran = measure("3: A.3, 7: [7.5, 0]");
  EXPECT_EQ(ran.code, 0) << ran.out.substr(0, 2000) << ran.err;
}

TEST_F(BarePlaces, OnATrackDoNotProveThePadBehind) {
  for (const char* defect : {"", kOpen}) {
    const Ran ran = measure("7: [7.5, 0]", defect);
    EXPECT_EQ(ran.code, 4) << ran.out.substr(0, 2000) << ran.err;
    const json entries = test::json_of(ran)["cannot_tell"];
    ASSERT_EQ(entries.size(), 1u) << entries;
    EXPECT_EQ(entries[0]["what"], "stretch");
  }
}

TEST_F(BarePlaces, PartTheOpenBeforeFromTheOneBehind) {
  const auto parts = [&](const char* defect) {
    const Ran ran = measure("3: A.3, 7: [7.5, 0]", defect);
    EXPECT_EQ(ran.code, 1) << ran.err;
    return test::json_of(ran)["findings"][0]["parts"];
  };
  EXPECT_EQ(parts(kNear), json::parse(R"([["A.1","A.2"],["A.3","@7.500,0.000"]])"));
  EXPECT_EQ(parts(kOpen), json::parse(R"([["A.1","A.2","@7.500,0.000"],["A.3"]])"));
}

TEST_F(BarePlaces, AreInThePlanAndInTheReportOfTheRecord) {
  const Ran ran = measure("3: A.3, 7: [7.5, 0]", kNear);
  const Ran plan = test::isthmus(
      {"plan", run_.folder / "board.yaml", "--fixture", run_.folder / "f.yaml", "--json"});
  EXPECT_EQ(plan.code, 0) << plan.err;
  EXPECT_NE(plan.out.find("@7.500,0.000"), std::string::npos);
  const std::string number = std::to_string(test::json_of(ran)["run"].get<int>());
  const Ran report = test::isthmus({"report", number, "--record", run_.folder / "r.db", "--report",
                                    run_.folder / "pages", "--json"});
  EXPECT_EQ(report.code, 0) << report.err;
  EXPECT_EQ(test::json_of(report)["findings"], test::json_of(ran)["findings"]);
  EXPECT_NE(test::read(run_.folder / "pages/report.html").find("@7.500,0.000"), std::string::npos);
}

TEST_F(BarePlaces, AreThereAgainWhenARunIsResumed) {
  run_.options = {"--unit", "7"};
  const Ran broken = measure("3: A.3, 7: [7.5, 0]", "link: {unplug-after: 12}\n");
  EXPECT_EQ(broken.code, 3) << broken.out.substr(0, 2000) << broken.err;
  run_.options.emplace_back("--resume");
  const Ran resumed = measure("3: A.3, 7: [7.5, 0]");
  EXPECT_EQ(resumed.code, 0) << resumed.out.substr(0, 2000) << resumed.err;
}

TEST_F(BarePlaces, OffCopperAreRefusedWithTheNearest) {
  const Ran ran = measure("3: A.3, 7: [7.5, 0.4]");
  EXPECT_EQ(ran.code, 2);
  EXPECT_EQ(ran.out, "");
  EXPECT_NE(ran.err.find("f.yaml:5:"), std::string::npos) << ran.err;
  EXPECT_NE(ran.err.find("PLN-004"), std::string::npos) << ran.err;
  EXPECT_NE(ran.err.find("the nearest copper of the top side lies at [7.500, 0.150]"),
            std::string::npos)
      << ran.err;
}

}  // namespace
}  // namespace isthmus
