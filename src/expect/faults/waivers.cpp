// SPDX-License-Identifier: Apache-2.0
// Entries that board.yaml leaves out by name.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <set>

#include "expect/expectation/checks.hpp"
#include "expect/faults/pads.hpp"
#include "expect/nearest_copper.hpp"
#include "isthmus/expect/board.hpp"

namespace isthmus::expect {
namespace {

using formats::WaiveEntry;
using formats::WaiveKind;

constexpr double kHoleReach = 150'000;  // nm, as for `joins`

std::string place_text(Position p) { return "[" + text_mm(p.x) + ", " + text_mm(p.y) + "]"; }

// What a waiver names, and the entries at it; in words why there are none.
struct Named {
  Waiver waiver;
  std::vector<std::size_t> entries;
  std::string why_none;
};

class Finder {
 public:
  explicit Finder(const Board& board) : board_(board), list_(board.faults) {}

  [[nodiscard]] Result<Named> find(const WaiveEntry& w) const {
    Result<Named> named = w.kind == WaiveKind::join     ? join(w)
                          : w.kind == WaiveKind::copper ? copper(w)
                                                        : pair(w);
    if (!named) return named;
    named->waiver.kind = w.kind;
    named->waiver.why = w.why;
    return named;
  }

 private:
  [[nodiscard]] Problem nothing(const WaiveEntry& w, std::string message, std::string hint) const {
    return problem(board_.design, w, "EXP-002", std::move(message), std::move(hint));
  }
  [[nodiscard]] std::string at_stage() const {
    return fmt::format("at stage {}", name(board_.expectation.stage));
  }
  template <class Condition>
  [[nodiscard]] std::vector<std::size_t> entries(Condition condition) const {
    std::vector<std::size_t> found;
    for (std::size_t e = 0; e < list_.entries.size(); ++e) {
      if (condition(e, list_.entries[e])) found.push_back(e);
    }
    return found;
  }

  // Whose copper a piece is: its nets, and their full names; else the number it is printed by.
  [[nodiscard]] std::vector<std::string> nets_of(std::uint32_t piece) const {
    std::vector<std::string> nets;
    for (const GroupId g : list_.groups_of_piece[piece]) {
      const Group& group = board_.expectation.group(g);
      nets.push_back(group.net);
      if (!group.net_full.empty()) nets.push_back(group.net_full);
    }
    if (nets.empty())
      nets.push_back(fmt::format("#{}", index(list_.islands_of_piece[piece].front())));
    return nets;
  }
  [[nodiscard]] std::optional<std::uint32_t> piece_of(IslandId island) const {
    for (std::uint32_t p = 0; p < list_.islands_of_piece.size(); ++p) {
      if (std::ranges::find(list_.islands_of_piece[p], island) != list_.islands_of_piece[p].end())
        return p;
    }
    return std::nullopt;
  }
  [[nodiscard]] std::string net_of(IslandId island) const {
    const auto piece = piece_of(island);
    return piece ? nets_of(*piece).front() : fmt::format("#{}", index(island));
  }

  [[nodiscard]] Result<Named> join(const WaiveEntry& w) const {
    const auto& joins = board_.expectation.joins;
    const auto distance = [&](const Join& j) { return distance_to_axis(board_.design, j, w.at); };
    const auto hole = std::ranges::min_element(joins, {}, distance);
    if (hole == joins.end() || distance(*hole) > kHoleReach) {
      return nothing(
          w, fmt::format("waive names a join at {}, but no hole lies there", place_text(w.at)),
          hole == joins.end() ? "the board has no holes"
                              : "the nearest hole is at " + place_text(hole->at));
    }
    const auto j = static_cast<std::size_t>(hole - joins.begin());
    Named n;
    n.waiver.point = "join " + place_name(hole->at);
    n.waiver.at = hole->at;
    if (!hole->islands.empty()) n.waiver.net = net_of(hole->islands.front());
    n.entries = entries([&](std::size_t e, const PossibleFault& f) {
      return f.join == j || (f.kind == FaultKind::ways && ring(e, j));
    });
    n.why_none = hole->conducts ? "no copper that must stay on hangs on it"
                                : "it joins nothing " + at_stage();
    return n;
  }

  // The entry of all ways to the hole's own ring: no pour, no other hole's place, no other join.
  [[nodiscard]] bool ring(std::size_t e, std::size_t join) const {
    const auto ways = std::ranges::find(list_.wiring.ways, e, &Wiring::Ways::entry);
    if (ways == list_.wiring.ways.end()) return false;
    const auto& points = list_.points_of_node[ways->node];
    const auto of_hole = [&](PointId p) { return board_.expectation.point(p).join == join; };
    return !points.empty() && std::ranges::all_of(points, of_hole) && !is_pour(ways->node) &&
           std::ranges::all_of(list_.wiring.edges, [&](const Wiring::Edge& edge) {
             if (!edge.join || (edge.a != ways->node && edge.b != ways->node)) return true;
             const std::uint32_t other = edge.a == ways->node ? edge.b : edge.a;
             return !list_.island_of_node[other] &&
                    list_.place_of_node[other] == board_.expectation.joins[join].at;
           });
  }

  [[nodiscard]] bool is_pour(std::uint32_t node) const {
    return std::ranges::any_of(board_.conductors.branches, [&](const copper::Branch& b) {
      return b.width > kTrackWidth && list_.node_of_axis[b.a] == node;
    });
  }

