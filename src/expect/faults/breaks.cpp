// SPDX-License-Identifier: Apache-2.0
// Entries of what could be lost.
#include <algorithm>
#include <map>

#include "expect/breaks/piece_graph.hpp"
#include "expect/faults/layout.hpp"

namespace isthmus::expect::faults {
namespace {

class Lister {
 public:
  Lister(const Board& board, const Layout& layout, FaultList& list)
      : board_(board),
        layout_(layout),
        list_(list),
        graph_(list.wiring),
        walk_(graph_, list.wiring.nodes.size()),
        dead_(list.wiring.nodes.size(), true),
        cut_(list.wiring.edges.size(), false),
        all_(list.wiring.edges.size(), true),
        degree_(list.wiring.nodes.size(), 0) {}

  void run() {
    for (Index p = 0; p < graph_.pieces(); ++p) piece(p);
  }

 private:
  void piece(Index p) {
    const auto& nodes = graph_.nodes_of(p);
    std::vector<Index> features;
    for (const Index n : nodes) {
      if (list_.wiring.nodes[n].feature) features.push_back(n);
    }
    if (features.size() < 2) return;
    find_dead(features.front());
    for (const Index n : nodes) {
      for (const auto& [edge, to] : graph_.at(n)) degree_[n] += live(edge);
    }
    for (const Index n : nodes) {
      for (const auto& [edge, to] : graph_.at(n)) {
        if (live(edge) && list_.wiring.edges[edge].entry == kNone) add(edge);
      }
    }
    for (const Index n : features) add_ways(n);
  }

  [[nodiscard]] bool live(Index edge) const {
    return !dead_[list_.wiring.edges[edge].a] && !dead_[list_.wiring.edges[edge].b];
  }

  // What hangs on a single edge, and has nothing that must stay on, is no break's business.
  void find_dead(Index root) {
    walk_.run(root, all_);
    const auto& order = walk_.order();
    std::map<Index, std::size_t> below;
    for (std::size_t i = order.size(); i-- > 1;) {
      const Index n = order[i];
      below[n] += list_.wiring.nodes[n].feature;
      below[walk_.up(n)] += below[n];
    }
    dead_[root] = false;
    for (const Index n : order) {
      if (n == root) continue;
      cut_[walk_.up_edge(n)] = walk_.cut_edge(n);
      dead_[n] = dead_[walk_.up(n)] || (walk_.cut_edge(n) && below[n] == 0);
    }
  }

  // Through places where nothing branches, ends, or could be touched.
  [[nodiscard]] bool passes(Index node) const {
    const Wiring::Node& n = list_.wiring.nodes[node];
    return degree_[node] == 2 && !n.feature && !n.place;
  }

  void add(Index edge) {
    switch (layout_.from[edge].kind) {
      case Layout::Kind::copper:
        return add_stretch(edge);
      case Layout::Kind::foot:
        return add_join(edge);
      case Layout::Kind::link:
        return add_link(edge);
    }
  }

  PossibleFault& entry(FaultKind kind, Index node) {
    PossibleFault f;
    f.kind = kind;
    f.piece = f.other = list_.wiring.nodes[node].piece;
    return list_.entries.emplace_back(std::move(f));
  }
  [[nodiscard]] Index last() const { return static_cast<Index>(list_.entries.size() - 1); }

  void add_join(Index edge) {
    const std::size_t j = layout_.from[edge].of;
    const Join& join = board_.expectation.joins[j];
    PossibleFault& f = entry(FaultKind::join, list_.wiring.edges[edge].a);
    f.at = join.at;
    f.path = {join.at};
    f.side = Side::both;
    f.likelihood = kJoinWeight;
    f.join = j;
    for (const auto& [foot, to] : graph_.at(*layout_.of_join[j])) {
      if (live(foot)) list_.wiring.edges[foot].entry = last();
    }
  }

