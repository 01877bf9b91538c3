// SPDX-License-Identifier: Apache-2.0
#include "expect/faults/layout.hpp"

#include <algorithm>
#include <map>
#include <set>

#include "expect/faults/pads.hpp"
#include "expect/sight.hpp"

namespace isthmus::expect::faults {
namespace {

class Layer {
 public:
  Layer(const Board& board, FaultList& list)
      : board_(board), list_(list), axis_(board.conductors.nodes.size()) {}

  Layout run() {
    find_pieces();
    draw_pads_together();
    add_copper();
    add_joins();
    add_links();
    place_points();
    find_kin();
    find_wide();
    return std::move(out_);
  }

 private:
  [[nodiscard]] bool counts(IslandId i) const {
    return is_etched(board_.expectation.stage, board_.copper.island(i).layer, board_.copper.layers);
  }
  [[nodiscard]] std::size_t islands() const { return board_.copper.islands.size(); }

  void find_pieces() {
    Sets sets(islands());
    const auto join = [&](IslandId a, IslandId b) { sets.unite(index(a), index(b)); };
    for (const Join& j : board_.expectation.joins) {
      if (!j.conducts) continue;
      for (const IslandId i : j.islands) join(j.islands.front(), i);
    }
    if (joins_count(board_.expectation.stage)) {
      for (const Link& l : board_.expectation.links) join(l.from, l.to);
    }
    piece_of_.assign(islands(), kNone);
    for (std::size_t i = 0; i < islands(); ++i) {
      if (!counts(static_cast<IslandId>(i))) continue;
      const Index root = sets.find(i);
      if (piece_of_[root] == kNone) {
        piece_of_[root] = static_cast<Index>(list_.islands_of_piece.size());
        list_.islands_of_piece.emplace_back();
      }
      piece_of_[i] = piece_of_[root];
      list_.islands_of_piece[piece_of_[i]].push_back(static_cast<IslandId>(i));
    }
    list_.groups_of_piece.resize(list_.islands_of_piece.size());
    for (std::size_t g = 0; g < board_.expectation.groups.size(); ++g) {
      const Group& group = board_.expectation.groups[g];
      const Index piece = piece_of_[index(group.islands.front())];
      if (piece != kNone) list_.groups_of_piece[piece].push_back(static_cast<GroupId>(g));
    }
  }

  [[nodiscard]] Index axis_node(IslandId island, Position p) const {
    return static_cast<Index>(nearest_in_sight(board_.copper, board_.conductors, island, p));
  }

  // Not a bare place of a pour: that is the pour.
  static bool stands_alone(const Point& point) {
    return !point.unlisted || point.join || point.size.value > 0;
  }

  // Nodes of a flashed pad round a point, and the node the point belongs to, are one. So is copper as
  // wide as a pour, but for its pads: what is between two of them is told by reading them.
  void draw_pads_together() {
    std::vector<bool> padded(board_.conductors.nodes.size(), false);
    for (const formats::LayerImage& image : board_.design.copper) flashes_.emplace_back(image);
    for (const Point& point : board_.expectation.points) {
      for (std::size_t l = 0; l < point.islands.size(); ++l) {
        const auto island = point.islands[l];
        if (!island || !counts(*island)) continue;
        const Index middle = axis_node(*island, point.at);
        const formats::Object* pad = flashes_[l].under(point.at);
        const bool own = stands_alone(point);
        if (own) padded[middle] = true;
        if (!pad) continue;
        const auto [first, last] = board_.conductors.of_island[index(*island)];
        for (std::size_t n = first; n < last; ++n) {
          const Position at = board_.conductors.nodes[n].at;
          if (distance_nm(at, point.at) > static_cast<double>(kPadSpan.value) || !holds(*pad, at) ||
              parted(*island, point.at, at))
            continue;
          axis_.unite(middle, n);
          if (own) padded[n] = true;
        }
      }
    }
    for (const copper::Branch& b : board_.conductors.branches) {
      if (b.width > kTrackWidth && !padded[b.a] && !padded[b.b]) axis_.unite(b.a, b.b);
    }
  }

  // Whether both lie on copper, and something is left out between them: a pad may be split.
  [[nodiscard]] bool parted(IslandId island, Position a, Position b) const {
    const copper::Island& copper = board_.copper.island(island);
    return locate(a, copper) != Where::outside && !sees(copper, a, b);
  }

  Index add_node(Index piece, Position at, std::optional<IslandId> island) {
    list_.wiring.nodes.push_back({piece, false, false});
    list_.place_of_node.push_back(at);
    list_.island_of_node.push_back(island);
    return static_cast<Index>(list_.wiring.nodes.size() - 1);
  }

  void add_edge(Index a, Index b, Layout::Kind kind, std::size_t of) {
    if (a == b) return;
    list_.wiring.edges.push_back({a, b, kNone, kind != Layout::Kind::copper});
    out_.from.push_back({kind, of});
  }

