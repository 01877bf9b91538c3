// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <numbers>

#include "cli/board_options.hpp"
#include "cli/commands.hpp"
#include "cli/limits.hpp"
#include "cli/terminal.hpp"
#include "isthmus/plan/placing.hpp"
#include "isthmus/report/report.hpp"

namespace isthmus::cli {
namespace {

struct Options {
  BoardOptions board;
  plan::FixtureWish wish;
  std::string out, drill, sheet;
  bool force{false};
};

// The probes of one placement that one side's plate holds.
struct Plate {
  const plan::Placement* placement{};
  Side side{};
  std::string suffix;  // "-A", of several plates; "-A-top" where a placement has two
};

bool has_probes(const plan::Placement& placement, Side side) {
  return std::ranges::any_of(placement.probes,
                             [&](const plan::Probe& p) { return !p.clip && p.side == side; });
}

std::vector<Plate> plates_of(const std::vector<plan::Placement>& placements) {
  std::vector<Plate> plates;
  for (const plan::Placement& p : placements) {
    for (const Side side : {Side::top, Side::bottom}) {
      if (!has_probes(p, side)) continue;
      const std::string which = p.side == Side::both ? fmt::format("-{}", name(side)) : "";
      plates.push_back({&p, side, "-" + p.name + which});
    }
  }
  if (plates.size() == 1) plates[0].suffix.clear();
  return plates;
}

std::filesystem::path file_for(const std::string& wanted, const Plate& plate) {
  const std::filesystem::path path = wanted;
  if (plate.suffix.empty()) return path;
  return path.parent_path() / (path.stem().string() + plate.suffix + path.extension().string());
}

// "plate-A.drl to plate-L.drl"
std::string first_to_last(const std::vector<Plate>& plates, const std::string& wanted) {
  std::string first = file_for(wanted, plates.front()).string();
  if (plates.size() == 1) return first;
  return first + " to " + file_for(wanted, plates.back()).string();
}

// Where each side's artwork lies, by the marks of `placed:`.
struct Sides {
  plan::Placing top, bottom;
  [[nodiscard]] const plan::Placing& of(Side side) const {
    return side == Side::bottom ? bottom : top;
  }
};

Result<Sides> sides_of(const formats::BoardFile& board) {
  auto top = plan::placing_of(board.placed_top);
  if (!top) return top.problem();
  auto bottom = plan::placing_of(board.placed_bottom);
  if (!bottom) return bottom.problem();
  return Sides{*top, *bottom};
}

std::string in_words(const plan::Placing& p) {
  return fmt::format(
      "turned by {:.3f} degrees, {:.3f} % of x, {:.3f} % of y; {} mark{} within {:.3f} mm",
      p.turn() * 180 / std::numbers::pi, 100 * p.stretch_x(), 100 * p.stretch_y(), p.marks,
      p.marks == 1 ? "" : "s", p.worst_nm / 1e6);
}

// On stdout, unless the fixture itself goes there.
void tell(const Options& o, const expect::Board& board,
          const std::vector<plan::Placement>& placements, const Sides& sides) {
  const std::vector<Plate> plates = plates_of(placements);
  const std::size_t n = placements.size();
  std::size_t probes = 0;
  for (const plan::Placement& p : placements) probes += p.probes.size();
  std::string text =
      fmt::format("{} placement{}, {} probes in all\n", n, n == 1 ? "" : "s", probes);
  const auto line = [&](const std::string& what, const std::string& files) {
    text += fmt::format("{:<13} {}\n", what, files);
  };
  if (!o.out.empty()) line("fixture", o.out);
  if (!o.drill.empty() && !plates.empty()) line("drill files", first_to_last(plates, o.drill));
  if (!o.sheet.empty() && !plates.empty()) line("sheets", first_to_last(plates, o.sheet));
  for (const Side side : {Side::top, Side::bottom}) {
    if (sides.of(side).moved())
      line(side == Side::top ? "placed top" : "placed bottom", in_words(sides.of(side)));
  }
  for (const plan::Placement& p : placements) {
    for (const plan::Probe& probe : p.probes) {
      if (probe.clip) line("clip in " + p.name, report::clip_in_words(board, probe));
    }
  }
  std::fputs(text.c_str(), o.out.empty() ? stderr : stdout);
}

Result<Done> write_drill_files(const std::vector<Plate>& plates, Nanometres tip, const Sides& sides,
                               const std::string& wanted) {
  for (const Plate& plate : plates) {
    formats::DrillFile drill;
    for (const plan::Probe& probe : plate.placement->probes) {
      if (probe.clip || probe.side != plate.side) continue;
      formats::Hole hole;
      hole.from = hole.to = sides.of(plate.side)(probe.at);
      hole.diameter = tip;
      hole.plated = false;
      drill.holes.push_back(hole);
    }
    auto written =
        formats::write_whole_file(file_for(wanted, plate), formats::write_drill(drill, 2));
    if (!written) return written;
  }
  return Done{};
}

Result<Done> write_sheets(const expect::Board& board, const std::vector<Plate>& plates,
                          Nanometres tip, const Sides& sides, const std::string& wanted) {
  for (const Plate& plate : plates) {
    auto written = formats::write_whole_file(
        file_for(wanted, plate),
        report::fixture_sheet_svg(board, tip, *plate.placement, plate.side, sides.of(plate.side)));
    if (!written) return written;
  }
  return Done{};
}

// What `test` would end in or refuse whatever the fixture: to be known before a plate is drilled.
void warn_of_board(const expect::Board& board) {
  Diagnostics warnings;
  if (const std::string words = report::blockers_in_words(board.expectation); !words.empty()) {
    warnings.warn({board.design.board.path, 0, 0, "PLN-105", words,
                   "isthmus inspect lists them; mend the netlist or the joins, or the board", ""});
  }
  for (auto refused : {unsafe(board), too_lax(board)}) {
    if (!refused) continue;
    refused->hint = "isthmus test refuses it: " + refused->hint;
    warnings.warn(*refused);
  }
  show(warnings, false);
}

// Each is a plate to drill and a laying by hand.
void warn_of_many(const std::vector<plan::Placement>& placements, int channels) {
  constexpr std::size_t kMany = 40;
  if (placements.size() < kMany) return;
  Diagnostics warning;
  warning.warn(
      {"", 0, 0, "PLN-106",
       fmt::format("{} channels take {} placements, each with a plate of its own to lay", channels,
                   placements.size()),
       "more channels take fewer placements; or isthmus guide: clips that stay, and a needle "
       "in the hand",
       ""});
  show(warning, false);
}

Result<Done> warn_of_shortfall(const expect::Board& board, const formats::FixtureFile& fixture) {
  const auto shortfall = plan::shortfall_of(board, fixture);
  if (!shortfall) return shortfall.problem();
  if (!shortfall->any()) return Done{};
  Diagnostics warning;
  warning.warn(
      {"", 0, 0, "PLN-104", report::in_words(*shortfall), report::what_helps(*shortfall), ""});
  show(warning, false);
  return Done{};
}

int make(const Options& o) {
  if (o.wish.channels < 2 || o.wish.channels > 256) {
    return bad_input({"", 0, 0, "CLI-020",
                      fmt::format("an adapter has 2 to 256 channels, not {}", o.wish.channels), "",
                      ""});
  }
  if (auto free = not_replacing(o.out, o.force); !free) return bad_input(free.problem());
  auto board = open_board(o.board);
  if (!board) return bad_input(board.problem());
  auto sides = sides_of((*board)->design.board);
  if (!sides) return bad_input(sides.problem());
  Diagnostics notes;
  ProgressLine line;
  line.say("sharing out the probes");
  auto fixture = plan::make_fixture(**board, o.wish, notes);
  line.clear();
  if (!fixture) return bad_input(fixture.problem());
  show(notes, o.board.notes);
  warn_of_board(**board);
  Diagnostics said;  // of tips that are close, which make_fixture said already
  const auto placements = plan::placements_of(**board, *fixture, said);
  if (!placements) return bad_input(placements.problem());
  if (auto warned = warn_of_shortfall(**board, *fixture); !warned)
    return bad_input(warned.problem());
  warn_of_many(*placements, o.wish.channels);
  const std::string text = formats::write_fixture_file(*fixture);
  if (o.out.empty()) {
    print(text);
  } else if (auto written = formats::write_whole_file(o.out, text); !written) {
    return bad_input(written.problem());
  }
  const std::vector<Plate> plates = plates_of(*placements);
  if (!o.drill.empty()) {
    if (auto written = write_drill_files(plates, fixture->tip_diameter, *sides, o.drill); !written)
      return bad_input(written.problem());
  }
  if (!o.sheet.empty()) {
    if (auto written = write_sheets(**board, plates, fixture->tip_diameter, *sides, o.sheet);
        !written)
      return bad_input(written.problem());
  }
  tell(o, **board, *placements, *sides);
  return kPass;
}

}  // namespace

void add_fixture(CLI::App& app, int& exit) {
  auto* command = app.add_subcommand("fixture", "which point each channel touches");
  auto o = std::make_shared<Options>();
  add_board_options(*command, o->board);
  command->add_option("--channels", o->wish.channels, "channels of the adapter, 2 to 256")
      ->required();
  command->add_flag("--contact-check", o->wish.contact_check,
                    "the adapter proves contact by itself; else twin tips are planned");
  command->add_option("--out", o->out, "fixture file to write (else stdout)");
  command->add_flag("--force", o->force, "replace an existing fixture file");
  command->add_option("--drill", o->drill,
                      "drill file for the probe plate, one a placement and side");
  command->add_option("--sheet", o->sheet, "sheet to print at 1:1, one a placement and side (SVG)");
  command->callback([o, &exit] { exit = make(*o); });
}

}  // namespace isthmus::cli
