// SPDX-License-Identifier: Apache-2.0
// What the person has put off, in words: it must not go unsaid beside a verdict.
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "isthmus/expect/expectation.hpp"

namespace isthmus::expect {
namespace {

std::set<std::string> nets_of(const Expectation& e, const std::vector<IslandId>& islands) {
  std::set<std::string> nets;
  for (const Group& g : e.groups) {
    if (std::ranges::any_of(islands,
                            [&](IslandId i) { return std::ranges::binary_search(g.islands, i); }))
      nets.insert(g.net);
  }
  return nets;
}

}  // namespace

std::vector<std::size_t> deferred_joins(const Expectation& e) {
  std::vector<std::size_t> list;
  if (!joins_count(e.stage)) return list;
  for (std::size_t i = 0; i < e.joins.size(); ++i) {
    if (e.joins[i].deferred && e.joins[i].islands.size() > 1) list.push_back(i);
  }
  return list;
}

std::string deferred_in_words(const Expectation& e) {
  constexpr std::size_t kNamed = 6;
  const std::vector<std::size_t> joins = deferred_joins(e);
  if (joins.empty()) return "";
  std::string places;
  for (std::size_t i = 0; i < joins.size() && i < kNamed; ++i) {
    const Join& join = e.joins[joins[i]];
    places +=
        fmt::format("{}({:.2f}, {:.2f}) mm", i == 0 ? "" : ", ",
                    static_cast<double>(join.at.x) * 1e-6, static_cast<double>(join.at.y) * 1e-6);
    for (const std::string& net : nets_of(e, join.islands)) places += " " + net;
  }
  if (joins.size() > kNamed) places += fmt::format(" and {} more", joins.size() - kNamed);
  const bool one = joins.size() == 1;
  return fmt::format("{} {} deferred ({}): nothing is expected to conduct through {} yet",
                     one ? "1 join" : fmt::format("{} joins", joins.size()), one ? "is" : "are",
                     places, one ? "it" : "them");
}

}  // namespace isthmus::expect
