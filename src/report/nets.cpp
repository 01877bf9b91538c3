// SPDX-License-Identifier: Apache-2.0
#include "report/nets.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <tuple>

namespace isthmus::report {

std::string net_of(const expect::Board& board, IslandId island) {
  for (const expect::Group& g : board.expectation.groups) {
    if (std::ranges::binary_search(g.islands, island)) return g.net;
  }
  return "#" + std::to_string(index(island));
}

std::vector<NetGap> net_gaps(const expect::Board& board) {
  std::vector<std::string> nets;
  for (std::size_t i = 0; i < board.copper.islands.size(); ++i) {
    nets.push_back(net_of(board, IslandId{static_cast<std::uint32_t>(i)}));
  }
  std::set<std::tuple<std::string, std::string, LayerId>> seen;
  std::vector<NetGap> list;
  for (const copper::Gap& gap : board.gaps) {  // ascending, so the first of a pair is its closest
    const auto [first, second] = std::minmax(nets[index(gap.a)], nets[index(gap.b)]);
    if (first != second && seen.insert({first, second, gap.layer}).second)
      list.push_back({first, second, &gap});
  }
  return list;
}

std::vector<std::string> all_remarks(const RunView& run) {
  std::vector<std::string> list = run.head.remarks;
  const auto& found = run.result.diagnosis.remarks;
  list.insert(list.end(), found.begin(), found.end());
  return list;
}

std::string percent(double share) {
  return share < 0.005 ? "< 1 %" : fmt::format("{:.0f} %", share * 100);
}

}  // namespace isthmus::report
