// SPDX-License-Identifier: Apache-2.0
// What must conduct and what must not, at the board's stage.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "isthmus/copper/conductors.hpp"
#include "isthmus/copper/gaps.hpp"
#include "isthmus/copper/islands.hpp"
#include "isthmus/formats/board_file.hpp"

namespace isthmus::expect {

// How far from the rim of a join made by hand (any that is not plated) its bent ends and splashes
// of solder are looked for: there the window is that wide. Common practice, no source.
inline constexpr Nanometres kHandReach = 3_mm;

// A hole of the design and what it does at this stage.
struct Join {
  std::size_t hole{};  // index into Design::holes
  Position at;
  Nanometres diameter{};
  formats::JoinKind kind{formats::JoinKind::wire};
  bool conducts{false};  // listed, not deferred, and the stage counts joins
  bool deferred{false};
  std::vector<IslandId> islands;  // whose copper reaches the hole's rim, by layer
};

// A wire jumper between two places (board.yaml links); conducts at joined and finished.
struct Link {
  IslandId from{}, to{};
  Position from_at, to_at;
};

struct Point {
  std::string id;        // "U1.3", "R4.1#2", "@1.000,2.000", "VIA@1.000,2.000", "J1.1@top"
  std::string net;       // verbatim from the netlist source
  std::string net_full;  // X2 name where present
  Position at;
  Side side{Side::top};
  std::vector<std::optional<IslandId>> islands;  // by layer; a one-sided point has one entry filled
  std::optional<GroupId> group;                  // nothing: no copper there
  std::optional<std::size_t> join;               // index into joins
  Nanometres size{};                             // smaller extent of the pad; 0 unknown
  bool via{false};
  bool required{true};
  bool unlisted{false};  // no record names it: found on the copper, and not required
  bool waived{false};
  std::string waive_why;
  std::vector<std::string>
      aliases;  // further names of the same pad: two records at one place on one net
};

// Points that must conduct to each other: one net, one piece of copper (through conducting joins
// and links).
struct Group {
  std::string net;
  std::vector<PointId> points;    // ascending; never empty
  std::vector<IslandId> islands;  // all copper of that piece, ascending
  std::string net_full;  // X2 name where present; tells two nets with the same cut name apart
};

// Two groups that must be isolated and come closer than the window (directly, or through islands
// that no point lies on, or at a hole with metal in it).
struct Pair {
  GroupId a{}, b{};               // a < b
  double distance_nm{};           // 0 when they share copper in the artwork
  std::vector<std::size_t> gaps;  // indices into gaps: where they come close
  std::vector<IslandId> through;  // pointless islands between, if any
  double weight{};
};

// A hole with copper within the drill's wander of its rim while the other side is not etched yet: a
// burr or a chip in it can reach that uncut copper, and through it all other such holes.
struct Burr {
  std::size_t join{};  // index into joins
  IslandId island{};   // on the etched side
};

// The copper of the side that is not etched yet: a group of its own that only burrs reach. It has
// no points, and no pairs: on the way through a hole it lies a board's thickness from any copper,
// and two nets that meet in it part again when it is etched.
struct Sheet {
  Side side{};
  std::vector<Burr> burrs;  // by join, then nearest island first
};

enum class DisagreementKind { open, bridge, no_copper, no_net, breakout, marginal };
std::string_view name(DisagreementKind k);  // "open", "bridge", "no-copper", ...
struct Disagreement {
  DisagreementKind kind{};
  std::vector<std::string> nets;  // sorted
  std::vector<std::string> points;
  Position at;
  std::string side;  // "top", "bottom", "L2", or "both"
};

// A reason why no run on this board at this stage may pass.
struct Blocker {
  std::string net;
  std::vector<std::string> points;
  std::string why;  // "split at joined", "disagreement: ..."
};

// What board.yaml leaves out by name: a point, a pad on copper that the netlist does not know, or
// entries of the list of possible faults.
struct Waiver {
  // As it is printed: a point's id, "join @12.700,8.255", "copper @1.000,2.000 bottom", "pair A and
  // B"; and whose copper it is.
  std::string point, net, why;
  formats::WaiveKind kind{formats::WaiveKind::point};
  Position at{};                      // join: of the hole; copper
  LayerId layer{};                    // copper
  std::array<std::string, 2> nets{};  // pair, as in board.yaml
};

struct Expectation {
  Stage stage{};
  std::vector<Point> points;  // by id order of creation: ref, pin, x, y, side; PointId = index
  std::vector<Group> groups;  // GroupId = index
  std::vector<Pair> pairs;    // ascending by a, b
  std::size_t pairs_beyond_window{};
  std::vector<Join> joins;
  std::vector<Link> links;
  std::optional<Sheet> sheet;  // at etched-top and etched-bottom of a board with artwork on two
  std::vector<Disagreement> disagreements;
  std::vector<Blocker> blockers;
  // Those that took effect: points in their order, then entries of the list as board.yaml has them.
  std::vector<Waiver> waivers;
  std::string basis;  // "netlist", "gerber-x2" or "artwork"
  [[nodiscard]] const Point& point(PointId id) const { return points[index(id)]; }
  [[nodiscard]] const Group& group(GroupId id) const { return groups[index(id)]; }
  // The number the sheet goes by, after those of the groups with points.
  [[nodiscard]] GroupId sheet_group() const {
    return GroupId{static_cast<std::uint32_t>(groups.size())};
  }
};

// Indices of the joins that would tie copper at this stage, had they not been put off; and a
// sentence that names the first, empty where there are none.
std::vector<std::size_t> deferred_joins(const Expectation& e);
std::string deferred_in_words(const Expectation& e);

// Finds a point by the name people write. "J1.1" of an unjoined hole is ambiguous unless `side`
// tells top from bottom.
//
// Errors  EXP-0xx: unknown (with near names as hint), ambiguous.
Result<PointId> find_point(const Expectation& e, const std::string& id, std::optional<Side> side);

// What must conduct and what must not at the board's stage: at etched-top only top copper counts,
// and so on. With basis artwork each piece of copper is its own net, named "#<island>" or by its
// first point.
//
// Shape   points of the netlist, and unlisted places of copper that it does not name; pours and
//         drawn areas get places of their own only where `conductors` is given.
// Errors  EXP-0xx: less than 90 % of the netlist's points land on copper (a netlist of another
//         board, or another origin); a waived or listed place that does not exist.
// Source  docs/expectation.md.
Result<Expectation> expect_board(const formats::Design& design, const copper::Copper& copper,
                                 const std::vector<copper::Gap>& gaps, Diagnostics& notes,
                                 const copper::ConductorGraph* conductors = nullptr);

}  // namespace isthmus::expect
