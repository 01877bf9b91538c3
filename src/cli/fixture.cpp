// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <cstdio>
#include <filesystem>
#include <numbers>

#include "cli/board_options.hpp"
#include "cli/commands.hpp"
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

// Several placements need a plate each: F-A.drl, F-B.drl.
std::filesystem::path file_for(const std::string& wanted, const std::string& placement,
                               bool several) {
  std::filesystem::path path = wanted;
  if (!several) return path;
  return path.parent_path() / (path.stem().string() + "-" + placement + path.extension().string());
}

// "plate-A.drl to plate-L.drl"
std::string first_to_last(const formats::FixtureFile& fixture, const std::string& wanted) {
  const auto& all = fixture.placements;
  std::string first = file_for(wanted, all.front().name, all.size() > 1).string();
  if (all.size() == 1) return first;
  return first + " to " + file_for(wanted, all.back().name, true).string();
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
void tell(const Options& o, const formats::FixtureFile& fixture, const Sides& sides) {
  const std::size_t n = fixture.placements.size();
  std::size_t probes = 0;
  for (const formats::PlacementEntry& p : fixture.placements) probes += p.probes.size();
  std::string text =
      fmt::format("{} placement{}, {} probes in all\n", n, n == 1 ? "" : "s", probes);
  const auto line = [&](const char* what, const std::string& files) {
    text += fmt::format("{:<13} {}\n", what, files);
  };
  if (!o.out.empty()) line("fixture", o.out);
  if (!o.drill.empty() && n > 0) line("drill files", first_to_last(fixture, o.drill));
  if (!o.sheet.empty() && n > 0) line("sheets", first_to_last(fixture, o.sheet));
  for (const Side side : {Side::top, Side::bottom}) {
    if (sides.of(side).moved())
      line(side == Side::top ? "placed top" : "placed bottom", in_words(sides.of(side)));
  }
  std::fputs(text.c_str(), o.out.empty() ? stderr : stdout);
}

Result<Done> write_plates(const formats::FixtureFile& fixture, const Sides& sides,
                          const std::string& wanted) {
  for (const formats::PlacementEntry& placement : fixture.placements) {
    formats::DrillFile drill;
    for (const auto& [channel, probe] : placement.probes) {
      if (!probe.at) continue;
      formats::Hole hole;
      hole.from = hole.to = sides.of(placement.side)(*probe.at);
      hole.diameter = fixture.tip_diameter;
      hole.plated = false;
      drill.holes.push_back(hole);
    }
    const auto path = file_for(wanted, placement.name, fixture.placements.size() > 1);
    auto written = formats::write_whole_file(path, formats::write_drill(drill, 2));
    if (!written) return written;
  }
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
  const auto shortfall = plan::shortfall_of(**board, *fixture);
  if (!shortfall) return bad_input(shortfall.problem());
  if (shortfall->any()) {
    Diagnostics warning;
    warning.warn(
        {"", 0, 0, "PLN-104", plan::in_words(*shortfall), plan::what_helps(*shortfall), ""});
    show(warning, false);
  }
  const std::string text = formats::write_fixture_file(*fixture);
  if (o.out.empty()) {
    print(text);
  } else if (auto written = formats::write_whole_file(o.out, text); !written) {
    return bad_input(written.problem());
  }
  if (!o.drill.empty()) {
    if (auto written = write_plates(*fixture, *sides, o.drill); !written)
      return bad_input(written.problem());
  }
  if (!o.sheet.empty()) {
    for (const formats::PlacementEntry& placement : fixture->placements) {
      const auto path = file_for(o.sheet, placement.name, fixture->placements.size() > 1);
      auto written = formats::write_whole_file(
          path, report::fixture_sheet_svg(**board, *fixture, placement, sides->of(placement.side)));
      if (!written) return bad_input(written.problem());
    }
  }
  tell(o, *fixture, *sides);
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
  command->add_option("--drill", o->drill, "drill file for the probe plate, one a placement");
  command->add_option("--sheet", o->sheet, "sheet to print at 1:1, one a placement (SVG)");
  command->callback([o, &exit] { exit = make(*o); });
}

}  // namespace isthmus::cli
