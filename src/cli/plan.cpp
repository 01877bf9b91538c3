// SPDX-License-Identifier: Apache-2.0
#include <unistd.h>

#include "cli/board_options.hpp"
#include "cli/commands.hpp"
#include "cli/terminal.hpp"
#include "isthmus/plan/predictions.hpp"
#include "isthmus/report/report.hpp"

namespace isthmus::cli {
namespace {

struct Options {
  BoardOptions board;
  std::string fixture;
  bool json{false}, inch{false}, resistances{false};
  int wires{4};
};

int plan(const Options& o) {
  auto fixture = formats::read_fixture_file(o.fixture);
  if (!fixture) return bad_input(fixture.problem());
  auto board = open_board(o.board);
  if (!board) return bad_input(board.problem());
  if (auto added = plan::add_bare_places(**board, *fixture); !added)
    return bad_input(added.problem());
  Diagnostics notes;
  ProgressLine line;
  line.say("planning the measurements");
  auto plan = plan::make_plan(**board, *fixture, {o.wires, {}}, notes);
  line.clear();
  show(notes, o.board.notes);
  if (!plan) return bad_input(plan.problem());
  if (o.resistances) {
    plan::Predictions(**board).predict(
        *plan, [&line](std::size_t done, std::size_t of) { line.draw(done, of, "resistances"); });
    line.clear();
  }
  print(o.json ? report::plan_json(**board, *plan)
               : report::plan_text(**board, *plan, {colour_on(STDOUT_FILENO), o.inch}));
  return kPass;
}

}  // namespace

void add_plan(CLI::App& app, int& exit) {
  auto* command = app.add_subcommand("plan", "placements, steps, counts beside the lower bounds");
  auto o = std::make_shared<Options>();
  add_board_options(*command, o->board);
  command->add_option("--fixture", o->fixture, "fixture description")->required();
  command->add_flag("--json", o->json, "JSON alone on stdout, always in mm");
  command->add_flag("--resistances", o->resistances,
                    "with --json: what the copper between two tips should measure");
  command->add_flag("--inch", o->inch, "text in inches");
  command->add_option("--wires", o->wires, "plan for a two- or four-wire adapter")
      ->check(CLI::IsMember({2, 4}));
  command->callback([o, &exit] { exit = plan(*o); });
}

}  // namespace isthmus::cli
