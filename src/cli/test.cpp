// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>

#include "cli/commands.hpp"
#include "cli/placing.hpp"
#include "cli/resuming.hpp"
#include "cli/terminal.hpp"
#include "cli/test_setup.hpp"
#include "isthmus/report/report.hpp"

namespace isthmus::cli {
namespace {

// The adapter is not to be had: everything is untested, and that is what is printed.
int without_adapter(const TestOptions& o, const TestInputs& in, const Problem& why) {
  Diagnostics notes;
  auto plan = plan::make_plan(*in.board, in.fixture, {}, notes);
  if (!plan) return bad_input(plan.problem());
  report::RunView view{head_of(o, in), {}};
  view.result.state = "broken off";
  view.result.problem = why.message;
  view.result.diagnosis = diagnose::diagnose(*in.board, *plan, {}, false);
  print_run(o, view);
  complain(why);  // last, so that it is not lost above the rest
  return exit_code(why);
}

Result<session::Outcome> measure(const TestOptions& o, const expect::Board& board,
                                 adapter::Instrument& instrument, TestSetup& setup) {
  ProgressLine line;
  session::Hooks hooks;
  hooks.zero = std::move(setup.zero);
  hooks.lay = placing(instrument, o.on_placement, line, &board);
  hooks.lift = lifting(instrument, {o.on_placement, o.on_lift}, line);
  hooks.progress = [&line](std::size_t done, std::size_t of, const std::string& what) {
    line.draw(done, of, what);
  };
  hooks.interrupted = watch_signals();
  if (!o.resume)
    return session::run_test(board, std::move(setup.plan), instrument, *setup.record, setup.head,
                             hooks);
  auto broken = run_to_continue(*setup.record, setup.head);
  if (!broken) return broken.problem();
  return session::resume_test(board, std::move(setup.plan), *broken, instrument, *setup.record,
                              setup.head, hooks);
}

// Takes a folder that was not there before away again if nothing was put into it.
class EmptyFolder {
 public:
  explicit EmptyFolder(const std::string& folder) {
    if (folder.empty()) return;
    std::filesystem::path path = std::filesystem::absolute(folder).lexically_normal();
    if (!path.has_filename()) path = path.parent_path();
    std::error_code error;
    for (; path.has_relative_path() && !std::filesystem::exists(path, error);
         path = path.parent_path())
      made_.push_back(path);
  }
  ~EmptyFolder() {
    std::error_code error;
    for (const auto& path : made_) {
      if (!std::filesystem::remove(path, error)) return;  // not empty, or never made
    }
  }
  EmptyFolder(const EmptyFolder&) = delete;
  EmptyFolder& operator=(const EmptyFolder&) = delete;

 private:
  std::vector<std::filesystem::path> made_;  // the deepest first
};

Result<Bench> say_and_open(const TestOptions& o) {
  ProgressLine line;
  line.say("opening the adapter");
  return open_bench(o.adapter, o.fixture);
}

int test(const TestOptions& o) {
  auto in = read_inputs(o);
  if (!in) return bad_input(in.problem());
  // Before anything is measured: an hour at the bench must not end without its page.
  const EmptyFolder unused(o.report);
  if (!o.report.empty()) {
    if (auto ready = report::ready_folder(o.report); !ready) return bad_input(ready.problem());
  }
  const auto ended_by = [&](const Problem& why) {
    return why.cause == Cause::link ? without_adapter(o, *in, why) : bad_input(why);
  };
  auto bench = say_and_open(o);
  if (!bench) return ended_by(bench.problem());
  auto setup = set_up(o, *in, *bench->instrument);
  if (!setup) return ended_by(setup.problem());
  auto outcome = measure(o, *in->board, *bench->instrument, *setup);
  if (!outcome) return bad_input(outcome.problem());
  return finish_run(o, *in->board, view_of(setup->head, *outcome), *outcome);
}

}  // namespace

void add_test(CLI::App& app, int& exit) {
  auto* command = app.add_subcommand("test", "prove a board with an adapter");
  auto o = std::make_shared<TestOptions>();
  add_board_options(*command, o->board);
  command->add_option("--fixture", o->fixture, "fixture description")->required();
  add_run_options(*command, *o)->required();
  command->add_option("--on-placement", o->on_placement,
                      "command to run with a placement's name when the probes must be laid");
  command->add_option("--on-lift", o->on_lift,
                      "command to run with a placement's name when its tips must hang in the air");
  command->add_flag("--resume", o->resume, "continue this unit's run that broke off; needs --unit");
  command->add_option("--zero", o->zero,
                      "take leads and switches off, as `isthmus zero` found them");
  command->add_flag("--json", o->json, "JSON alone on stdout, always in mm");
  command->add_flag("--inch", o->inch, "text in inches");
  add_origin_option(*command, o->origin);
  command->add_flag("--relaxed", o->relaxed, "allow limits that prove little; marks the verdict");
  command->callback([o, &exit] { exit = test(*o); });
}

}  // namespace isthmus::cli
