// SPDX-License-Identifier: Apache-2.0
// Which touched places hang together, and what copper is held by them.
#include <algorithm>

#include "expect/faults/graph.hpp"

namespace isthmus::expect::faults {
namespace {

// Joins touched nodes, by facts first, then where current between two of one set must have run
// through a node of another.
class Joiner {
 public:
  Joiner(const Wiring& wiring, const Graph& graph, const Facts& facts)
      : wiring_(wiring),
        sets_(wiring.nodes.size()),
        all_(wiring.edges.size(), true),
        walk_(graph, wiring.nodes.size()),
        below_(wiring.nodes.size(), 0) {
    out_.of_piece.resize(graph.pieces());
    out_.component.assign(wiring.nodes.size(), kNone);
    out_.touched = facts.touched;
    std::ranges::sort(out_.touched);
    out_.touched.erase(std::unique(out_.touched.begin(), out_.touched.end()), out_.touched.end());
    for (const Index n : out_.touched) out_.of_piece[wiring.nodes[n].piece].push_back(n);
    for (const Facts::Two& two : facts.one_piece) sets_.unite(two.a, two.b);
  }

  Joined run() {
    for (bool joined = true; joined;) {
      joined = false;
      out_.carried.assign(wiring_.nodes.size(), kNone);
      for (const auto& touched : out_.of_piece) joined |= carry(touched);
    }
    for (const Index n : out_.touched) out_.component[n] = sets_.find(n);
    for (Index& c : out_.carried) c = c == kNone ? kNone : sets_.find(c);
    return std::move(out_);
  }

 private:
  // Marks what each set of a piece must have carried; true where that joined two sets.
  bool carry(const std::vector<Index>& touched) {
    bool joined = false;
    std::vector<Index> done;
    for (const Index root : touched) {
      const Index set = sets_.find(root);
      if (std::ranges::find(done, set) != done.end()) continue;
      done.push_back(set);
      joined |= carry_from(root, set, touched);
    }
    return joined;
  }

  bool carry_from(Index root, Index set, const std::vector<Index>& touched) {
    std::size_t members = 0;
    for (const Index n : touched) members += sets_.find(n) == set;
    if (members < 2) return mark(root, root);
    walk_.run(root, all_);
    for (const Index n : touched) below_[n] += sets_.find(n) == set;
    bool joined = mark(root, root);
    const auto& order = walk_.order();
    for (std::size_t i = order.size(); i-- > 1;) {
      const Index n = order[i], above = walk_.up(n);
      if (below_[n] > 0) {
        if (above != root && walk_.cut_node(n)) joined |= mark(above, root);
        below_[above] += below_[n];
      }
      below_[n] = 0;
    }
    below_[root] = 0;
    for (const Index n : touched) {
      if (sets_.find(n) == sets_.find(root)) joined |= mark(n, root);
    }
    return joined;
  }

  bool mark(Index node, Index root) {
    bool joined = false;
    if (out_.carried[node] != kNone) joined = sets_.unite(out_.carried[node], root);
    out_.carried[node] = sets_.find(root);
    return joined;
  }

  const Wiring& wiring_;
  Sets sets_;
  std::vector<bool> all_;
  Walk walk_;
  std::vector<std::size_t> below_;
  Joined out_;
};

// Edges of joins that current between two touched places must have run through.
std::vector<bool> sure_edges(const Wiring& wiring, const Graph& graph, const Joined& joined) {
  std::vector<bool> sure(wiring.edges.size()), all(wiring.edges.size(), true);
  for (std::size_t e = 0; e < wiring.edges.size(); ++e) sure[e] = !wiring.edges[e].join;
  Walk walk(graph, wiring.nodes.size());
  std::vector<std::size_t> below(wiring.nodes.size(), 0);
  for (const auto& touched : joined.of_piece) {
    std::vector<Index> done;
    for (const Index root : touched) {
      const Index c = joined.component[root];
      if (std::ranges::find(done, c) != done.end()) continue;
      done.push_back(c);
      walk.run(root, all);
      for (const Index n : touched) below[n] += joined.component[n] == c;
      for (std::size_t i = walk.order().size(); i-- > 1;) {
        const Index n = walk.order()[i];
        if (below[n] > 0 && walk.cut_edge(n)) sure[walk.up_edge(n)] = true;
        below[walk.up(n)] += below[n];
        below[n] = 0;
      }
      below[root] = 0;
    }
  }
  return sure;
}

}  // namespace

Joined join_touched(const Wiring& wiring, const Graph& graph, const Facts& facts) {
  return Joiner(wiring, graph, facts).run();
}

std::vector<bool> held(const Wiring& wiring, const Graph& graph, const Joined& joined) {
  const std::vector<bool> use = sure_edges(wiring, graph, joined);
  // All touched nodes of a piece drawn together into one: an edge that is no cut edge from there
  // leaves its far side on.
  std::vector<bool> held(wiring.nodes.size(), false), is_touched(wiring.nodes.size(), false);
  std::vector<Index> number(wiring.nodes.size(), kNone), low(number), up(number), up_edge(number);
  for (const Index n : joined.touched) is_touched[n] = held[n] = true;
  for (const auto& touched : joined.of_piece) {
    if (touched.empty()) continue;
    std::vector<Index> order;
    std::vector<std::pair<Index, std::size_t>> stack;
    for (const Index n : touched) number[n] = low[n] = 0;
    for (const Index start : touched) {
      stack.emplace_back(start, 0);
      while (!stack.empty()) {
        auto& [node, next] = stack.back();
        const auto ends = graph.at(node);
        if (next == ends.size()) {
          const Index done = node;
          stack.pop_back();
          if (up[done] != kNone) low[up[done]] = std::min(low[up[done]], low[done]);
          continue;
        }
        const auto [edge, to] = ends[next++];
        if (edge == up_edge[node] || !use[edge]) continue;
        if (number[to] != kNone) {
          low[node] = std::min(low[node], is_touched[to] ? 0 : number[to]);
          continue;
        }
        number[to] = low[to] = static_cast<Index>(order.size() + 1);
        order.push_back(to);
        up[to] = node;
        up_edge[to] = edge;
        stack.emplace_back(to, 0);
      }
    }
    for (const Index n : order) held[n] = held[up[n]] && low[n] <= number[up[n]];
    for (const Index n : order) number[n] = low[n] = up[n] = up_edge[n] = kNone;
    for (const Index n : touched) number[n] = low[n] = kNone;
  }
  return held;
}

}  // namespace isthmus::expect::faults
