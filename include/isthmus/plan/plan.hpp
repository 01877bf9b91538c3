// SPDX-License-Identifier: Apache-2.0
// Which measurements prove the board with the probes at hand.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "isthmus/expect/board.hpp"
#include "isthmus/formats/fixture_file.hpp"

namespace isthmus::plan {

using formats::Channel;

struct Probe {
  Channel channel{};
  PointId point{};
  Position at;
  std::optional<Channel> twin{};  // second tip on the same pad, from the same side
  Side side{Side::top};           // from which it touches: top or bottom, never both
  bool clip{false};               // stays where it is, behind the plate
};

struct Placement {
  std::string name;
  Side side{Side::top};       // of the plate; both: plates on both sides at once
  std::vector<Probe> probes;  // ascending channel, clips among them
  // What the expected readings cannot tell from the right laying: "shifted 2.540 mm along x",
  // "turned by 180 degrees"...; empty when every such error would show.
  std::vector<std::string> cannot_tell;
  // With its tips on nothing no two of its channels conducted. Where that was not tried, two wires
  // or tips that touch each other look like copper.
  bool tried_in_air{false};
  // One landing of a needle: as long as the clips stay where they are its clips are those of the
  // other landings of that round, and so are their proofs of contact. Nothing: a plate.
  std::optional<std::size_t> round{};
  std::string taken_back{};  // why its readings count for nothing: "lost", "undone"; else empty
  // REQUIRES: a probe or clip has that channel; a twin's channel is none of its own.
  [[nodiscard]] const Probe& probe(Channel channel) const;
};

enum class StepKind {
  board_voltage,  // volts of its own on the board: must be near zero
  reference,      // adapter's own reference k (in `reference`)
  control_open,   // a pair known to be open, over the rows used: must be over-range
  control_short,  // a pair known to conduct: must be low; one channel against many proves its switch
                  // and tip with so many closed
  contact,  // one tip: adapter's contact check through (row, channel), or twin against its probe;
            // without points the check of a channel without a tip
  continuity,  // must be low
  isolation,   // sources against returns: must be high
  // The same by current, for a tip that no control shows at the test voltage: must not conduct hard
  isolation_by_current,
  resistance  // wanted by the diagnosis, no limit
};
std::string_view name(StepKind k);
// Its answer is known beforehand: it judges the block it belongs to, not the board.
constexpr bool is_control(StepKind k) {
  return k == StepKind::reference || k == StepKind::control_open || k == StepKind::control_short;
}

// One measurement. Controls with volts > 0 and isolation steps use the isolation measurement,
// controls without and all others the resistance measurement. A control_open has sources alone:
// nothing can conduct but a stuck switch; or, with the tips on nothing, sources and returns. Source
// channels on row 1, returns on row 2; with four wires sense_high/sense_low give the channels on
// rows 3 and 4 (0: the first source / return).
struct Step {
  StepId id{};
  std::size_t placement{};
  StepKind kind{};
  std::vector<Channel> source, ret;
  Channel sense_high{}, sense_low{};
  int reference{};
  std::vector<GroupId> groups;  // that this step speaks of
  std::vector<PointId> points;  // continuity, contact: the points proven
  Ohms limit{};                 // continuity: at most; isolation: at least
  Volts volts{};                // isolation
  // Copper between the tips, without contacts: nothing before Predictions filled it in.
  std::optional<copper::Predicted> predicted;
  bool contact_by_row1{true};  // contact check: through row 1, else row 2
  std::size_t block{};         // controls of block k judge the steps of block k
  bool closing{false};  // a second look, or contact proof, at the end of a block or placement
  bool wanted{false};   // appended by the diagnosis
  // The adapter's check where there is no tip: a control, it must say no.
  [[nodiscard]] bool expects_no_contact() const { return by_check() && points.empty(); }
  // Contact by the adapter's check, not against a twin.
  [[nodiscard]] bool by_check() const {
    return kind == StepKind::contact && (source.empty() || ret.empty());
  }
  // REQUIRES a contact step: the channel of the tip it proves.
  [[nodiscard]] Channel tip() const { return contact_by_row1 ? source.at(0) : ret.at(0); }
  // Ohms of copper, and of the leads to it.
  [[nodiscard]] bool is_resistance() const {
    return kind == StepKind::continuity || kind == StepKind::resistance;
  }
};

struct Untested {
  std::string net;
  std::vector<std::string> points;
  std::string why;
};

struct Counts {
  std::size_t steps{}, bound{};
};

// The iron or the knife was there: of these points' copper placements before this one say nothing.
struct Reworked {
  std::size_t before{};
  std::vector<PointId> points;  // ascending
  bool operator==(const Reworked&) const = default;
};

struct Plan {
  std::vector<Placement> placements;
  std::vector<Step> steps;  // ids ascending from 1; a placement's steps are contiguous
  std::size_t placements_bound{};
  std::string bound_reason;
  Counts continuity, isolation;
  std::size_t contact_steps{};
  std::size_t pairs{}, pairs_beyond_window{};
  std::vector<Untested> untested;  // what this fixture cannot reach, and why
  bool contact_check{false};       // relies on the adapter's contact check
  int wires{4};
  std::vector<Reworked> reworked{};  // in order of `before`
  bool zeroed{false};  // leads and switches are taken off the readings: not kept in the record
  Ohms contact{0.05};  // one tip's expected contact resistance
  double contact_spread{1.0};
  Nanometres tip{500_um};  // diameter, for predictions: not kept in the record
  // REQUIRES: the plan has a step of that id.
  [[nodiscard]] const Step& step(StepId id) const;
};

struct FixtureWish {
  int channels{64};
  bool contact_check{false};
};
// Which point each channel touches, over as few placements as it finds: every required point from
// one side, then whatever touch or meeting of two an entry of the board's list still needs on a
// good board, with clips behind where both must be touched at once and no one side reaches them.
//
// Shape   groups larger than the channels share points between placements; lone points get a twin
//         tip unless contact_check. Tips of one placement keep a wall of 0.25 mm between their
//         holes, where need be by touching long pads near their ends.
// Errors  PLN-101, PLN-102. A wall that is too thin is a warning (PLN-103).
// Source  docs/expectation.md.
Result<formats::FixtureFile> make_fixture(const expect::Board& board, const FixtureWish& wish,
                                          Diagnostics& notes);

// Makes the bare places of a fixture that lie on copper and on no pad points of the board
// (expect::add_place), in the order of the fixture: call it once, before anything else is asked of
// the two. Errors PLN-004 for a place off copper.
Result<Done> add_bare_places(expect::Board& board, const formats::FixtureFile& fixture);

// What each placement's probes and clips touch, and from which side. Errors and notes as make_plan.
Result<std::vector<Placement>> placements_of(const expect::Board& board,
                                             const formats::FixtureFile& fixture,
                                             Diagnostics& notes);

// Errors as make_plan, at a fraction of its cost: for asking before an adapter is opened.
Result<Done> check_fixture(const expect::Board& board, const formats::FixtureFile& fixture);

// What no run with these placements can prove, whatever it reads: then none can pass.
struct Shortfall {
  std::size_t points{};       // required, and no probe on them
  std::size_t split{};        // pieces of copper with a possible break that cannot be told
  std::size_t pairs{}, of{};  // pairs of pieces with a possible bridge that cannot be told
  // Breaks and pairs besides, of which no touch can tell whatever the fixture: inner copper.
  std::size_t no_touch_breaks{}, no_touch_pairs{};
  int channels{};  // of the fixture; 0: not known
  bool contact_check{false};
  [[nodiscard]] bool any() const { return fixture_lacks() || no_touch_breaks + no_touch_pairs > 0; }
  // Something that another fixture could prove.
  [[nodiscard]] bool fixture_lacks() const { return points + split + pairs > 0; }
};
Shortfall shortfall_of(const expect::Board& board, const std::vector<Placement>& placements,
                       bool contact_check);
// Errors as check_fixture.
Result<Shortfall> shortfall_of(const expect::Board& board, const formats::FixtureFile& fixture);

// What the adapter has that a plan can use.
struct Means {
  int wires{4};                    // 2 or 4
  std::vector<double> references;  // ohms of its references 1, 2, ...
};
// The steps that prove the board with this fixture, and what they cannot prove. No resistance is
// predicted: plan/predictions.hpp.
//
// Shape   step ids ascend from 1, a placement's steps are contiguous; every two groups of a
//         placement that must not conduct are on opposite sides of one of its isolation steps.
// Errors  PLN-0xx at the fixture's file:line:column: unknown or ambiguous point, a point that
//         cannot be reached from the probe's side, made for another board or stage, a bare place
//         without copper, a place that is not on its point's pad.
//         Notes warn of tips that would touch each other (PLN-008).
Result<Plan> make_plan(const expect::Board& board, const formats::FixtureFile& fixture,
                       const Means& means, Diagnostics& notes);

}  // namespace isthmus::plan
