// SPDX-License-Identifier: Apache-2.0
#include "expect/breaks/cut.hpp"

#include <algorithm>
#include <limits>
#include <queue>

#include "isthmus/base/ensure.hpp"

namespace isthmus::expect {
namespace {

constexpr std::size_t kNone = std::numeric_limits<std::size_t>::max();

// The piece with each set drawn together into one node: 0 is `from`, 1 is `to`.
struct Drawn {
  struct End {
    std::size_t edge, to;
  };
  std::vector<std::vector<End>> ends;
  bool apart{true};  // the sets share no node

  Drawn(const PieceGraph& piece, const std::vector<std::size_t>& from,
        const std::vector<std::size_t>& to) {
    std::vector<std::size_t> id(piece.size(), kNone);
    for (std::size_t n : from) id[n] = 0;
    for (std::size_t n : to) {
      if (id[n] == 0) apart = false;
      id[n] = 1;
    }
    std::size_t count = 2;
    for (std::size_t& i : id) {
      if (i == kNone) i = count++;
    }
    ends.resize(count);
    for (std::size_t e = 0; e < piece.edges.size(); ++e) {
      const std::size_t a = id[piece.edges[e].a], b = id[piece.edges[e].b];
      if (a == b) continue;
      ends[a].push_back({e, b});
      ends[b].push_back({e, a});
    }
  }
};

// Depth-first numbers from node 0: the lowest number each subtree reaches without its own edge
// upwards.
struct Walked {
  std::vector<std::size_t> number, low, up, up_edge;

  explicit Walked(const Drawn& g)
      : number(g.ends.size(), kNone), low(number), up(number), up_edge(number) {
    std::vector<std::size_t> stack{0}, next(g.ends.size(), 0);
    std::size_t count = 0;
    number[0] = low[0] = count++;
    while (!stack.empty()) {
      const std::size_t v = stack.back();
      if (next[v] == g.ends[v].size()) {
        stack.pop_back();
        if (up[v] != kNone) low[up[v]] = std::min(low[up[v]], low[v]);
        continue;
      }
      const auto [edge, w] = g.ends[v][next[v]++];
      if (edge == up_edge[v]) continue;
      if (number[w] != kNone) {
        low[v] = std::min(low[v], number[w]);
        continue;
      }
      number[w] = low[w] = count++;
      up[w] = v;
      up_edge[w] = edge;
      stack.push_back(w);
    }
  }
};

// Dinic's maximum flow on undirected edges.
class Flow {
 public:
  Flow(const PieceGraph& piece, const Drawn& drawn) : ends_(drawn.ends.size()) {
    for (std::size_t v = 0; v < drawn.ends.size(); ++v) {
      for (const auto& [edge, w] : drawn.ends[v]) {
        if (v > w) continue;
        const std::int64_t strength = piece.edges[edge].strength;
        ends_[v].push_back(arcs_.size());
        arcs_.push_back({w, strength, edge});
        ends_[w].push_back(arcs_.size());
        arcs_.push_back({v, strength, edge});
      }
    }
  }

  std::vector<std::size_t> cut() {
    while (level_from_source()) {
      next_.assign(ends_.size(), 0);
      while (push_one_way()) {
      }
    }
    std::vector<std::size_t> edges;
    for (std::size_t v = 0; v < ends_.size(); ++v) {
      for (std::size_t arc : ends_[v]) {
        if (level_[v] != kNone && level_[arcs_[arc].to] == kNone) edges.push_back(arcs_[arc].edge);
      }
    }
    std::sort(edges.begin(), edges.end());
    return edges;
  }

 private:
  struct Arc {
    std::size_t to;
    std::int64_t room;
    std::size_t edge;
  };

  bool level_from_source() {
    level_.assign(ends_.size(), kNone);
    level_[0] = 0;
    std::queue<std::size_t> front;
    front.push(0);
    while (!front.empty()) {
      const std::size_t v = front.front();
      front.pop();
      for (std::size_t arc : ends_[v]) {
        if (arcs_[arc].room <= 0 || level_[arcs_[arc].to] != kNone) continue;
        level_[arcs_[arc].to] = level_[v] + 1;
        front.push(arcs_[arc].to);
      }
    }
    return level_[1] != kNone;
  }

  bool push_one_way() {
    std::vector<std::size_t> way;
    std::size_t v = 0;
    while (v != 1) {
      if (next_[v] == ends_[v].size()) {
        if (way.empty()) return false;
        v = arcs_[way.back() ^ 1].to;
        way.pop_back();
        ++next_[v];
        continue;
      }
      const std::size_t arc = ends_[v][next_[v]];
      if (arcs_[arc].room > 0 && level_[arcs_[arc].to] == level_[v] + 1) {
        way.push_back(arc);
        v = arcs_[arc].to;
      } else {
        ++next_[v];
      }
    }
    std::int64_t amount = std::numeric_limits<std::int64_t>::max();
    for (std::size_t arc : way) amount = std::min(amount, arcs_[arc].room);
    for (std::size_t arc : way) arcs_[arc].room -= amount, arcs_[arc ^ 1].room += amount;
    return true;
  }

  std::vector<std::vector<std::size_t>> ends_;
  std::vector<Arc> arcs_;
  std::vector<std::size_t> level_, next_;
};

}  // namespace

std::vector<std::size_t> separating_edges(const PieceGraph& piece,
                                          const std::vector<std::size_t>& from,
                                          const std::vector<std::size_t>& to) {
  const Drawn drawn(piece, from, to);
  if (!drawn.apart || from.empty() || to.empty()) return {};
  const Walked walked(drawn);
  std::vector<std::size_t> edges;
  if (walked.number[1] == kNone) return edges;
  for (std::size_t v = 1; v != 0; v = walked.up[v]) {
    if (walked.low[v] > walked.number[walked.up[v]]) edges.push_back(walked.up_edge[v]);
  }
  std::reverse(edges.begin(), edges.end());
  return edges;
}

std::vector<std::size_t> minimum_cut(const PieceGraph& piece, const std::vector<std::size_t>& from,
                                     const std::vector<std::size_t>& to) {
  const Drawn drawn(piece, from, to);
  if (!drawn.apart || from.empty() || to.empty()) return {};
  return Flow(piece, drawn).cut();
}

}  // namespace isthmus::expect