  [[nodiscard]] Result<Named> copper(const WaiveEntry& w) const {
    const isthmus::copper::Copper& drawn = board_.copper;
    const std::size_t last = drawn.layers - 1;
    const std::size_t number = w.layer > 0              ? static_cast<std::size_t>(w.layer) - 1
                               : w.side == Side::bottom ? last
                                                        : 0;
    const auto layer = static_cast<LayerId>(number);
    const auto island = isthmus::copper::IslandIndex(drawn).at(layer, w.at);
    const std::string side = layer_name(layer, drawn.layers);
    if (!island) {
      return nothing(w,
                     fmt::format("waive names copper at {} on {}, but none lies there",
                                 place_text(w.at), side),
                     nearest_copper_in_words(drawn, layer, w.at));
    }
    Named n;
    n.waiver.point = fmt::format("copper {} {}", place_name(w.at), side);
    n.waiver.at = w.at;
    n.waiver.layer = layer;
    n.waiver.net = net_of(*island);
    n.why_none = is_etched(board_.expectation.stage, layer, drawn.layers)
                     ? "no break of it would part anything"
                     : "it is not etched yet " + at_stage();
    const std::set<std::size_t> breaks = breaks_within(*island);
    n.entries = entries([&](std::size_t e, const PossibleFault& f) {
      return breaks.contains(e) || (f.kind == FaultKind::bridge && is_bare(*island, f));
    });
    return n;
  }

  [[nodiscard]] std::set<std::size_t> breaks_within(IslandId island) const {
    const auto on_island = [&](std::uint32_t node) { return list_.island_of_node[node] == island; };
    std::set<std::size_t> found;
    for (const Wiring::Edge& e : list_.wiring.edges) {
      if (!e.join && e.entry != Wiring::kNone && on_island(e.a)) found.insert(e.entry);
    }
    for (const Wiring::Ways& w : list_.wiring.ways) {
      if (on_island(w.node)) found.insert(w.entry);
    }
    return found;
  }

  // A bridge to this copper, where no point lies on all that it is joined to.
  [[nodiscard]] bool is_bare(IslandId island, const PossibleFault& f) const {
    const copper::Gap& gap = board_.gaps[*f.gap];
    return (gap.a == island && list_.groups_of_piece[f.piece].empty()) ||
           (gap.b == island && list_.groups_of_piece[f.other].empty());
  }

  [[nodiscard]] Result<Named> pair(const WaiveEntry& w) const {
    const std::set<std::string> known = known_nets();
    for (const std::string& net : w.nets) {
      if (known.contains(net)) continue;
      const auto near = names_near({known.begin(), known.end()}, net);
      return nothing(w, fmt::format("waive names the net {}, which the board does not have", net),
                     near.empty() ? "isthmus inspect BOARD --json lists the nets"
                                  : fmt::format("did you mean {}?", fmt::join(near, ", ")));
    }
    Named n;
    n.waiver.point = fmt::format("pair {} and {}", w.nets[0], w.nets[1]);
    n.waiver.net = fmt::format("{}, {}", w.nets[0], w.nets[1]);
    n.waiver.nets = w.nets;
    n.why_none = fmt::format("no facing of their copper within {:.2f} mm has to be isolated {}",
                             to_mm(board_.design.board.limits.window.value), at_stage());
    n.entries = entries([&](std::size_t, const PossibleFault& f) {
      return f.kind == FaultKind::bridge &&
             (faces(f.piece, f.other, w) || faces(f.other, f.piece, w));
    });
    return n;
  }

  [[nodiscard]] bool faces(std::uint32_t a, std::uint32_t b, const WaiveEntry& w) const {
    const auto has = [&](std::uint32_t piece, const std::string& net) {
      const std::vector<std::string> nets = nets_of(piece);
      return std::ranges::find(nets, net) != nets.end();
    };
    return has(a, w.nets[0]) && has(b, w.nets[1]);
  }

  // Also of copper that this stage does not have yet.
  [[nodiscard]] std::set<std::string> known_nets() const {
    std::set<std::string> nets;
    for (const Point& p : board_.expectation.points) nets.insert({p.net, p.net_full});
    for (std::uint32_t p = 0; p < list_.islands_of_piece.size(); ++p) {
      for (std::string& net : nets_of(p)) nets.insert(std::move(net));
    }
    if (board_.design.netlist) {
      for (const auto& record : board_.design.netlist->records) nets.insert(record.net);
    }
    for (const formats::LayerImage& image : board_.design.copper) {
      for (const formats::Attributes& a : image.attributes) {
        if (a.nets) nets.insert(a.nets->begin(), a.nets->end());
      }
    }
    nets.erase("");
    return nets;
  }

  const Board& board_;
  const FaultList& list_;
};

}  // namespace

Result<Done> waive_entries(Board& board, Diagnostics& notes) {
  for (const WaiveEntry& w : board.design.board.waive) {
    if (w.kind == WaiveKind::point) continue;
    Result<Named> named = Finder(board).find(w);
    if (!named) return named.problem();
    if (named->entries.empty()) {
      notes.warn(problem(board.design, w, "EXP-022",
                         fmt::format("waive names {}, but {}; nothing is waived by it",
                                     named->waiver.point, named->why_none)));
      continue;
    }
    for (const std::size_t e : named->entries) board.faults.entries[e].waived = true;
    board.expectation.waivers.push_back(std::move(named->waiver));
  }
  return Done{};
}

}  // namespace isthmus::expect
