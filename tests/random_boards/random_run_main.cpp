// SPDX-License-Identifier: Apache-2.0
// random-run FROM TO [SETS] [--bench ideal|poor|faulty|mixed]: a line for whatever went wrong with
// the seeds in [FROM, TO), as drawn or with one of SETS sets of faults (1), then the tally. With --why
// also why good boards on poor and faulty benches did not pass.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <string_view>
#include <vector>

#include "tests/random_boards/trial.hpp"
#include "tests/support/temp_dir.hpp"

int main(int argc, char** argv) {
  using namespace isthmus::random_boards;
  std::vector<std::string_view> words(argv + 1, argv + argc);
  std::optional<Benches> benches = Benches::ideal;
  const auto option = std::ranges::find(words, "--bench");
  if (option != words.end()) {
    benches = option + 1 == words.end() ? std::nullopt : benches_named(option[1]);
    words.erase(option, std::min(option + 2, words.end()));
  }
  const bool why = std::erase(words, "--why") > 0;
  if (words.size() < 2 || words.size() > 3 || !benches) {
    std::fputs("usage: random-run FROM TO [SETS] [--bench ideal|poor|faulty|mixed] [--why]\n",
               stderr);
    return 2;
  }
  const auto number = [&](std::size_t i) { return std::strtoull(words[i].data(), nullptr, 10); };
  const auto sets = words.size() > 2 ? number(2) : 1;
  Tally tally;
  for (auto seed = number(0); seed < number(1); ++seed) {
    const isthmus::test::TempDir folder;
    const Trial trial = try_seed(seed, folder.path(), sets, *benches);
    tally.add(trial);
    if (!trial.all_right()) std::fputs(in_words(trial).c_str(), stdout);
    if (why) std::fputs(why_incomplete(trial).c_str(), stdout);
    std::fflush(stdout);
  }
  std::fputs(in_words(tally).c_str(), stdout);
  return tally.false_passes + tally.false_alarms + tally.crashed + tally.refused > 0 ? 1 : 0;
}
