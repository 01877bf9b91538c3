// SPDX-License-Identifier: Apache-2.0
// The list of possible faults: everything that could be wrong with this board at its stage.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "isthmus/expect/expectation.hpp"
#include "isthmus/expect/wiring.hpp"

namespace isthmus::expect {

struct Board;

enum class EntryId : std::uint32_t {};
constexpr std::size_t index(EntryId e) { return static_cast<std::size_t>(e); }

enum class FaultKind {
  stretch,  // copper between forks, features and joins, lost
  join,     // a hole's wire, rivet, eyelet, barrel or lead missing or not conducting
  link,     // a wire jumper missing
  ways,     // all of several parallel ways to one place lost at once
  bridge,   // two pieces joined, or leaking, at one facing
};
std::string_view name(FaultKind k);  // "stretch", "join", "link", "ways", "bridge"
inline bool is_break(FaultKind k) { return k != FaultKind::bridge; }

// What the entry speaks of, as ids; words are made in report and record.
struct PossibleFault {
  FaultKind kind{};
  std::uint32_t piece{}, other{};  // Wiring pieces; `other` of a bridge alone
  Position at;                     // likeliest place
  Side side{};                     // top, bottom; both for a hole or an inner layer
  LayerId layer{};
  std::vector<Position> path;  // the stretch, or the middle line of the facing, to look along
  Nanometres width{};          // narrowest copper, or the closest approach; 0 for joins
  double likelihood{};         // relative: critical area (docs/copper.md), a fixed prior for joins
  std::optional<std::size_t> join;  // index into Expectation::joins
  std::optional<std::size_t> gap;   // index into Board::gaps
  bool waived{};                    // by board.yaml
  bool unless_bridged{};  // of a break: a bridge within its net, or a tied one, would hide it
};

// "top", "bottom", "both" of what goes through the board, "L2" of what lies on an inner layer.
std::string side_name(const PossibleFault& fault, std::size_t layers);

// The entries, the wiring they are edges and facings of, and what its nodes and pieces are on the
// board.
struct FaultList {
  std::vector<PossibleFault> entries;  // EntryId = index; breaks first, each by piece, then place
  Wiring wiring;
  std::vector<std::vector<IslandId>> islands_of_piece;
  std::vector<std::vector<GroupId>> groups_of_piece;  // empty: copper that no point lies on
  std::vector<Position> place_of_node;
  std::vector<std::optional<IslandId>> island_of_node;  // nothing: the metal in a hole
  // By node of Board::conductors: what it is part of; kNone where its side is not etched yet.
  std::vector<std::uint32_t> node_of_axis;
  // By point: its node as touched from the top, from the bottom; kNone where it has no copper
  // there.
  std::vector<std::uint32_t> top_node, bottom_node;
  // By node: points whose pad it is, for naming what would tell.
  std::vector<std::vector<PointId>> points_of_node;

  [[nodiscard]] const PossibleFault& entry(EntryId id) const { return entries[index(id)]; }
  // `side` is top or bottom. A probe beside the middle of a long pad touches the node under it.
  [[nodiscard]] std::uint32_t node_of(PointId point, Side side) const {
    return side == Side::bottom ? bottom_node[isthmus::index(point)]
                                : top_node[isthmus::index(point)];
  }
};

// As far from a point's place its pad is one place: the lead that will be soldered to it spans a
// crack. Common practice, no source.
inline constexpr Nanometres kPadSpan = 1250_um;

// The node that a probe for this point touches from that side at that place: the point's own, but
// at the far end of a long pad the copper there. kNone where there is no copper.
std::uint32_t touched_node(const Board& board, PointId point, Side side, Position at);

// Constant for a board: the state of its entries is derived from facts, elsewhere.
//
// Shape   wiring.entries == entries.size().
// Units   nanometres; likelihoods are relative to each other.
// Source  docs/proof.md.
FaultList list_possible_faults(const Board& board);

// Sets `waived` of the entries that board.yaml leaves out by hole, place of copper or pair of nets,
// and appends those waivers to the expectation's. docs/formats/board.md has what each leaves out.
//
// Errors  EXP-002 for what is not on the board; what is there, but has no entry at this stage, is
//         warned of (EXP-022).
Result<Done> waive_entries(Board& board, Diagnostics& notes);

}  // namespace isthmus::expect
