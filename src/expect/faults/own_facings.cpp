// SPDX-License-Identifier: Apache-2.0
// Where a net faces itself on the two sides of a possible break.
#include <algorithm>
#include <map>

#include "expect/faults/layout.hpp"

namespace isthmus::expect::faults {
namespace {

// The copper between must be as many times as long as the way across: a corner does not face
// itself, a hairpin does whose legs are as long as they are apart. A choice of ours.
constexpr double kRound = 3;

class OwnFacings {
 public:
  OwnFacings(const Board& board, const Layout& layout, const FaultList& list)
      : board_(board), layout_(layout), list_(list), wiring_(list.wiring), graph_(wiring_) {
    for (Index p = 0; p < list.islands_of_piece.size(); ++p) {
      for (const IslandId i : list.islands_of_piece[p]) piece_of_[i] = p;
    }
  }

  // Nodes of one piece that face each other.
  std::vector<std::pair<Index, Index>> run() {
    walk_all();
    for (const copper::OwnFacing& f :
         copper::find_own_facings(board_.copper, board_.design.board.limits.window, can_break()))
      take(f);
    for (const copper::Gap& gap : board_.gaps) {
      if (gap.a != gap.b && piece_of_.contains(gap.a) && piece_of_.contains(gap.b) &&
          piece_of_[gap.a] == piece_of_[gap.b])
        take(gap);
    }
    std::ranges::sort(out_);
    out_.erase(std::unique(out_.begin(), out_.end()), out_.end());
    return std::move(out_);
  }

 private:
  // By island: whether it has breaks that part it. Of others nothing can be bridged round.
  [[nodiscard]] std::vector<bool> can_break() const {
    std::vector<bool> out(board_.copper.islands.size(), false);
    for (const Wiring::Edge& e : wiring_.edges) {
      if (e.entry == kNone || e.join || block_[e.a] == block_[e.b]) continue;
      if (const auto island = list_.island_of_node[e.a]) out[index(*island)] = true;
    }
    return out;
  }

  // Depth-first, as far as breaks go: `block_` numbers the copper that no single one parts.
  void walk_all() {
    const std::size_t nodes = wiring_.nodes.size();
    Walk walk(graph_, nodes);
    const std::vector<bool> all(wiring_.edges.size(), true);
    block_.assign(nodes, kNone);
    above_.assign(nodes, kNone);
    depth_.assign(nodes, 0);
    length_.assign(nodes, 0);
    for (Index p = 0; p < graph_.pieces(); ++p) {
      if (graph_.nodes_of(p).empty()) continue;
      walk.run(graph_.nodes_of(p).front(), all);
      for (const Index n : walk.order()) {
        if (walk.up(n) == kNone || walk.cut_edge(n)) {
          block_[n] = n;
          if (walk.up(n) == kNone) continue;
          above_[n] = block_[walk.up(n)];
          depth_[n] = depth_[above_[n]] + 1;
          length_[n] = length_of(walk.up_edge(n));
        } else {
          block_[n] = block_[walk.up(n)];
        }
      }
    }
  }

  [[nodiscard]] double length_of(Index edge) const {
    const Layout::From& from = layout_.from[edge];
    if (from.kind != Layout::Kind::copper) return 0;
    const auto& path = board_.conductors.branches[from.of].path;
    double length = 0;
    for (std::size_t i = 0; i + 1 < path.size(); ++i) length += distance_nm(path[i], path[i + 1]);
    return length;
  }

  void take(const copper::OwnFacing& f) {
    if (!piece_of_.contains(f.island)) return;
    const std::size_t here = copper::nearest_node(board_.conductors, f.island, f.on_a);
    const std::size_t there = copper::nearest_node(board_.conductors, f.island, f.on_b);
    const Index a = layout_.of_axis[here], b = layout_.of_axis[there];
    const double across = f.distance_nm + std::min(width_at(here), width_at(there));
    if (block_[a] != block_[b] && copper_between(a, b, kRound * across))
      out_.push_back(std::minmax(a, b));
  }

  // Of one net by way of a hole: where the islands come closest.
  void take(const copper::Gap& gap) {
    for (const copper::Facing& f : gap.facings) {
      if (f.shielded) continue;
      const Index a =
          layout_
              .of_axis[copper::nearest_node(board_.conductors, gap.a, gap.foot_a.value_or(f.on_a))];
      const Index b =
          layout_
              .of_axis[copper::nearest_node(board_.conductors, gap.b, gap.foot_b.value_or(f.on_b))];
      if (block_[a] != block_[b]) out_.push_back(std::minmax(a, b));
    }
  }

  [[nodiscard]] double width_at(std::size_t axis) const {
    Nanometres narrowest{INT64_MAX};
    for (const std::size_t b : board_.conductors.at_node[axis])
      narrowest = std::min(narrowest, board_.conductors.branches[b].width);
    return narrowest.value == INT64_MAX ? 0 : static_cast<double>(narrowest.value);
  }

  // Whether what could break between two nodes is at least that long.
  [[nodiscard]] bool copper_between(Index a, Index b, double least) const {
    double length = 0;
    for (a = block_[a], b = block_[b]; a != b && length < least;) {
      Index& deeper = depth_[a] < depth_[b] ? b : a;
      length += length_[deeper];
      deeper = above_[deeper];
    }
    return length >= least;
  }

  const Board& board_;
  const Layout& layout_;
  const FaultList& list_;
  const Wiring& wiring_;
  Graph graph_;
  std::map<IslandId, Index> piece_of_;
  std::vector<Index> block_;          // by node
  std::vector<Index> above_, depth_;  // by block: the one it hangs on
  std::vector<double> length_;        // by block: of the copper it hangs on it by
  std::vector<std::pair<Index, Index>> out_;
};

}  // namespace

void mark_bridged_round(const Board& board, const Layout& layout, FaultList& list) {
  const auto own = OwnFacings(board, layout, list).run();
  const std::vector<bool> round = bridged_round(list.wiring, own);
  for (std::size_t e = 0; e < list.entries.size(); ++e) list.entries[e].unless_bridged = round[e];
}

}  // namespace isthmus::expect::faults
