// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <utility>

#include "expect/breaks/cut.hpp"
#include "expect/breaks/piece_graph.hpp"
#include "isthmus/base/ensure.hpp"

namespace isthmus::expect {
namespace {

Position halfway(const std::vector<Position>& path) {
  double total = 0;
  for (std::size_t i = 1; i < path.size(); ++i) total += distance_nm(path[i - 1], path[i]);
  double left = total / 2;
  for (std::size_t i = 1; i < path.size(); ++i) {
    const double step = distance_nm(path[i - 1], path[i]);
    if (step >= left && step > 0) {
      const Position d = path[i] - path[i - 1];
      const double t = left / step;
      return {path[i - 1].x + std::llround(t * static_cast<double>(d.x)),
              path[i - 1].y + std::llround(t * static_cast<double>(d.y))};
    }
    left -= step;
  }
  return path.front();
}

// Stretches and joins of a piece as breaks.
class Breaker {
 public:
  Breaker(const PieceGraph& piece, std::vector<bool> pointed)
      : piece_(piece), pointed_(std::move(pointed)) {
    drop_dead_ends();
  }

  // The chain of copper through this edge, up to places where current can branch or a probe
  // touches.
  std::vector<std::size_t> chain_of(std::size_t edge) const {
    std::vector<std::size_t> back = follow(edge, piece_.edges[edge].a);
    const std::vector<std::size_t> ahead = follow(edge, piece_.edges[edge].b);
    std::reverse(back.begin(), back.end());
    back.push_back(edge);
    for (std::size_t e : ahead) {
      if (std::find(back.begin(), back.end(), e) == back.end()) back.push_back(e);
    }
    return back;
  }

  Break break_of(const std::vector<std::size_t>& chain) const {
    const PieceEdge& e = piece_.edges[chain[0]];
    switch (e.kind) {
      case PieceEdge::Kind::foot:
        return join_break(e.of);
      case PieceEdge::Kind::link:
        return link_break(e.of);
      case PieceEdge::Kind::copper:
        break;
    }
    return stretch_break(chain);
  }

  // Edges that lead from one touched place to another.
  [[nodiscard]] bool live(std::size_t edge) const { return !dead_[edge]; }

 private:
  void drop_dead_ends() {
    dead_.assign(piece_.edges.size(), false);
    degree_.assign(piece_.size(), 0);
    for (const PieceEdge& e : piece_.edges) {
      if (e.a != e.b) ++degree_[e.a], ++degree_[e.b];
    }
    std::vector<std::size_t> tips;
    for (std::size_t n = 0; n < degree_.size(); ++n) {
      if (degree_[n] == 1) tips.push_back(n);
    }
    while (!tips.empty()) {
      const std::size_t n = tips.back();
      tips.pop_back();
      if (degree_[n] != 1 || pointed_[n]) continue;
      for (std::size_t e : piece_.at_node[n]) {
        if (dead_[e] || piece_.edges[e].a == piece_.edges[e].b) continue;
        dead_[e] = true;
        const std::size_t o = piece_.edges[e].other(n);
        --degree_[n];
        if (--degree_[o] == 1) tips.push_back(o);
      }
    }
  }

  std::vector<std::size_t> follow(std::size_t edge, std::size_t node) const {
    std::vector<std::size_t> edges;
    if (piece_.edges[edge].kind != PieceEdge::Kind::copper) return edges;
    const std::size_t start = edge;
    while (degree_[node] == 2 && !pointed_[node]) {
      std::optional<std::size_t> next;
      for (std::size_t e : piece_.at_node[node]) {
        const PieceEdge& candidate = piece_.edges[e];
        if (e != edge && !dead_[e] && candidate.a != candidate.b &&
            candidate.kind == PieceEdge::Kind::copper)
          next = e;
      }
      if (!next || *next == start) break;
      edges.push_back(*next);
      edge = *next;
      node = piece_.edges[edge].other(node);
    }
    return edges;
  }

  [[nodiscard]] const copper::Branch& branch(std::size_t edge) const {
    return piece_.board.conductors.branches[piece_.edges[edge].of];
  }

  Break stretch_break(const std::vector<std::size_t>& chain) const {
    Break b;
    std::size_t at = piece_.edges[chain[0]].a;
    if (chain.size() > 1) {
      const PieceEdge &first = piece_.edges[chain[0]], &second = piece_.edges[chain[1]];
      if (first.a == second.a || first.a == second.b) at = first.b;
    }
    for (std::size_t e : chain) {
      std::vector<Position> path = branch(e).path;
      if (piece_.edges[e].a != at) std::reverse(path.begin(), path.end());
      at = piece_.edges[e].other(at);
      for (Position p : path) {
        if (b.path.empty() || b.path.back() != p) b.path.push_back(p);
      }
      b.weight += branch(e).squares;
    }
    std::size_t thinnest = chain[0];
    for (std::size_t e : chain) {
      if (branch(e).width < branch(thinnest).width) thinnest = e;
    }
    b.width = branch(thinnest).width;
    b.at = middle_of_narrow(chain, b);
    b.layer =
        piece_.board.copper.island(piece_.board.conductors.nodes[branch(chain[0]).a].island).layer;
    b.side = side_of(b.layer, piece_.board.copper.layers);
    return b;
  }

