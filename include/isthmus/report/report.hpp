// SPDX-License-Identifier: Apache-2.0
// What people and scripts see of a board, a plan and a run.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "isthmus/expect/resistances.hpp"
#include "isthmus/plan/placing.hpp"
#include "isthmus/record/record.hpp"

namespace isthmus::report {

// What coordinates are counted from: the artwork's own origin, or the board's lower left corner as
// seen from the side that is named. JSON and CSV are always the artwork's.
enum class Origin { artwork, corner };

struct TextStyle {
  bool colour{false};
  bool inch{false};  // text only; JSON is always mm
  Origin origin{Origin::artwork};
};

// What places are said by beside their coordinates.
struct Places {
  Box outline;  // of the copper where the design has none
  struct Pad {
    Position at;
    Side side{};
    std::string id;
  };
  std::vector<Pad> pads;  // by their names in the netlist; no vias
};
Places places_of(const expect::Board& board);

struct Between {
  std::string from, to;
  std::optional<copper::Predicted> predicted;
};

// Predicted resistances, where they were asked for: of two points, of all nets.
struct Foretold {
  Nanometres tip{500_um};  // diameter of the electrodes: tips, not whole pads
  std::optional<Between> between;
  std::optional<std::vector<expect::NetResistance>> nets;
  bool holes{false};  // list the holes that can be joined
};

std::string inspect_text(const expect::Board& board, const Foretold& foretold,
                         const TextStyle& style);
std::string inspect_json(const expect::Board& board, const Foretold& foretold);
// To take to the printer: where the artwork asks more than the declared process holds, ranked and
// drawn; both sides in true size, 100 mm bars in both axes, marks to measure for `placed`. One
// file, no scripts.
std::string capability_html(const expect::Board& board);
// What no run with this fixture can prove, and what would help: one line each.
std::string in_words(const plan::Shortfall& s);
std::string what_helps(const plan::Shortfall& s);
// Why no run on this board can pass at its stage, in one line; empty where nothing stands against it.
std::string blockers_in_words(const expect::Expectation& e);
std::string plan_text(const expect::Board& board, const plan::Plan& plan, const TextStyle& style);
std::string plan_json(const expect::Board& board, const plan::Plan& plan);

// A sheet to print at 1:1 for the placement's plate on `side`: the board's outline and copper
// faintly, each of the plate's probes with its channel, a 100 mm bar in both axes; the bottom is
// drawn as seen from below, and says so. All lies where `placing` puts it. Clips are not drawn, the
// plate has no holes for them; they are listed with channel, point, side and place.
std::string fixture_sheet_svg(const expect::Board& board, Nanometres tip,
                              const plan::Placement& placement, Side side,
                              const plan::Placing& placing);

// "7 on J2.3 (bottom, 12.700, 8.255 mm)"
std::string clip_in_words(const expect::Board& board, const plan::Probe& clip);

// A run, live or from the record. Without `places` coordinates are the artwork's alone.
struct RunView {
  record::RunHead head;
  record::RunResult result;
  plan::Plan plan{};  // with `readings`: what the nets measured
  std::vector<plan::Reading> readings{};
  std::optional<Places> places{};
};
// How the remark begins that says so where the adapter's address does not.
inline constexpr const char* kSimulatedRemark = "SIMULATED";
// Measured on a simulated bench: no board was touched.
bool simulated(const record::RunHead& head);
std::string run_text(const RunView& run, const TextStyle& style);
std::string run_json(const RunView& run);
std::string findings_csv(const RunView& run);
// One file that asks for nothing from elsewhere: the findings, both sides of the board (the bottom
// mirrored and said so) with findings, names and what was not tested, close-ups of the suspects, each
// net's resistance beside its prediction. A script of its own pans, zooms and searches; all of it
// reads without. On paper: two pages up to ten findings; all of it; or both sides in true size.
std::string run_html(const RunView& run, const expect::Board& board,
                     Origin origin = Origin::artwork);

// For servers that run tests, in the XML they read: a case for the verdict, and one for each net. A net
// with a finding has failed; one with anything untested, that cannot be told or was waived is skipped,
// never passed; a verdict that is no pass is a failure or, if incomplete, an error.
std::string run_junit(const RunView& run, const expect::Board& board);
// One side in true size with findings, names and what was not tested; the bottom mirrored as seen
// from below. REQUIRES top or bottom.
std::string side_svg(const RunView& run, const expect::Board& board, Side side);

// Makes the folder if need be and sees that a file can be written there. Errors RPT-001.
Result<Done> ready_folder(const std::filesystem::path& dir);

// report.html, report.json, findings.csv, junit.xml, top.svg and, of a board with two sides,
// bottom.svg in `dir` (created), each whole or absent.
Result<Done> write_report(const std::filesystem::path& dir, const RunView& run,
                          const expect::Board& board, Origin origin = Origin::artwork);

}  // namespace isthmus::report
