// SPDX-License-Identifier: Apache-2.0
// The drawn copper of a board as a graph of what could be lost and what could be joined, and what
// facts measured on it exclude. No geometry: small graphs can be tried by exhaustion.
#pragma once

#include <cstdint>
#include <limits>
#include <utility>
#include <vector>

namespace isthmus::expect {

// Shape   nodes[N]; edges[E] and facings[F] link nodes by index; entries are numbered 0..entries-1,
//         several edges or facings may share one.
// Source  docs/proof.md has the rules, and the argument for them.
struct Wiring {
  static constexpr std::uint32_t kNone = std::numeric_limits<std::uint32_t>::max();

  // A spot of copper. Nodes of one piece hang together in the drawing.
  struct Node {
    std::uint32_t piece{};
    bool feature{};    // must stay on the piece: a pad, a ring that leads on, an opening, a pour
    bool place{true};  // a probe can touch it
    bool operator==(const Node&) const = default;
  };
  // Copper, or a foot of a join, between two nodes of one piece. All edges of one entry are lost
  // together where it is a join, and in series where it is a stretch.
  struct Edge {
    std::uint32_t a{}, b{};
    std::uint32_t entry{kNone};  // kNone: leads to nothing that must stay on
    bool join{};                 // through a hole, or a wire: none may have been made
    bool operator==(const Edge&) const = default;
  };
  // Copper of two pieces, or of two places of one, close enough for a bridge.
  struct Facing {
    std::uint32_t a{}, b{};
    std::uint32_t entry{kNone};
    bool operator==(const Facing&) const = default;
  };
  // A feature that hangs on several ways at once: losing all of them parts it.
  struct Ways {
    std::uint32_t node{};
    std::uint32_t entry{};
    bool operator==(const Ways&) const = default;
  };

  std::vector<Node> nodes;
  std::vector<Edge> edges;
  std::vector<Facing> facings;
  std::vector<Ways> ways;
  // By piece: pieces with the same number may conduct to each other (one net that nothing joins
  // yet); and pairs of pieces that may (tied nets), lower first, sorted.
  std::vector<std::uint32_t> kin;
  std::vector<std::pair<std::uint32_t, std::uint32_t>> tied;
  std::uint32_t entries{};

  [[nodiscard]] bool may_conduct(std::uint32_t piece_a, std::uint32_t piece_b) const;
};

// What was measured. Only proven contacts count: what is not proven is left out by the caller.
// The result of derive() does not depend on the order within.
struct Facts {
  struct Two {
    std::uint32_t a{}, b{};  // touched nodes
  };
  std::vector<std::uint32_t> touched;  // nodes; repeats are harmless
  std::vector<Two> one_piece;          // conducts
  std::vector<Two> two_pieces;         // does not, between pieces that must not or within one
};

enum class FaultState : std::uint8_t {
  excluded,     // by readings
  harmless,     // alone it parts or joins nothing: one of several parallel ways, dead copper
  found,        // readings say that it, or another of few, is there
  cannot_tell,  // no reading speaks of it
  waived,       // left out by name
};

// A reading that would tell of an entry: both nodes touched at once.
struct WouldTell {
  std::uint32_t entry{};
  std::uint32_t p{}, q{};  // nodes; p == q: touching it alone is not enough, see `entry`
};

struct Derived {
  std::vector<FaultState> state;  // by entry; never `waived`
  std::vector<std::uint32_t>
      component;  // by node: of touched nodes, which hang together; else kNone
  std::vector<Facts::Two> contradictions;  // two pieces, and yet one by other facts
  // By piece: something is wrong with it (in pieces, conducting to another, in contradiction), so that
  // readings of its neighbours prove less.
  std::vector<bool> reopened;
  std::vector<WouldTell> would_tell;  // one for each entry that cannot be told, ascending by entry
};

// Joins touched nodes by all conducting facts (and by copper that must have carried current for
// two of them), holds every two-pieces fact against them, then derives what copper is held, then
// bridges, then breaks.
//
// Shape   state.size() == wiring.entries; component.size() == wiring.nodes.size().
// Cost    about linear in nodes, edges and facings, times the few rounds the joining takes.
// Errors  none; REQUIRES indices in range and edges within one piece.
Derived derive(const Wiring& wiring, const Facts& facts);

// Entries that stay untold even where every place is touched at once, as on inner copper. By entry.
std::vector<bool> told_by_no_touch(const Wiring& wiring);

// Copper that stays joined to a touched node whichever single edge is lost, joins that no reading
// proves left out: component of the touched nodes it hangs on, else Wiring::kNone. By node.
std::vector<std::uint32_t> held_copper(const Wiring& wiring, const Facts& facts);

// Breaks of one edge that bridges no reading tells of could carry the current round: within the
// piece, by its own facings and those of `own` (nodes of one piece), or by two facings with copper
// that it may conduct to or that has no feature. By entry; false of ways and of facings.
std::vector<bool> bridged_round(const Wiring& wiring,
                                const std::vector<std::pair<std::uint32_t, std::uint32_t>>& own);

// Fewest edges that together part `node` from all other features of its piece, all joins counting
// as one; at most `most`.
std::uint32_t ways_to(const Wiring& wiring, std::uint32_t node, std::uint32_t most);

}  // namespace isthmus::expect
