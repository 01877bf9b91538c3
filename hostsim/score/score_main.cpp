// SPDX-License-Identifier: Apache-2.0
// isthmus-score SCENARIO REPORT.json [SCENARIO REPORT.json ...]
// Exit 0: every defect found, nothing invented; 1: not so; 2: a file could not be read.
#include <cstdio>
#include <exception>
#include <string>
#include <vector>

#include "score.hpp"

int main(int argc, char** argv) {
  const std::vector<std::string> words(argv + 1, argv + argc);
  if (words.empty() || words.size() % 2 != 0) {
    std::fprintf(stderr, "usage: isthmus-score SCENARIO REPORT.json [SCENARIO REPORT.json ...]\n");
    return 2;
  }
  bool perfect = true;
  try {
    for (std::size_t i = 0; i < words.size(); i += 2) {
      const auto truths = isthmus::score::read_truths(words[i]);
      const auto report = isthmus::score::read_report(words[i + 1]);
      const auto score = isthmus::score::judge(truths, report);
      std::printf("%s (verdict %s)\n%s", words[i].c_str(), report.verdict.c_str(),
                  isthmus::score::table(truths, report, score).c_str());
      perfect = perfect && score.perfect();
    }
  } catch (const std::exception& e) {
    std::fprintf(stderr, "isthmus-score: %s\n", e.what());
    return 2;
  }
  return perfect ? 0 : 1;
}
