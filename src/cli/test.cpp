// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <filesystem>

#include "cli/adapter_options.hpp"
#include "cli/board_options.hpp"
#include "cli/commands.hpp"
#include "cli/limits.hpp"
#include "cli/placing.hpp"
#include "cli/record_options.hpp"
#include "cli/resuming.hpp"
#include "cli/terminal.hpp"
#include "cli/zero_file.hpp"
#include "isthmus/report/report.hpp"

namespace isthmus::cli {
namespace {

struct Options {
  BoardOptions board;
  std::string fixture, adapter, unit, record, report, on_placement, zero;
  bool json{false}, inch{false}, relaxed{false}, resume{false};
};

record::RunHead head_of(const Options& o, const expect::Board& board,
                        const formats::FixtureFile& fixture) {
  record::RunHead head;
  head.started_utc = now_utc();
  head.board = board.design.board.name;
  head.unit = o.unit;
  head.stage = std::string(name(board.expectation.stage));
  head.basis = board.expectation.basis;
  head.board_file = std::filesystem::absolute(o.board.file).lexically_normal();
  head.fixture_file = std::filesystem::absolute(o.fixture).lexically_normal();
  head.adapter_address = o.adapter;
  head.design_hash = board.hash;
  head.fixture_hash = formats::sha256(formats::write_fixture_file(fixture));
  head.hashes = board.design.hashes;
  head.limits = board.design.board.limits;
  head.program_version = kVersion;
  return head;
}

int exit_code(const record::RunResult& result, bool link_failed) {
  if (link_failed) return kLinkFailure;
  switch (result.diagnosis.verdict) {
    case diagnose::Verdict::fail:
      return kFaults;
    case diagnose::Verdict::incomplete:
      return kIncomplete;
    case diagnose::Verdict::pass:
      return kPass;
  }
  return kOurBug;
}

void print_run(const Options& o, const report::RunView& view) {
  print(o.json ? report::run_json(view)
               : report::run_text(view, {colour_on(STDOUT_FILENO), o.inch}));
}

// The adapter is not to be had: everything is untested, and that is what is printed.
int without_adapter(const Options& o, const expect::Board& board,
                    const formats::FixtureFile& fixture, const Problem& why) {
  Diagnostics notes;
  auto plan = plan::make_plan(board, fixture, {}, notes);
  if (!plan) return bad_input(plan.problem());
  report::RunView view{head_of(o, board, fixture), {}};
  view.result.state = "broken off";
  view.result.problem = why.message;
  view.result.diagnosis = diagnose::diagnose(board, *plan, {}, false);
  print_run(o, view);
  complain(why);  // last, so that it is not lost above the rest
  return kLinkFailure;
}

// A simulated board whose artwork is the design's own shows what the simulator adds, never what an
// etch did.
Result<bool> simulates_the_design(adapter::Instrument& instrument, const expect::Board& board) {
  if (!instrument.capabilities().simulated) return false;
  auto hashes = instrument.simulated_hashes();
  if (!hashes) return hashes.problem();
  return std::ranges::all_of(board.design.hashes, [&](const formats::FileHash& h) {
    const bool artwork = h.role == "top" || h.role == "bottom" || h.role == "inner";
    return !artwork || std::ranges::find(*hashes, h.sha256) != hashes->end();
  });
}

int run(const Options& o, const expect::Board& board, const formats::FixtureFile& fixture,
        Bench& bench) {
  adapter::Instrument& instrument = *bench.instrument;
  if (auto limited = instrument.limit_current(fixture.tip_current); !limited) {
    return without_adapter(o, board, fixture, limited.problem());
  }
  Diagnostics notes;
  ProgressLine line;
  line.say("planning the measurements");
  auto plan = plan::make_plan(
      board, fixture, {instrument.capabilities().wires, instrument.capabilities().references},
      notes);
  line.clear();
  show(notes, o.board.notes);
  if (!plan) return bad_input(plan.problem());
  const std::filesystem::path file = record_file(o.record);
  auto record = open_record(file);
  if (!record) return bad_input(record.problem());
  record::RunHead head = head_of(o, board, fixture);
  head.adapter_name = instrument.identity().maker + " " + instrument.identity().model;
  head.adapter_serial = instrument.identity().serial_number;
  if (o.relaxed)
    head.remarks.push_back(std::string(kRelaxedRemark) + ": this verdict was given with --relaxed");
  if (auto same = simulates_the_design(instrument, board); !same) {
    return without_adapter(o, board, fixture, same.problem());
  } else if (*same) {
    head.remarks.push_back(
        "the simulated board is the design itself: its artwork is the same, file by file");
  }
  session::Hooks hooks;
  if (!o.zero.empty()) {
    auto zero = read_zero(o.zero);
    if (!zero) return bad_input(zero.problem());
    if (auto holds = check_zero(*zero, head.adapter_serial, head.fixture_hash, head.started_utc);
        !holds)
      return bad_input(holds.problem());
    head.remarks.push_back("leads and switches are taken off, as measured at " + zero->taken_utc);
    hooks.zero = std::move(*zero);
  }
  hooks.lay = placing(instrument, o.on_placement, line, &board);
  hooks.progress = [&line](std::size_t done, std::size_t of, const std::string& what) {
    line.draw(done, of, what);
  };
  hooks.interrupted = watch_signals();
  const auto carry_out = [&]() -> Result<session::Outcome> {
    if (!o.resume)
      return session::run_test(board, std::move(*plan), instrument, **record, head, hooks);
    auto broken = run_to_continue(**record, head);
    if (!broken) return broken.problem();
    return session::resume_test(board, std::move(*plan), *broken, instrument, **record, head,
                                hooks);
  };
  auto outcome = carry_out();
  line.clear();
  if (!outcome) return bad_input(outcome.problem());
  head.id = outcome->run;
  head.remarks = outcome->remarks;
  const report::RunView view{head, outcome->result};
  print_run(o, view);
  if (!o.report.empty()) {
    if (auto written = report::write_report(o.report, view, board); !written)
      return bad_input(written.problem());
    if (!o.json)
      print(fmt::format("\nReport: {}\n",
                        (std::filesystem::path(o.report) / "report.html").string()));
  }
  if (!o.json) print(fmt::format("Run {} in {}\n", outcome->run, file.string()));
  if (outcome->link_failure) complain(*outcome->link_failure);
  if (outcome->stopped) complain(*outcome->stopped);
  return exit_code(outcome->result, outcome->link_failure.has_value());
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

int test(const Options& o) {
  if (auto known = check_address(o.adapter); !known) return bad_input(known.problem());
  if (o.resume && o.unit.empty()) {
    Problem p;
    p.code = "CLI-052";
    p.message = "--resume needs the board's serial number";
    p.hint = "add --unit SERIAL, as when the run was begun";
    return bad_input(p);
  }
  auto fixture = formats::read_fixture_file(o.fixture);
  if (!fixture) return bad_input(fixture.problem());
  auto board = open_board(o.board);
  if (!board) return bad_input(board.problem());
  if (const auto high = unsafe(**board)) return bad_input(*high);
  if (const auto lax = too_lax(**board); lax && !o.relaxed) return bad_input(*lax);
  if (auto added = plan::add_bare_places(**board, *fixture); !added)
    return bad_input(added.problem());
  if (auto fits = plan::check_fixture(**board, *fixture); !fits) return bad_input(fits.problem());
  // Before anything is measured: an hour at the bench must not end without its page.
  const EmptyFolder unused(o.report);
  if (!o.report.empty()) {
    if (auto ready = report::ready_folder(o.report); !ready) return bad_input(ready.problem());
  }
  ProgressLine line;
  line.say("opening the adapter");
  auto bench = open_bench(o.adapter, o.fixture);
  line.clear();
  if (!bench && bench.problem().cause == Cause::input) return bad_input(bench.problem());
  if (!bench) return without_adapter(o, **board, *fixture, bench.problem());
  return run(o, **board, *fixture, *bench);
}

}  // namespace

void add_test(CLI::App& app, int& exit) {
  auto* command = app.add_subcommand("test", "prove a board with an adapter");
  auto o = std::make_shared<Options>();
  add_board_options(*command, o->board);
  command->add_option("--fixture", o->fixture, "fixture description")->required();
  command
      ->add_option(
          "--adapter", o->adapter,
          "serial:DEVICE | serial:@SERIALNUMBER | usb:VID:PID[:SERIALNUMBER] | tcp:HOST:PORT | "
          "pty:DEVICE | sim:SCENARIO.yaml")
      ->required();
  command->add_option("--unit", o->unit, "serial number of this board");
  command->add_option("--record", o->record,
                      "record to keep the run in (default: in the user's data folder)");
  command->add_option("--report", o->report, "folder for report.html, report.json, findings.csv");
  command->add_option("--on-placement", o->on_placement,
                      "command to run with a placement's name when the probes must be laid");
  command->add_flag("--resume", o->resume, "continue this unit's run that broke off; needs --unit");
  command->add_option("--zero", o->zero,
                      "take leads and switches off, as `isthmus zero` found them");
  command->add_flag("--json", o->json, "JSON alone on stdout, always in mm");
  command->add_flag("--inch", o->inch, "text in inches");
  command->add_flag("--relaxed", o->relaxed, "allow limits that prove little; marks the verdict");
  command->callback([o, &exit] { exit = test(*o); });
}

}  // namespace isthmus::cli
