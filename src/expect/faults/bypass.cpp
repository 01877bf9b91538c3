// SPDX-License-Identifier: Apache-2.0
// Breaks that current could pass by, over bridges within what may conduct to each other.
#include <algorithm>

#include "expect/faults/graph.hpp"

namespace isthmus::expect {
namespace faults {
namespace {

class Finder {
 public:
  Finder(const Wiring& wiring, const std::vector<std::pair<Index, Index>>& own)
      : wiring_(wiring), graph_(wiring), links_(graph_.pieces()), out_(wiring.entries, false) {
    for (const auto& [a, b] : own) add(a, b);
    add_facings();
  }

  std::vector<bool> run() {
    Walk walk(graph_, wiring_.nodes.size());
    const std::vector<bool> all(wiring_.edges.size(), true);
    slot_.assign(wiring_.nodes.size(), kNone);
    for (Index p = 0; p < graph_.pieces(); ++p) {
      if (links_[p].own.empty() && links_[p].over.empty()) continue;
      walk.run(graph_.nodes_of(p).front(), all);
      judge(walk, links_[p]);
    }
    return std::move(out_);
  }

 private:
  struct Links {
    std::vector<std::pair<Index, Index>> own;   // nodes
    std::vector<std::pair<Index, Index>> over;  // other copper, the node that faces it
  };

  void add(Index a, Index b) { links_[wiring_.nodes[a].piece].own.emplace_back(a, b); }

  // Copper that nothing must stay on is no net's: bridged to it twice, nothing else is told.
  void add_facings() {
    std::vector<bool> features(graph_.pieces(), false);
    for (const Wiring::Node& n : wiring_.nodes) {
      if (n.feature) features[n.piece] = true;
    }
    Sets bare(graph_.pieces());
    for (const Wiring::Facing& f : wiring_.facings) {
      const Index a = wiring_.nodes[f.a].piece, b = wiring_.nodes[f.b].piece;
      if (!features[a] && !features[b]) bare.unite(a, b);
    }
    for (const Wiring::Facing& f : wiring_.facings) {
      const Index a = wiring_.nodes[f.a].piece, b = wiring_.nodes[f.b].piece;
      if (a == b) {
        add(f.a, f.b);
        continue;
      }
      const bool may = wiring_.may_conduct(a, b);
      if (may || !features[b]) links_[a].over.emplace_back(bare.find(b), f.a);
      if (may || !features[a]) links_[b].over.emplace_back(bare.find(a), f.b);
    }
  }

  void judge(const Walk& walk, Links& links) {
    const auto& order = walk.order();
    for (Index i = 0; i < order.size(); ++i) slot_[order[i]] = i;
    low_.assign(order.size(), kNone);
    high_.assign(order.size(), 0);
    size_.assign(order.size(), 1);
    for (const auto& [a, b] : links.own) link(a, b);
    link_over(links.over);
    for (Index i = static_cast<Index>(order.size()); i-- > 1;) {
      const Index n = order[i], above = slot_[walk.up(n)];
      const bool leads_out = low_[i] < i || (low_[i] != kNone && high_[i] >= i + size_[i]);
      const Index entry = wiring_.edges[walk.up_edge(n)].entry;
      if (leads_out && entry != kNone && walk.cut_edge(n)) out_[entry] = true;
      low_[above] = std::min(low_[above], low_[i]);
      high_[above] = std::max(high_[above], high_[i]);
      size_[above] += size_[i];
    }
  }

  // All nodes that face the same other copper, in the order of the walk: one parted from another is
  // parted from the next.
  void link_over(std::vector<std::pair<Index, Index>>& over) {
    std::ranges::sort(over, {}, [&](const auto& o) { return std::pair(o.first, slot_[o.second]); });
    for (std::size_t i = 1; i < over.size(); ++i) {
      if (over[i].first == over[i - 1].first) link(over[i - 1].second, over[i].second);
    }
  }

  void link(Index a, Index b) {
    for (const auto& [from, to] : {std::pair(slot_[a], slot_[b]), std::pair(slot_[b], slot_[a])}) {
      low_[from] = std::min(low_[from], to);
      high_[from] = std::max(high_[from], to);
    }
  }

  const Wiring& wiring_;
  Graph graph_;
  std::vector<Links> links_;              // by piece
  std::vector<Index> slot_;               // by node: when the walk met it
  std::vector<Index> low_, high_, size_;  // by slot: first and last that it is linked to; subtree
  std::vector<bool> out_;
};

}  // namespace
}  // namespace faults

std::vector<bool> bridged_round(const Wiring& wiring,
                                const std::vector<std::pair<std::uint32_t, std::uint32_t>>& own) {
  return faults::Finder(wiring, own).run();
}

}  // namespace isthmus::expect