  void add_copper() {
    out_.of_axis.assign(board_.conductors.nodes.size(), kNone);
    for (Index p = 0; p < list_.islands_of_piece.size(); ++p) {
      for (const IslandId island : list_.islands_of_piece[p]) add_island(p, island);
    }
  }

  void add_island(Index piece, IslandId island) {
    const auto [first, last] = board_.conductors.of_island[index(island)];
    for (std::size_t n = first; n < last; ++n) {
      const Index root = axis_.find(n);
      if (out_.of_axis[root] == kNone)
        out_.of_axis[root] = add_node(piece, board_.conductors.nodes[root].at, island);
      out_.of_axis[n] = out_.of_axis[root];
    }
    for (std::size_t n = first; n < last; ++n) {
      for (const std::size_t b : board_.conductors.at_node[n]) {
        const copper::Branch& branch = board_.conductors.branches[b];
        if (branch.a == n)
          add_edge(out_.of_axis[branch.a], out_.of_axis[branch.b], Layout::Kind::copper, b);
      }
    }
  }

  void add_joins() {
    const auto& joins = board_.expectation.joins;
    out_.of_join.resize(joins.size());
    std::vector<std::size_t> uses(islands(), 0);
    for (std::size_t j = 0; j < joins.size(); ++j) {
      if (!joins[j].conducts) continue;
      const Index piece = piece_of_[index(joins[j].islands.front())];
      out_.of_join[j] = add_node(piece, joins[j].at, std::nullopt);
      for (const IslandId i : joins[j].islands) {
        ++uses[index(i)];
        add_edge(*out_.of_join[j], out_.of_axis[axis_node(i, joins[j].at)], Layout::Kind::foot, j);
      }
    }
    find_lone(uses);
  }

  // A ring that leads nowhere but into its own hole: one join, no link, no other point.
  void find_lone(std::vector<std::size_t> uses) {
    for (const Link& l : board_.expectation.links) uses[index(l.from)] += 2, uses[index(l.to)] += 2;
    std::vector<std::set<std::optional<std::size_t>>> points(islands());
    for (const Point& p : board_.expectation.points) {
      for (const auto& island : p.islands) {
        if (island) points[index(*island)].insert(p.join);
      }
    }
    for (std::size_t i = 0; i < islands(); ++i) {
      const bool others = points[i].size() > 1 || points[i].contains(std::nullopt);
      out_.lone.push_back(uses[i] == 1 && !others && !pours(static_cast<IslandId>(i)));
    }
  }

  // Whether the island has as much copper as a small pour beside the flashed ring of its one join:
  // then it leads on, drawn as an area or hatched.
  [[nodiscard]] bool pours(IslandId island) const {
    constexpr double kLeastPour = 4e12;  // nm2: 2 by 2 mm
    const auto& joins = board_.expectation.joins;
    const auto join = std::ranges::find_if(joins, [&](const Join& j) {
      return j.conducts && std::ranges::find(j.islands, island) != j.islands.end();
    });
    if (join == joins.end()) return false;
    const copper::Island& copper = board_.copper.island(island);
    const formats::Object* ring = flashes_[index(copper.layer)].under(join->at);
    double of_ring = 0;
    if (ring) {
      for (const Polygon& p : ring->shape) of_ring += area_nm2(p);
    }
    return copper.area_nm2 - of_ring >= kLeastPour;
  }

  void add_links() {
    if (!joins_count(board_.expectation.stage)) return;
    for (std::size_t l = 0; l < board_.expectation.links.size(); ++l) {
      const Link& link = board_.expectation.links[l];
      add_edge(out_.of_axis[axis_node(link.from, link.from_at)],
               out_.of_axis[axis_node(link.to, link.to_at)], Layout::Kind::link, l);
    }
  }

  void place_points() {
    const auto& points = board_.expectation.points;
    list_.top_node.assign(points.size(), kNone);
    list_.bottom_node.assign(points.size(), kNone);
    list_.points_of_node.resize(list_.wiring.nodes.size());
    for (std::size_t i = 0; i < points.size(); ++i) {
      for (const bool top : {true, false}) {
        const auto island = top ? points[i].islands.front() : points[i].islands.back();
        if (!island || !counts(*island) || (!top && board_.copper.layers < 2)) continue;
        const Index node = out_.of_axis[axis_node(*island, points[i].at)];
        (top ? list_.top_node : list_.bottom_node)[i] = node;
        list_.wiring.nodes[node].place = true;
        list_.points_of_node[node].push_back(static_cast<PointId>(i));
      }
    }
  }

