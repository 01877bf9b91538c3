// SPDX-License-Identifier: Apache-2.0
// The page's table of breaks that their own net could hide, held against the count of the verdict.
#include <gtest/gtest.h>

#include "isthmus/report/report.hpp"
#include "tests/expect/piece_board.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/foretold.hpp"

namespace isthmus::report {
namespace {

// A and B, each out along one line and back 1.5 mm beside it: where the legs meet is one break that
// solder between them would hide.
class TwoHairpins : public ::testing::Test {
 protected:
  TwoHairpins() {
    test::LittleBoard little;
    for (const auto& [net, r1, r2, y] :
         {std::tuple{"A", "R1", "R2", 0.0}, std::tuple{"B", "R3", "R4", 20.0}}) {
      little.surface(net, r1, "1", 0, y).surface(net, r2, "1", -3, y + 1.5);
      little.track(0, 0, y, 10, y, 0.3).track(0, 10, y, 10, y + 1.5, 0.3);
      little.track(0, -3, y + 1.5, 10, y + 1.5, 0.3);
    }
    board_ = test::whole(std::move(little));
    Diagnostics notes;
    auto fixture = plan::make_fixture(*board_, {8, true}, notes);
    EXPECT_TRUE(fixture);
    auto plan = test::foretold_plan(*board_, *fixture, {4, {10.0}}, notes);
    EXPECT_TRUE(plan);
    bench_.emplace(*board_, *plan);
  }
  // Nets of the rows of that table; "-" where there is none.
  [[nodiscard]] std::string listed(const RunView& view) const {
    const std::string page = run_html(view, *board_), row = "<tr><td>";
    const auto title = page.find("<h2>Excluded unless bridged");
    if (title == std::string::npos) return "-";
    const auto end = page.find("</table>", title);
    std::string nets;
    for (auto at = page.find(row, title); at < end; at = page.find(row, at + 1)) {
      const auto from = at + row.size();
      nets += page.substr(from, page.find('<', from) - from);
    }
    return nets;
  }
  [[nodiscard]] RunView measured() {
    RunView view;
    view.head.stage = "etched";
    view.result.state = "done";
    view.result.diagnosis = bench_->run();
    return view;
  }

  std::unique_ptr<expect::Board> board_;
  std::optional<test::FakeBench> bench_;
};

RunView from_the_record(RunView view) {
  view.result.diagnosis.states.clear();
  return view;
}

TEST_F(TwoHairpins, AreBothListedAfterAPass) {
  const RunView view = measured();
  EXPECT_EQ(view.result.diagnosis.breaks.unless_bridged, 2u);
  EXPECT_EQ(listed(view), "AB");
  EXPECT_EQ(listed(from_the_record(view)), "AB");
}

TEST_F(TwoHairpins, WhatCannotBeToldIsNotListedAsExcluded) {
  bench_->lift("R4.1");
  const RunView view = measured();
  EXPECT_EQ(view.result.diagnosis.breaks.unless_bridged, 1u);
  EXPECT_EQ(listed(view), "A");
  EXPECT_EQ(listed(from_the_record(view)), "A");
}

// The record keeps no states: that B's is suspected is not known from it, its number is.
TEST_F(TwoHairpins, WhatIsFoundIsNotListedAsExcluded) {
  bench_->cut("R3.1", "R4.1");
  const RunView view = measured();
  EXPECT_EQ(view.result.diagnosis.breaks.found, 1u);
  EXPECT_EQ(listed(view), "A");
  EXPECT_EQ(run_html(view, *board_).find("of these 2"), std::string::npos);
  EXPECT_NE(run_html(from_the_record(view), *board_).find("1 of these 2 were excluded"),
            std::string::npos);
}

TEST_F(TwoHairpins, WhatIsWaivedIsNotListedAsExcluded) {
  for (auto& entry : board_->faults.entries) entry.waived = true;
  const RunView view = measured();
  EXPECT_EQ(view.result.diagnosis.breaks.unless_bridged, 0u);
  EXPECT_EQ(listed(view), "-");
}

}  // namespace
}  // namespace isthmus::report