  void add_link(Index edge) {
    const Link& link = board_.expectation.links[layout_.from[edge].of];
    PossibleFault& f = entry(FaultKind::link, list_.wiring.edges[edge].a);
    f.at = link.from_at;
    f.path = {link.from_at, link.to_at};
    set_layer(f, link.from);
    f.likelihood = kJoinWeight;
    list_.wiring.edges[edge].entry = last();
  }

  void set_layer(PossibleFault& f, IslandId island) const {
    f.layer = board_.copper.island(island).layer;
    f.side = side_of(f.layer, board_.copper.layers);
  }

  void add_stretch(Index edge) {
    const std::vector<Index> chain = chain_of(edge);
    PossibleFault& f = entry(FaultKind::stretch, list_.wiring.edges[edge].a);
    set_layer(f, *list_.island_of_node[list_.wiring.edges[edge].a]);
    Nanometres narrowest{INT64_MAX};
    for (const Index e : chain) {
      list_.wiring.edges[e].entry = last();
      const copper::Branch& b = board_.conductors.branches[layout_.from[e].of];
      f.likelihood += b.squares;
      if (b.width < narrowest) narrowest = b.width, f.at = b.narrowest;
    }
    f.width = narrowest;
    f.path = path_of(chain);
  }

  // In order, from one end to the other.
  std::vector<Index> chain_of(Index edge) const {
    std::vector<Index> chain = follow(edge, list_.wiring.edges[edge].a);
    std::ranges::reverse(chain);
    chain.push_back(edge);
    for (const Index e : follow(edge, list_.wiring.edges[edge].b)) {
      if (std::ranges::find(chain, e) == chain.end()) chain.push_back(e);
    }
    return chain;
  }

  std::vector<Index> follow(Index edge, Index node) const {
    std::vector<Index> chain;
    const Index start = edge;
    while (passes(node)) {
      Index next = kNone;
      for (const auto& [e, to] : graph_.at(node)) {
        if (e != edge && live(e)) next = e;
      }
      if (next == kNone || next == start || layout_.from[next].kind != Layout::Kind::copper ||
          cut_[next] != cut_[start])
        break;
      chain.push_back(next);
      node = list_.wiring.edges[next].a == node ? list_.wiring.edges[next].b
                                                : list_.wiring.edges[next].a;
      edge = next;
    }
    return chain;
  }

  std::vector<Position> path_of(const std::vector<Index>& chain) const {
    std::vector<Position> path;
    for (std::size_t i = 0; i < chain.size(); ++i) {
      const copper::Branch& b = board_.conductors.branches[layout_.from[chain[i]].of];
      std::vector<Position> way = b.path;
      if (i == 0 ? chain.size() > 1 && touches(chain[1], list_.wiring.edges[chain[0]].a)
                 : distance_nm(way.front(), path.back()) > distance_nm(way.back(), path.back()))
        std::ranges::reverse(way);
      for (const Position p : way) {
        if (path.empty() || path.back() != p) path.push_back(p);
      }
    }
    return path;
  }

  [[nodiscard]] bool touches(Index edge, Index node) const {
    return list_.wiring.edges[edge].a == node || list_.wiring.edges[edge].b == node;
  }

  void add_ways(Index node) {
    const bool parallel = std::ranges::any_of(
        graph_.at(node), [&](const Graph::End& end) { return live(end.edge) && !cut_[end.edge]; });
    if (!parallel) return;
    PossibleFault& f = entry(FaultKind::ways, node);
    f.at = list_.place_of_node[node];
    f.path = {f.at};
    if (const auto island = list_.island_of_node[node])
      set_layer(f, *island);
    else
      f.side = Side::both;
    f.likelihood = 1;
    list_.wiring.ways.push_back({node, last()});
  }

  const Board& board_;
  const Layout& layout_;
  FaultList& list_;
  Graph graph_;
  Walk walk_;
  std::vector<bool> dead_, cut_, all_;  // by node, by edge
  std::vector<std::size_t> degree_;     // live edges by node
};

}  // namespace

void list_breaks(const Board& board, const Layout& layout, FaultList& list) {
  Lister(board, layout, list).run();
}

}  // namespace isthmus::expect::faults