  // Of the parts that are about as narrow the one nearest the middle of the stretch.
  Position middle_of_narrow(const std::vector<std::size_t>& chain, const Break& b) const {
    const Position middle = halfway(b.path);
    std::optional<Position> best;
    for (std::size_t e : chain) {
      if (static_cast<double>(branch(e).width.value) > 1.02 * static_cast<double>(b.width.value))
        continue;
      const Position p = branch(e).narrowest;
      if (!best || distance_nm(p, middle) < distance_nm(*best, middle)) best = p;
    }
    return *best;
  }

  Break join_break(std::size_t join) const {
    Break b;
    b.kind = Break::Kind::join;
    b.at = piece_.board.expectation.joins[join].at;
    b.path = {b.at};
    b.side = Side::both;
    b.weight = kJoinWeight;
    b.join = join;
    return b;
  }

  Break link_break(std::size_t link) const {
    const Link& l = piece_.board.expectation.links[link];
    Break b;
    b.path = {l.from_at, l.to_at};
    b.at = l.from_at;
    b.layer = piece_.board.copper.island(l.from).layer;
    b.side = side_of(b.layer, piece_.board.copper.layers);
    b.weight = kJoinWeight;
    return b;
  }

  const PieceGraph& piece_;
  std::vector<bool> pointed_, dead_;
  std::vector<int> degree_;
};

std::vector<Break> ordered(std::vector<Break> breaks) {
  std::stable_sort(breaks.begin(), breaks.end(), [](const Break& l, const Break& r) {
    if (l.weight != r.weight) return l.weight > r.weight;
    return l.at < r.at;
  });
  return breaks;
}

// The breaks of these edges: chains and joins once each.
std::vector<Break> breaks_at(const PieceGraph& piece, const Breaker& breaker,
                             const std::vector<std::size_t>& edges) {
  std::vector<bool> done(piece.edges.size(), false);
  std::map<std::size_t, bool> join_done;
  std::vector<Break> breaks;
  for (std::size_t e : edges) {
    if (done[e]) continue;
    if (piece.edges[e].kind == PieceEdge::Kind::foot &&
        std::exchange(join_done[piece.edges[e].of], true))
      continue;
    const std::vector<std::size_t> chain = breaker.chain_of(e);
    for (std::size_t c : chain) done[c] = true;
    breaks.push_back(breaker.break_of(chain));
  }
  return breaks;
}

std::vector<bool> touched(const PieceGraph& piece, GroupId group) {
  std::vector<bool> pointed(piece.size(), false);
  for (PointId p : piece.board.expectation.group(group).points) {
    for (std::size_t n : piece.nodes_of({p, Side::both})) pointed[n] = true;
  }
  return pointed;
}

std::vector<Touch> on_both(const std::vector<PointId>& points) {
  std::vector<Touch> touches;
  for (PointId p : points) touches.push_back({p, Side::both});
  return touches;
}

}  // namespace

std::vector<Break> breaks_between(const Board& board, const std::vector<Touch>& one,
                                  const std::vector<Touch>& other) {
  if (one.empty() || other.empty()) return {};
  const auto group = board.expectation.point(one[0].point).group;
  if (!group) return {};
  for (const std::vector<Touch>* set : {&one, &other}) {
    for (const Touch& t : *set) {
      const auto& its = board.expectation.point(t.point).group;
      // Tied nets share their copper.
      if (!its || board.expectation.group(*its).islands != board.expectation.group(*group).islands)
        return {};
    }
  }
  const PieceGraph piece(board, *group);
  std::vector<bool> pointed = touched(piece, *group);
  std::vector<std::size_t> from, to;
  for (const Touch& t : one) {
    for (std::size_t n : piece.nodes_of(t)) from.push_back(n), pointed[n] = true;
  }
  for (const Touch& t : other) {
    for (std::size_t n : piece.nodes_of(t)) to.push_back(n), pointed[n] = true;
  }
  const Breaker breaker(piece, std::move(pointed));
  std::vector<std::size_t> edges = separating_edges(piece, from, to);
  if (!edges.empty()) return ordered(breaks_at(piece, breaker, edges));
  edges = minimum_cut(piece, from, to);
  std::vector<Break> breaks = breaks_at(piece, breaker, edges);
  for (Break& b : breaks) b.weight /= static_cast<double>(breaks.size());
  return ordered(std::move(breaks));
}

std::vector<Break> breaks_between(const Board& board, const std::vector<PointId>& one,
                                  const std::vector<PointId>& other) {
  return breaks_between(board, on_both(one), on_both(other));
}

std::vector<Break> breaks_of(const Board& board, GroupId group) {
  const PieceGraph piece(board, group);
  const Breaker breaker(piece, touched(piece, group));
  std::vector<std::size_t> edges;
  for (std::size_t e = 0; e < piece.edges.size(); ++e) {
    if (breaker.live(e)) edges.push_back(e);
  }
  return ordered(breaks_at(piece, breaker, edges));
}

}  // namespace isthmus::expect
