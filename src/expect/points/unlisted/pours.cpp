// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <map>

#include "expect/faults/pads.hpp"
#include "expect/points/unlisted/finds.hpp"

namespace isthmus::expect {
namespace {

using formats::Object;
using formats::ObjectKind;

constexpr Nanometres kLobe = 2500_um;

class Pours {
 public:
  explicit Pours(Finds& finds)
      : finds_(finds), ground_(finds.ground()), graph_(*finds.ground().conductors) {
    find_joins();
  }

  void pours() {
    for (std::size_t i = 0; i < ground_.copper.islands.size(); ++i) {
      const std::size_t layer = index(ground_.copper.islands[i].layer);
      const auto island = static_cast<IslandId>(i);
      if (!finds_.outer(layer) || !finds_.padded(island)) continue;
      lobes(island, layer);
    }
    for (std::size_t l = 0; l < ground_.layers(); ++l) {
      if (!finds_.outer(l)) continue;
      for (const Object& o : ground_.design.copper[l].objects) {
        if (o.dark && o.kind == ObjectKind::region && !o.shape.empty() &&
            extent_of(o) >= kLeastArea)
          area(o, l);
      }
    }
  }

  // Copper that only joins lie on, beside another way between two of them: no reading through the
  // joins tells whether it is on.
  void second_ways() {
    for (std::size_t i = 0; i < ground_.copper.islands.size(); ++i) {
      const auto island = static_cast<IslandId>(i);
      const std::size_t layer = index(ground_.copper.islands[i].layer);
      if (!finds_.outer(layer) || joins_on_[i].size() < 2) continue;
      const bool pads =
          finds_.any_on(island, layer, [&](const Pad& pad) { return !is_joined(pad); });
      if (!pads && doubled(island)) take_middle(island, layer);
    }
  }

 private:
  void find_joins() {
    joins_on_.resize(ground_.copper.islands.size());
    const auto& joins = finds_.holes().joins;
    for (std::size_t j = 0; j < joins.size(); ++j) {
      if (!joins[j].conducts) continue;
      for (const IslandId i : joins[j].islands) joins_on_[index(i)].push_back(j);
    }
    if (!joins_count(ground_.stage())) return;
    const auto links = find_links(ground_);
    if (!links) return;
    for (const Link& link : *links) links_.emplace_back(link.from, link.to);
  }

  [[nodiscard]] bool is_joined(const Pad& pad) const {
    return pad.hole && finds_.holes().joins[*pad.hole].conducts;
  }

  // Whether two joins of the island hang together without it.
  [[nodiscard]] bool doubled(IslandId island) const {
    const auto& mine = joins_on_[index(island)];
    if (mine.size() < 2) return false;
    const auto& joins = finds_.holes().joins;
    const std::size_t islands = ground_.copper.islands.size();
    Sets sets(islands + joins.size());
    for (std::size_t j = 0; j < joins.size(); ++j) {
      if (!joins[j].conducts) continue;
      for (const IslandId i : joins[j].islands) {
        if (i != island) sets.unite(islands + j, index(i));
      }
    }
    for (const auto& [a, b] : links_) {
      if (a != island && b != island) sets.unite(index(a), index(b));
    }
    std::vector<std::size_t> roots;
    for (const std::size_t j : mine) roots.push_back(sets.find(islands + j));
    std::ranges::sort(roots);
    return std::ranges::adjacent_find(roots) != roots.end();
  }

  template <class Take>
  void for_branches(IslandId island, Take take) const {
    const auto [first, last] = graph_.of_island[index(island)];
    for (std::size_t n = first; n < last; ++n) {
      for (const std::size_t b : graph_.at_node[n]) {
        if (graph_.branches[b].a == n) take(graph_.branches[b]);
      }
    }
  }

  // Clear of the holes first, then the widest.
  void take_middle(IslandId island, std::size_t layer) {
    constexpr Nanometres kClear = 1_mm;
    const copper::Branch* best = nullptr;
    std::pair<std::int64_t, std::int64_t> best_rank;
    for_branches(island, [&](const copper::Branch& b) {
      std::int64_t clear = kClear.value;
      for (const std::size_t j : joins_on_[index(island)]) {
        const Join& join = finds_.holes().joins[j];
        const double away = distance_to_axis(ground_.design, join, b.narrowest) -
                            static_cast<double>(join.diameter.value) / 2;
        clear = std::min(clear, static_cast<std::int64_t>(away));
      }
      const std::pair rank{clear, b.width.value};
      if (!best || rank > best_rank) best = &b, best_rank = rank;
    });
    if (best) finds_.take_bare(layer, best->narrowest, {0});
  }

  // Bodies of copper as wide as a pour, parted by necks.
  void lobes(IslandId island, std::size_t layer) {
    const std::size_t first = graph_.of_island[index(island)].first;
    Sets wide(graph_.of_island[index(island)].second - first);
    std::vector<const copper::Branch*> branches;
    for_branches(island, [&](const copper::Branch& b) {
      if (b.width <= kTrackWidth) return;
      wide.unite(b.a - first, b.b - first);
      branches.push_back(&b);
    });
    if (branches.empty()) return;
    std::map<std::size_t, const copper::Branch*> widest;
    for (const copper::Branch* b : branches) {
      const copper::Branch*& best = widest[wide.find(b->a - first)];
      if (!best || b->width > best->width) best = b;
    }
    const auto main =
        std::ranges::max_element(widest, {}, [](const auto& body) { return body.second->width; });
    for (const auto& lobe : widest) {
      const std::size_t body = lobe.first;
      const copper::Branch* branch = lobe.second;
      // Lesser lobes of a pour are loose copper.
      if (branch->width < kLobe && body != main->first) continue;
      const auto lies_on = [&](const Pad& pad) {
        return wide.find(copper::nearest_node(graph_, island, pad.at) - first) == body;
      };
      if (!finds_.any_on(island, layer, lies_on)) finds_.take_bare(layer, branch->narrowest, {0});
    }
  }

  // A drawn area that no pad of its copper lies on: its widest place.
  void area(const Object& o, std::size_t layer) {
    std::vector<IslandId> island;  // its first corner may have been cleared away
    for (const Position corner : o.shape.front().outer) {
      if (island.empty()) island = ground_.index.near(ground_.layer(layer), corner, {0});
    }
    if (island.empty() || !finds_.padded(island.front())) return;
    const auto lies_on = [&](const Pad& pad) { return finds_.stands(pad) && holds(o, pad.at); };
    if (finds_.any_on(island.front(), layer, lies_on)) return;
    const copper::Branch* widest = nullptr;
    for_branches(island.front(), [&](const copper::Branch& b) {
      if (holds(o, b.narrowest) && (!widest || b.width > widest->width)) widest = &b;
    });
    if (widest) finds_.take_bare(layer, widest->narrowest, {0});
  }

  Finds& finds_;
  const Ground& ground_;
  const copper::ConductorGraph& graph_;
  std::vector<std::vector<std::size_t>> joins_on_;  // by island: joins that conduct
  std::vector<std::pair<IslandId, IslandId>> links_;
};

}  // namespace

void find_pours(Finds& finds) {
  if (finds.ground().conductors) Pours(finds).pours();
}

void find_second_ways(Finds& finds) {
  if (finds.ground().conductors) Pours(finds).second_ways();
}

}  // namespace isthmus::expect
