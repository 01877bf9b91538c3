// SPDX-License-Identifier: Apache-2.0
#include "tests/random_boards/truth.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <numeric>
#include <optional>
#include <set>

namespace isthmus::random_boards {

Network::Network(const RandomBoard& board, const std::vector<Fault>& faults)
    : nodes_(board.nodes.size()),
      parent_(board.nodes.size() + board.holes.size()),
      metal_(board.holes.size()) {
  std::iota(parent_.begin(), parent_.end(), 0U);
  for (const Edge& e : board.edges) start_.push_back(e.a);
  cut(board, faults);
  fill_holes(board, faults);
  for (const Fault& f : faults) {
    if (f.kind == Fault::Kind::bridge) unite(index(f.at), index(f.to));
  }
}

void Network::cut(const RandomBoard& board, const std::vector<Fault>& faults) {
  std::map<std::size_t, std::vector<double>> places;
  for (const Fault& f : faults) {
    if (f.kind == Fault::Kind::open) places[f.at.edge].push_back(f.at.t);
  }
  for (std::size_t e = 0; e < board.edges.size(); ++e) {
    if (!places.contains(e)) unite(board.edges[e].a, board.edges[e].b);
  }
  for (auto& [edge, at] : places) {
    std::ranges::sort(at);
    Cut c{edge, at, {board.edges[edge].a}};
    for (std::size_t k = 1; k < at.size(); ++k) {
      c.parts.push_back(parent_.size());
      parent_.push_back(parent_.size());
    }
    c.parts.push_back(board.edges[edge].b);
    cuts_.push_back(std::move(c));
  }
}

void Network::fill_holes(const RandomBoard& board, const std::vector<Fault>& faults) {
  for (std::size_t h = 0; h < board.holes.size(); ++h) {
    if (!board.holes[h].conducts) continue;
    for (const std::size_t side : {0U, 1U}) {
      const bool lost = std::ranges::any_of(faults, [&](const Fault& f) {
        return f.kind == Fault::Kind::no_join && f.hole == h && (f.side == kNone || f.side == side);
      });
      if (lost) continue;
      metal_[h] = true;
      unite(nodes_ + h, board.holes[h].rings[side]);
    }
  }
}

std::size_t Network::index(const Spot& spot) const {
  if (spot.edge == kNone) return spot.node;
  for (const Cut& c : cuts_) {
    if (c.edge != spot.edge) continue;
    const auto after = std::ranges::upper_bound(c.at, spot.t);
    return c.parts[static_cast<std::size_t>(after - c.at.begin())];
  }
  return start_[spot.edge];
}

std::size_t Network::root(std::size_t n) const {
  while (parent_[n] != n) n = parent_[n];
  return n;
}

namespace {

struct Place {
  std::size_t index{};  // a node, or of the metal in a hole
  bool metal{}, own{};  // own: a place in its own right
  std::size_t net{};
  std::size_t bar{kNone};  // copper of one side that only rings of joined holes lie on
};

constexpr double kPour = 3;  // mm; what is narrower is a broad track

// Copper that may not be lost if anything hangs on it.
bool is_feature(const Node& n) {
  if (n.kind == NodeKind::pour) return n.size_x >= kPour && n.size_y >= kPour;
  return n.kind == NodeKind::pad || n.kind == NodeKind::ring;
}

// What the copper of one side, without its holes, has on it.
struct Side {
  std::size_t piece{};
  std::size_t rings{}, others{};  // others: pads, pours, rings of holes that nothing joins
};

std::vector<Side> sides_of(const RandomBoard& board) {
  RandomBoard without = board;
  for (Hole& h : without.holes) h.conducts = false;
  const Network layers(without, {});
  std::map<std::size_t, Side> sides;
  for (std::size_t n = 0; n < board.nodes.size(); ++n) {
    const Node& node = board.nodes[n];
    if (!is_feature(node)) continue;
    Side& side = sides[layers.piece_of_node(n)];
    side.piece = layers.piece_of_node(n);
    const bool ring = node.kind == NodeKind::ring && board.holes[node.hole].conducts;
    ++(ring ? side.rings : side.others);
  }
  std::vector<Side> out(board.nodes.size());
  for (std::size_t n = 0; n < out.size(); ++n) out[n] = sides[layers.piece_of_node(n)];
  return out;
}

// A pin is the metal in its hole, where there is any. A ring of a joined hole may be lost where other
// things are on its copper: whoever loses it loses nothing that hangs on it. Where only such rings
// are, not all may be lost.
std::vector<Place> places_of(const RandomBoard& board, const Network& real) {
  std::vector<Place> out;
  const auto sides = sides_of(board);
  const auto leads = [&](std::size_t ring) {
    return sides[ring].others > 0 || sides[ring].rings > 1;
  };
  for (std::size_t n = 0; n < board.nodes.size(); ++n) {
    const Node& node = board.nodes[n];
    if (node.net == kNone || !board.has_layer(node.layer)) continue;
    const bool ring = node.kind == NodeKind::ring && board.holes[node.hole].conducts;
    const bool bar = sides[n].others == 0 && sides[n].rings > 1;
    if (!is_feature(node) && node.kind != NodeKind::pour && !bar) continue;
    const bool empty = ring && !board.holes[node.hole].via && !real.has_metal(node.hole);
    const bool own = is_feature(node) && (!ring || (empty && leads(n)));
    out.push_back({n, false, own, node.net, bar && ring ? sides[n].piece : kNone});
  }
  for (std::size_t h = 0; h < board.holes.size(); ++h) {
    const Hole& hole = board.holes[h];
    if (!hole.conducts || !real.has_metal(h)) continue;
    const bool alone = !leads(hole.rings[0]) && !leads(hole.rings[1]);
    // Where it only reaches a ring that leads nowhere, a tip on the other ring cannot tell.
    const auto reaches = [&](std::size_t ring) {
      return real.piece_of_node(ring) == real.piece_of_metal(h);
    };
    const bool on = std::ranges::any_of(
        hole.rings, [&](std::size_t ring) { return leads(ring) && reaches(ring); });
    const bool own = alone ? std::ranges::all_of(hole.rings, reaches) : !hole.via && on;
    out.push_back({h, true, own, hole.net, kNone});
  }
  return out;
}

std::string in_words(const RandomBoard& board, const Place& p) {
  const Pt at = p.metal ? board.holes[p.index].at : board.nodes[p.index].at;
  const char* kinds[] = {"track", "end", "pad", "ring", "pour"};
  const char* kind = p.metal ? "metal" : kinds[static_cast<int>(board.nodes[p.index].kind)];
  const std::size_t hole = p.metal ? kNone : board.nodes[p.index].hole;
  const bool via = hole != kNone && board.holes[hole].via;
  const bool listed =
      hole != kNone ? board.holes[hole].listed : p.metal || board.nodes[p.index].listed;
  return fmt::format("{}{}{} of {} at {:.3f},{:.3f} {}", listed ? "" : "unlisted ",
                     via ? "via's " : "", kind, board.nets[p.net], at.x, at.y,
                     p.metal                           ? "hole"
                     : board.nodes[p.index].layer == 0 ? "top"
                                                       : "bottom");
}

struct Seen {
  Place place;
  std::size_t before{}, now{};
  bool known{};  // a record names something on its piece: else no netlist says whose it is
};

bool is_listed(const RandomBoard& board, const Place& p) {
  if (p.metal) return board.holes[p.index].listed;
  const Node& node = board.nodes[p.index];
  return node.hole != kNone ? board.holes[node.hole].listed : node.listed;
}

std::vector<Seen> look(const RandomBoard& board, const std::vector<Fault>& faults) {
  const Network right(board, {}), real(board, faults);
  std::vector<Seen> seen;
  for (const Place& p : places_of(board, real)) {
    seen.push_back({p, p.metal ? right.piece_of_metal(p.index) : right.piece_of_node(p.index),
                    p.metal ? real.piece_of_metal(p.index) : real.piece_of_node(p.index), false});
  }
  std::set<std::size_t> known;
  for (const Seen& s : seen) {
    if (is_listed(board, s.place)) known.insert(s.before);
  }
  for (Seen& s : seen) s.known = known.contains(s.before);
  return seen;
}

// A bar of which nothing hangs together with a place that all of it did.
std::optional<std::pair<Place, Place>> lost_bar(const std::vector<Seen>& seen) {
  std::map<std::size_t, std::vector<const Seen*>> bars;
  for (const Seen& s : seen) {
    if (s.place.bar != kNone) bars[s.place.bar].push_back(&s);
  }
  for (const auto& [bar, rings] : bars) {
    for (const Seen& q : seen) {
      if (!q.place.own || q.before != rings.front()->before) continue;
      const bool on = std::ranges::any_of(rings, [&](const Seen* r) { return r->now == q.now; });
      if (!on) return std::pair(q.place, rings.front()->place);
    }
  }
  return std::nullopt;
}

// What no hole leads to any more, of copper that is one place wherever it is touched.
bool loses_a_stretch_of_a_bar(const RandomBoard& board, const std::vector<Fault>& faults) {
  const auto sides = sides_of(board);
  std::map<std::size_t, int> cuts;
  for (const Fault& f : faults) {
    if (f.kind == Fault::Kind::open) ++cuts[f.at.edge];
  }
  return std::ranges::any_of(cuts, [&](const auto& cut) {
    const Side& side = sides[board.edges[cut.first].a];
    return cut.second > 1 && side.others == 0 && side.rings > 1;
  });
}

}  // namespace

Verdict truth_of(const RandomBoard& board, const std::vector<Fault>& faults) {
  const std::vector<Seen> seen = look(board, faults);
  Verdict verdict;
  for (std::size_t k = 0; k < seen.size(); ++k) {
    for (std::size_t m = 0; m < k; ++m) {
      const Seen &p = seen[k], &q = seen[m];
      const bool parted = p.before == q.before && p.now != q.now;
      const bool bridged = p.now == q.now && !board.may_touch(p.place.net, q.place.net);
      if (!parted && !bridged) continue;
      const bool own = p.place.own && q.place.own && (parted || (p.known && q.known));
      if (!own && verdict.truth == Truth::unclear) continue;
      verdict = {own ? Truth::bad : Truth::unclear, (parted ? "parted: " : "bridged: ") +
                                                        in_words(board, q.place) + " and " +
                                                        in_words(board, p.place)};
      if (own) return verdict;
    }
  }
  if (const auto lost = lost_bar(seen))
    return {Truth::bad,
            "parted: " + in_words(board, lost->first) + " and " + in_words(board, lost->second)};
  if (verdict.truth == Truth::good && loses_a_stretch_of_a_bar(board, faults))
    return {Truth::unclear, "a stretch between two cuts of copper between joins"};
  return verdict;
}

}  // namespace isthmus::random_boards
