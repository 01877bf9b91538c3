// SPDX-License-Identifier: Apache-2.0
// Entries of what could be joined.
#include <algorithm>
#include <set>

#include "expect/breaks/piece_graph.hpp"
#include "expect/faults/layout.hpp"
#include "expect/faults/pads.hpp"
#include "expect/sight.hpp"

namespace isthmus::expect::faults {
namespace {

constexpr double kStep = 500'000;  // nm along a facing from one look to the next

class Lister {
 public:
  Lister(const Board& board, const Layout& layout, FaultList& list)
      : board_(board), layout_(layout), list_(list), piece_(board.copper.islands.size(), kNone) {
    for (Index p = 0; p < list.islands_of_piece.size(); ++p) {
      for (const IslandId i : list.islands_of_piece[p]) piece_[isthmus::index(i)] = p;
    }
  }

  void run() {
    for (std::size_t g = 0; g < board_.gaps.size(); ++g) {
      const copper::Gap& gap = board_.gaps[g];
      const Index a = piece_[isthmus::index(gap.a)], b = piece_[isthmus::index(gap.b)];
      if (a == kNone || b == kNone || a == b) continue;
      // What may conduct is no entry, but a link of chains: a stub of one piece broken off may
      // join another piece of its net to a third that the net must not conduct to.
      const bool may = list_.wiring.may_conduct(a, b);
      for (const copper::Facing& f : gap.facings) {
        if (!may) add_entry(g, gap, f, a, b);
        add_nodes(gap, f, may ? kNone : static_cast<Index>(list_.entries.size() - 1));
      }
    }
  }

 private:
  void add_entry(std::size_t g, const copper::Gap& gap, const copper::Facing& facing, Index a,
                 Index b) {
    PossibleFault f;
    f.kind = FaultKind::bridge;
    f.piece = a;
    f.other = b;
    f.at = {(facing.on_a.x + facing.on_b.x) / 2, (facing.on_a.y + facing.on_b.y) / 2};
    f.layer = gap.layer;
    f.side = side_of(f.layer, board_.copper.layers);
    f.path = facing.path;
    f.width = {std::llround(facing.distance_nm)};
    f.likelihood = facing.weight;
    f.gap = g;
    f.waived = left_out(a) || left_out(b);
    list_.entries.push_back(std::move(f));
  }

  void add_nodes(const copper::Gap& gap, const copper::Facing& facing, Index entry) {
    std::set<std::pair<Index, Index>> done;
    const auto look = [&](Position at_a, Position at_b) {
      const Index na = node_at(gap.a, gap.foot_a.value_or(at_a));
      const Index nb = node_at(gap.b, gap.foot_b.value_or(at_b));
      if (done.insert({na, nb}).second) list_.wiring.facings.push_back({na, nb, entry});
    };
    look(facing.on_a, facing.on_b);
    for (const Position p : along(facing.path)) look(p, p);
  }

  // Every point of the piece is waived by name.
  [[nodiscard]] bool left_out(Index piece) const {
    bool any = false;
    for (const GroupId g : list_.groups_of_piece[piece]) {
      for (const PointId p : board_.expectation.group(g).points) {
        const Point& point = board_.expectation.point(p);
        if (point.unlisted) continue;
        if (!point.waived) return false;
        any = true;
      }
    }
    return any;
  }

  [[nodiscard]] Index node_at(IslandId island, Position p) const {
    return layout_.of_axis[copper::nearest_node(board_.conductors, island, p)];
  }

  static std::vector<Position> along(const std::vector<Position>& path) {
    std::vector<Position> places;
    for (std::size_t i = 0; i + 1 < path.size(); ++i) {
      const double length = distance_nm(path[i], path[i + 1]);
      const auto steps = static_cast<std::int64_t>(length / kStep) + 1;
      for (std::int64_t k = 0; k < steps; ++k) {
        places.push_back({path[i].x + (path[i + 1].x - path[i].x) * k / steps,
                          path[i].y + (path[i + 1].y - path[i].y) * k / steps});
      }
    }
    if (!path.empty()) places.push_back(path.back());
    return places;
  }

  const Board& board_;
  const Layout& layout_;
  FaultList& list_;
  std::vector<Index> piece_;  // by island
};

}  // namespace

void list_bridges(const Board& board, const Layout& layout, FaultList& list) {
  Lister(board, layout, list).run();
}

}  // namespace isthmus::expect::faults

namespace isthmus::expect {

std::string_view name(FaultKind k) {
  switch (k) {
    case FaultKind::stretch:
      return "stretch";
    case FaultKind::join:
      return "join";
    case FaultKind::link:
      return "link";
    case FaultKind::ways:
      return "ways";
    case FaultKind::bridge:
      return "bridge";
  }
  return "";
}

std::string side_name(const PossibleFault& fault, std::size_t layers) {
  const bool inner = fault.side == Side::both && !fault.join;
  return inner ? layer_name(fault.layer, layers) : std::string(isthmus::name(fault.side));
}

FaultList list_possible_faults(const Board& board) {
  FaultList list;
  faults::Layout layout = faults::lay_wiring(board, list);
  faults::mark_features(board, layout, list);
  faults::list_breaks(board, layout, list);
  faults::list_bridges(board, layout, list);
  list.wiring.entries = static_cast<std::uint32_t>(list.entries.size());
  faults::mark_bridged_round(board, layout, list);
  list.node_of_axis = std::move(layout.of_axis);
  return list;
}

std::uint32_t touched_node(const Board& board, PointId point, Side side, Position at) {
  const Point& p = board.expectation.point(point);
  const std::uint32_t own = board.faults.node_of(point, side);
  if (own == Wiring::kNone || distance_nm(at, p.at) <= static_cast<double>(kPadSpan.value))
    return own;
  if (p.islands.empty()) return own;
  const auto island = side == Side::bottom ? p.islands.back() : p.islands.front();
  if (!island) return own;
  return board.faults.node_of_axis[nearest_in_sight(board.copper, board.conductors, *island, at)];
}

}  // namespace isthmus::expect
