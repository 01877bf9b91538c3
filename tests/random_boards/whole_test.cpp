// SPDX-License-Identifier: Apache-2.0
// Random two-sided boards through the programs: files, fixture, run on the simulated bench.
#include <gtest/gtest.h>

#include <fstream>
#include <iostream>

#include "tests/pipeline/programs.hpp"
#include "tests/random_boards/trial.hpp"
#include "tests/support/paths.hpp"

namespace isthmus::random_boards {
namespace {

// Exit codes of `isthmus test` (design: 0 pass, 1 faults found, 4 incomplete).
struct Whole {
  int good{}, faulty{};
  std::string said;
};

// What the simulated bench is besides, and what `test` is told.
struct Poor {
  std::string scenario;
  std::vector<std::string> options;
};

test::Ran run_on(const test::Folder& folder, const std::string& scenario, const Poor& poor) {
  std::vector<std::string> words{"test",      folder / "board.yaml",
                                 "--fixture", folder / "f.yaml",
                                 "--adapter", "sim:" + (folder / scenario).string(),
                                 "--record",  folder / "r.db"};
  words.insert(words.end(), poor.options.begin(), poor.options.end());
  return test::isthmus(words);
}

Whole run_whole(const RandomBoard& board, const std::vector<Fault>& faults, const Poor& poor) {
  const test::Folder folder;
  write_board(board, folder.path());
  std::ofstream(folder / "good.yaml") << scenario_of(board, {}) << poor.scenario;
  std::ofstream(folder / "faulty.yaml") << scenario_of(board, faults) << poor.scenario;
  std::vector<std::string> words{"fixture",    folder / "board.yaml",
                                 "--channels", std::to_string(board.channels),
                                 "--out",      folder / "f.yaml"};
  if (board.contact_check) words.emplace_back("--contact-check");
  const test::Ran fixture = test::isthmus(words);
  if (fixture.code != 0) return {fixture.code, fixture.code, fixture.err};
  const test::Ran good = run_on(folder, "good.yaml", poor),
                  faulty = run_on(folder, "faulty.yaml", poor);
  return {good.code, faulty.code, good.out + good.err + faulty.out + faulty.err};
}

class Wholes {
 public:
  void add(std::uint64_t seed, const Poor& poor = {}) {
    const RandomBoard board = make_board(seed);
    const std::vector<Fault> faults = faults_of(board);
    const Verdict verdict = truth_of(board, faults);
    const Whole whole = run_whole(board, faults, poor);
    const bool ended = is_end(whole.good) && is_end(whole.faulty);
    EXPECT_TRUE(ended) << seed << ": exit " << whole.good << ", " << whole.faulty << "\n"
                       << whole.said;
    EXPECT_NE(whole.good, 1) << seed << ": false alarm\n" << whole.said;
    ++boards_;
    if (verdict.truth == Truth::good) {
      EXPECT_NE(whole.faulty, 1) << seed << ": false alarm\n" << whole.said;
    }
    incomplete_ += whole.good == 4 ? 1U : 0U;
    if (verdict.truth != Truth::bad) return;
    ++bad_;
    if (whole.faulty != 0) return;
    ++false_passes_;
    ADD_FAILURE() << seed << ": false pass, " << verdict.why << "\n" << whole.said;
  }
  void finish(bool all_pass = true) const {
    std::cout << boards_ << " boards, " << bad_ << " of them with harmful faults; false passes "
              << false_passes_ << ", good but incomplete " << incomplete_ << "\n";
    EXPECT_LE(incomplete_, all_pass ? 0U : boards_ - 1);
  }

 private:
  static bool is_end(int code) { return code == 0 || code == 1 || code == 4; }
  std::size_t boards_{}, bad_{}, false_passes_{}, incomplete_{};
};

// Oracle: the boards' own graph; the simulator's copper stands between.
TEST(RandomBoardsWhole, TwentyGiveNoFalseAlarmAndNoFalsePass) {
  Wholes wholes;
  for (std::uint64_t seed = 10001; seed <= 10020; ++seed) wholes.add(seed);
  wholes.finish();
}

// Contacts as in bench practice (docs/contacts.md), with the `excess` that import writes.
TEST(RandomBoardsWhole, TenPassOverWornTips) {
  Wholes wholes;
  const Poor poor{"contact: {ohm: 0.15, spread: 0.5}\nadapter: {noise-uv: 50}\n",
                  {"--limits.excess", "0.2 ohm"}};
  for (std::uint64_t seed = 11001; seed <= 11010; ++seed) wholes.add(seed, poor);
  wholes.finish();
}

TEST(RandomBoardsWhole, FiveOverTipsThatMissGiveNoFalseAlarmAndNoFalsePass) {
  Wholes wholes;
  const Poor poor{"contact: {ohm: 0.1, spread: 0.9, miss: 0.01}\n", {"--limits.excess", "0.2 ohm"}};
  for (std::uint64_t seed = 12001; seed <= 12005; ++seed) wholes.add(seed, poor);
  wholes.finish(false);
}

TEST(RandomBoardsWhole, ThreeHundredGiveNoFalseAlarmAndNoFalsePass) {
  ISTHMUS_SKIP_IF_SLOW(true);
  Wholes wholes;
  for (std::uint64_t seed = 20001; seed <= 20300; ++seed) wholes.add(seed);
  wholes.finish();
}

}  // namespace
}  // namespace isthmus::random_boards