  void find_wide() {
    out_.wide.assign(list_.wiring.nodes.size(), false);
    for (const copper::Branch& b : board_.conductors.branches) {
      const Index node = out_.of_axis[b.a];
      if (b.width > kTrackWidth && node != kNone && node == out_.of_axis[b.b])
        out_.wide[node] = true;
    }
  }

  // Pieces of one net, and of nets that are tied, may conduct to each other.
  void find_kin() {
    const auto& groups = list_.groups_of_piece;
    std::map<std::pair<std::string, std::string>, Index> known;
    for (Index p = 0; p < groups.size(); ++p) {
      Index kin = p + static_cast<Index>(groups.size());
      if (!groups[p].empty()) {
        const Group& g = board_.expectation.group(groups[p].front());
        kin = known.try_emplace({g.net, g.net_full}, kin).first->second;
      }
      list_.wiring.kin.push_back(kin);
    }
    if (board_.design.board.net_ties.empty()) return;
    for (Index p = 0; p < groups.size(); ++p) {
      for (Index q = p + 1; q < groups.size(); ++q) {
        if (!groups[p].empty() && !groups[q].empty() && tied(groups[p], groups[q]))
          list_.wiring.tied.emplace_back(p, q);
      }
    }
  }

  [[nodiscard]] bool tied(const std::vector<GroupId>& as, const std::vector<GroupId>& bs) const {
    return std::ranges::all_of(as, [&](GroupId a) {
      return std::ranges::all_of(bs, [&](GroupId b) { return may_conduct(board_, a, b); });
    });
  }

  const Board& board_;
  FaultList& list_;
  Sets axis_;
  std::vector<Index> piece_of_;       // by island
  std::vector<FlashedPads> flashes_;  // by layer
  Layout out_;
};

}  // namespace

Layout lay_wiring(const Board& board, FaultList& list) { return Layer(board, list).run(); }

namespace {

// Inner copper, which no probe reaches. While nothing is joined it is what the joins will rest on;
// then a pour must hang on one of them.
class Inner {
 public:
  Inner(const Board& board, const Layout& layout, FaultList& list)
      : board_(board), layout_(layout), list_(list) {}

  void mark() {
    for (const Join& join : board_.expectation.joins) {
      for (const IslandId island : join.islands) {
        const std::size_t layer = index(board_.copper.island(island).layer);
        if (layer == 0 || layer + 1 == board_.copper.layers) continue;
        if (!joins_count(board_.expectation.stage))
          mark(nearest_in_sight(board_.copper, board_.conductors, island, join.at));
        else if (join.conducts)
          mark_pour(island);
      }
    }
  }

 private:
  void mark(std::size_t axis) {
    const Index node = layout_.of_axis[axis];
    if (node != kNone) list_.wiring.nodes[node].feature = true;
  }

  void mark_pour(IslandId island) {
    const copper::ConductorGraph& graph = board_.conductors;
    const copper::Branch* widest = nullptr;
    const auto [first, last] = graph.of_island[index(island)];
    for (std::size_t n = first; n < last; ++n) {
      for (const std::size_t b : graph.at_node[n]) {
        if (!widest || graph.branches[b].width > widest->width) widest = &graph.branches[b];
      }
    }
    if (widest && widest->width > kTrackWidth) mark(widest->a);
  }

  const Board& board_;
  const Layout& layout_;
  FaultList& list_;
};

}  // namespace

void mark_features(const Board& board, const Layout& layout, FaultList& list) {
  const auto mark = [&](std::uint32_t node) {
    if (node != kNone) list.wiring.nodes[node].feature = true;
  };
  const auto& e = board.expectation;
  std::vector<std::size_t> points_on(board.copper.islands.size(), 0);
  for (const Point& p : e.points) {
    for (const auto& island : p.islands) {
      if (island) ++points_on[index(*island)];
    }
  }
  // A via that is all there is at the end of some copper.
  const auto ends_at = [&](const Point& p) {
    return std::ranges::any_of(
        p.islands, [&](const auto& island) { return island && points_on[index(*island)] == 1; });
  };
  for (std::size_t i = 0; i < e.points.size(); ++i) {
    const Point& p = e.points[i];
    const bool joined = p.join && e.joins[*p.join].conducts;
    // A via between two stretches of copper is proven by what lies beyond it.
    if (p.waived || (joined && p.via && !p.required && !ends_at(p))) continue;
    const auto leads_on = [&](const std::optional<IslandId>& island) {
      return island && !(joined && layout.lone[index(*island)]);
    };
    const bool top = leads_on(p.islands.front()), bottom = leads_on(p.islands.back());
    if (top || !bottom) mark(list.top_node[i]);
    if (bottom) mark(list.bottom_node[i]);
  }
  for (Index n = 0; n < layout.wide.size(); ++n) {
    if (layout.wide[n] && list.wiring.nodes[n].place) mark(n);
  }
  Inner(board, layout, list).mark();
}

}  // namespace isthmus::expect::faults
