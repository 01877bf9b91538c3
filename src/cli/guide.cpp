// SPDX-License-Identifier: Apache-2.0
#include "cli/guide.hpp"

#include <unistd.h>

#include "cli/commands.hpp"
#include "cli/terminal.hpp"
#include "isthmus/report/hand.hpp"

namespace isthmus::cli {
namespace {

int guide(const GuideOptions& o) {
  auto board = open_board(o.board);
  if (!board) return bad_input(board.problem());
  auto wish = clip_wish(**board, o);
  if (!wish) return bad_input(wish.problem());
  Diagnostics notes;
  ProgressLine line;
  line.say("planning the touches");
  auto plan = plan::plan_by_hand(**board, o.means, *wish, notes);
  line.clear();
  show(notes, o.board.notes);
  if (!plan) return bad_input(plan.problem());
  if (auto written = write_clips(**board, o, *plan); !written) return bad_input(written.problem());
  if (!o.plan) return run_guide(o, **board, *plan);
  print(o.json ? report::hand_json(**board, o.means, *plan)
               : report::hand_text(**board, o.means, *plan, {colour_on(STDOUT_FILENO), o.inch}));
  return kPass;
}

}  // namespace

void add_guide(CLI::App& app, int& exit) {
  auto* command = app.add_subcommand("guide", "a needle, a few clips, and where to touch next");
  auto o = std::make_shared<GuideOptions>();
  add_board_options(*command, o->board);
  command->add_option("--channels", o->means.channels, "channels of the adapter")
      ->check(CLI::Range(2, 256));
  command->add_option("--needles", o->means.needles, "needles in the hand: 1 or 2")
      ->check(CLI::IsMember({1, 2}));
  command->add_flag("--forked", o->means.forked,
                    "the first needle has two tips, insulated from each other");
  command->add_flag("--contact-check", o->means.contact_check,
                    "the adapter proves contact by itself");
  command->add_option("--clips", o->clips, "fixture file with the clips as they are");
  command->add_option("--cannot-reach", o->struck_out, "points that no clip can be put on");
  command->add_flag("--plan", o->plan, "touches and minutes only: nothing is measured");
  command->add_option("--clip-sheet", o->sheet, "sheet to print at 1:1 with the clips (SVG)");
  command->add_option("--save-clips", o->save, "fixture file to write with the proposed clips");
  command->add_flag("--force", o->force, "replace an existing fixture file");
  add_run_options(*command, *o);
  command->add_flag("--resume", o->resume, "continue this unit's run that broke off; needs --unit");
  command->add_flag("--no-page", o->no_page, "in words on the terminal");
  command->add_option("--port", o->port, "the page's port on this machine (default: a free one)")
      ->check(CLI::Range(1024, 65535));
  command->add_flag("--open", o->open_page, "open the page in the browser");
  command->add_flag("--mute", o->mute, "no bell");
  command->add_flag("--relaxed", o->relaxed, "allow limits that prove little; marks the verdict");
  add_origin_option(*command, o->origin);
  command->add_flag("--json", o->json, "JSON alone on stdout, always in mm");
  command->add_flag("--inch", o->inch, "text in inches");
  command->callback([o, &exit] { exit = guide(*o); });
}

}  // namespace isthmus::cli
