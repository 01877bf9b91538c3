// SPDX-License-Identifier: Apache-2.0
// The whole board as known from its files: what the later stages look things up in.
#pragma once

#include <memory>

#include "isthmus/copper/conductors.hpp"
#include "isthmus/copper/field.hpp"
#include "isthmus/copper/gaps.hpp"
#include "isthmus/expect/expectation.hpp"
#include "isthmus/expect/fault_list.hpp"
#include "isthmus/formats/design.hpp"

namespace isthmus::expect {

struct Board {
  formats::Design design;
  copper::Copper copper;
  std::vector<copper::Gap> gaps;  // within limits.window
  copper::ConductorGraph conductors;
  Expectation expectation;
  FaultList faults;  // everything that could be wrong at this stage
  std::string hash;  // formats::design_hash
};

// files -> formats -> copper -> expect. Returned by pointer: other values borrow from it.
//
// Shape   all of it at the file's stage, the list of possible faults included.
// Errors  those of load_design, extract_copper and expect_board.
Result<std::unique_ptr<Board>> load_board(const formats::BoardFile& file, Diagnostics& notes);

// Makes a place of copper a point: `unlisted`, not required, named "@x,y", of the net and group of
// what lies under it (a group of its own where nothing has a net). The list of possible faults stays
// as it is: what a touch there proves is what its wiring says of the place. A place that was added
// before is returned again. Before a plan is made: ids of points and groups are appended.
//
// Errors  EXP-025: no copper lies there on that side, or it is not etched yet; the hint has the
//         nearest.
Result<PointId> add_place(Board& board, Position at, Side side);

// Barrels of the joins that conduct at this stage, and the links: what the field solution needs.
std::vector<copper::Barrel> conducting_barrels(const Board& board);
copper::Foil foil_of(const Board& board);

// Whether these two may conduct to each other without a fault: groups of one net that nothing joins
// yet, and of nets that are tied.
bool may_conduct(const Board& board, GroupId a, GroupId b);

// Whether a group has a point that is required and not waived: others need not be tested.
bool matters(const Board& board, GroupId g);

// Where a probe touches this point on that side; nothing when it has no copper there.
std::optional<copper::Electrode> electrode_at(const Board& board, PointId point, Side side,
                                              Nanometres tip);

// Where one tip alone would touch it: on its own side; a hole on top where there is copper, else at
// the bottom. Nothing without copper.
std::optional<copper::Electrode> electrode_of(const Board& board, PointId point, Nanometres tip);

// A possible break: one place where the piece of copper of a group would fall in two.
struct Break {
  enum class Kind { stretch, join } kind{Kind::stretch};
  std::vector<Position> path;  // the stretch to look along, or the hole
  Position at;                 // likeliest place: the narrowest
  Side side{Side::top};
  LayerId layer{};
  Nanometres width{};  // narrowest copper; 0 for joins
  double weight{};     // relative likelihood: length / width for stretches (critical area
                       // L x0^2 / 2w), a fixed prior for joins
  std::size_t join{};  // index into joins, for joins
};
// All single breaks whose loss separates `one` from `other` (points of one group): exactly the cut
// edges of the group's conductor graph between them, with stretches in series merged; where loops
// leave no single cut, the stretches of a minimum cut.
//
// Shape   descending by weight, then place; empty when both touch the same place. A missing wire
//         link is a stretch of width 0 from one end to the other.
std::vector<Break> breaks_between(const Board& board, const std::vector<PointId>& one,
                                  const std::vector<PointId>& other);

// The same where it is known from which side each point is touched: with `both` a joined point
// counts as touched in its hole, so that its own join is a candidate; with a side only what lies
// beyond that side's copper is.
struct Touch {
  PointId point{};
  Side side{Side::both};
};
std::vector<Break> breaks_between(const Board& board, const std::vector<Touch>& one,
                                  const std::vector<Touch>& other);

// Every stretch between forks, points and joins, and every join, that lies between points of the
// group. Descending by weight, then place.
std::vector<Break> breaks_of(const Board& board, GroupId group);

// The way current takes between two points of a group (least squares of copper): for pictures and
// "look along" stretches. One entry a layer change; empty when nothing connects them.
struct Way {
  LayerId layer{};
  std::vector<Position> path;
  Nanometres narrowest{};
  Position narrowest_at;
};
std::vector<Way> way_between(const Board& board, PointId a, PointId b);

}  // namespace isthmus::expect
