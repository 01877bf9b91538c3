// SPDX-License-Identifier: Apache-2.0
#include "plan/colouring.hpp"

#include <algorithm>
#include <bit>
#include <cstdint>

namespace isthmus::plan {
namespace {

using Graph = std::vector<std::vector<std::size_t>>;
constexpr std::size_t kNone = SIZE_MAX;

// Repeatedly takes the vertex of smallest remaining degree; the reverse of that order is coloured
// greedily.
std::vector<std::size_t> smallest_last(const Graph& g) {
  std::vector<std::size_t> degree(g.size()), order;
  std::vector<bool> gone(g.size());
  for (std::size_t v = 0; v < g.size(); ++v) degree[v] = g[v].size();
  for (std::size_t i = 0; i < g.size(); ++i) {
    std::size_t best = kNone;
    for (std::size_t v = 0; v < g.size(); ++v) {
      if (!gone[v] && (best == kNone || degree[v] < degree[best])) best = v;
    }
    gone[best] = true;
    order.push_back(best);
    for (std::size_t w : g[best]) --degree[w];
  }
  std::ranges::reverse(order);
  return order;
}

std::size_t lowest_free(const Graph& g, const std::vector<std::size_t>& colours, std::size_t v) {
  std::vector<bool> used(g[v].size() + 1);
  for (std::size_t w : g[v]) {
    if (colours[w] < used.size()) used[colours[w]] = true;
  }
  return static_cast<std::size_t>(std::ranges::find(used, false) - used.begin());
}

// Exchange of two colours along a chain that starts at `from` and does not reach `avoid` frees a
// colour.
bool swap_chain(const Graph& g, std::vector<std::size_t>& colours, std::size_t from,
                std::size_t other, std::size_t pivot) {
  const std::size_t mine = colours[from];
  std::vector<std::size_t> chain{from};
  std::vector<bool> seen(g.size());
  seen[from] = true;
  for (std::size_t i = 0; i < chain.size(); ++i) {
    for (std::size_t w : g[chain[i]]) {
      if (w == pivot || seen[w] || (colours[w] != mine && colours[w] != other)) continue;
      seen[w] = true;
      chain.push_back(w);
    }
  }
  for (std::size_t w : g[pivot]) {
    if (w != from && seen[w] && colours[w] == other) return false;
  }
  for (std::size_t v : chain) colours[v] = colours[v] == mine ? other : mine;
  return true;
}

// Tries to give `v` a colour below `limit` by one chain exchange (Kempe).
bool squeeze(const Graph& g, std::vector<std::size_t>& colours, std::size_t v, std::size_t limit) {
  for (std::size_t mine = 0; mine < limit; ++mine) {
    std::vector<std::size_t> holders;
    for (std::size_t w : g[v]) {
      if (colours[w] == mine) holders.push_back(w);
    }
    if (holders.size() != 1) continue;
    for (std::size_t other = 0; other < limit; ++other) {
      if (other != mine && swap_chain(g, colours, holders[0], other, v)) {
        colours[v] = mine;
        return true;
      }
    }
  }
  return false;
}

}  // namespace

std::size_t tests_for(std::size_t colours) {
  return colours <= 1 ? 0 : static_cast<std::size_t>(std::bit_width(colours - 1));
}

std::vector<std::size_t> colour(const Graph& g) {
  std::vector<std::size_t> colours(g.size(), kNone);
  for (std::size_t v : smallest_last(g)) {
    const std::size_t c = lowest_free(g, colours, v);
    // A fifth or ninth colour costs a whole test: try to do without.
    if ((c == 4 || c == 8) && squeeze(g, colours, v, c)) continue;
    colours[v] = c;
  }
  return colours;
}

}  // namespace isthmus::plan
