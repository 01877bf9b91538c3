// SPDX-License-Identifier: Apache-2.0
#include "cli/run_options.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>

#include "cli/commands.hpp"
#include "cli/limits.hpp"
#include "cli/record_options.hpp"
#include "cli/terminal.hpp"
#include "cli/usage.hpp"
#include "cli/zero_file.hpp"

namespace isthmus::cli {

CLI::Option* add_run_options(CLI::App& command, RunOptions& o) {
  auto* adapter = command.add_option(
      "--adapter", o.adapter,
      "serial:DEVICE | serial:@SERIALNUMBER | usb:VID:PID[:SERIALNUMBER] | tcp:HOST:PORT | "
      "pty:DEVICE | sim:SCENARIO.yaml");
  command.add_option("--unit", o.unit, "serial number of this board")->check(fit_as_name);
  command.add_option("--record", o.record,
                     "record to keep the run in (default: in the user's data folder)");
  command.add_option(
      "--report", o.report,
      "folder for report.html, report.json, findings.csv, junit.xml, top.svg, bottom.svg");
  return adapter;
}

void add_origin_option(CLI::App& command, report::Origin& origin) {
  command
      .add_option_function<std::string>(
          "--origin",
          [&origin](const std::string& word) {
            origin = word == "corner" ? report::Origin::corner : report::Origin::artwork;
          },
          "what text and page count places from: the artwork's origin, or the board's lower left "
          "corner as seen from the side that is named")
      ->type_name("WHICH")
      ->check(CLI::IsMember({"artwork", "corner"}));
}

std::optional<Problem> resumes_nobody(const RunOptions& o) {
  if (!o.resume || !o.unit.empty()) return std::nullopt;
  Problem p;
  p.code = "CLI-052";
  p.message = "--resume needs the board's serial number";
  p.hint = "add --unit SERIAL, as when the run was begun";
  return p;
}

record::RunHead head_of(const RunOptions& o, const expect::Board& board) {
  record::RunHead head;
  head.started_utc = now_utc();
  head.board = board.design.board.name;
  head.unit = o.unit;
  head.stage = std::string(name(board.expectation.stage));
  head.basis = board.expectation.basis;
  head.board_file = std::filesystem::absolute(board.design.board.path).lexically_normal();
  head.adapter_address = o.adapter;
  head.design_hash = board.hash;
  head.hashes = board.design.hashes;
  head.limits = board.design.board.limits;
  head.program_version = kVersion;
  return head;
}

void note_adapter(record::RunHead& head, const RunOptions& o,
                  const adapter::Instrument& instrument) {
  head.adapter_name = instrument.identity().maker + " " + instrument.identity().model;
  head.adapter_serial = instrument.identity().serial_number;
  if (instrument.capabilities().simulated && !report::simulated(head)) {
    head.remarks.push_back(std::string(report::kSimulatedRemark) +
                           ": measured on a simulated bench, no board was touched");
  }
  if (o.relaxed)
    head.remarks.push_back(std::string(kRelaxedRemark) + ": this verdict was given with --relaxed");
}

report::RunView view_of(record::RunHead head, const session::Outcome& outcome) {
  report::RunView view{std::move(head), outcome.result, outcome.plan, outcome.readings};
  view.head.id = outcome.run;
  view.head.remarks = outcome.remarks;
  return view;
}

void print_run(const RunOptions& o, const report::RunView& view) {
  print(o.json ? report::run_json(view)
               : report::run_text(view, {colour_on(STDOUT_FILENO), o.inch, o.origin}));
}

int end_run(const session::Outcome& outcome) {
  if (outcome.link_failure) complain(*outcome.link_failure);
  if (outcome.stopped) complain(*outcome.stopped);
  if (outcome.link_failure) return exit_code(*outcome.link_failure);
  switch (outcome.result.diagnosis.verdict) {
    case diagnose::Verdict::fail:
      return kFaults;
    case diagnose::Verdict::incomplete:
      return kIncomplete;
    case diagnose::Verdict::pass:
      return kPass;
  }
  return kOurBug;
}

namespace {

// "isthmus report 3 --record tide.db"
std::string again(const RunOptions& o, record::RunId run) {
  return fmt::format("isthmus report {}{}", run, o.record.empty() ? "" : " --record " + o.record);
}

void write_pages(const RunOptions& o, const expect::Board& board, const report::RunView& view) {
  if (o.report.empty()) return;
  if (auto written = report::write_report(o.report, view, board, o.origin); !written) {
    Problem lost = written.problem();
    lost.hint = fmt::format("{}run {} is kept: {} --report FOLDER",
                            lost.hint.empty() ? "" : lost.hint + "; ", view.head.id,
                            again(o, view.head.id));
    complain(lost);
  } else if (!o.json) {
    print(
        fmt::format("\nReport: {}\n", (std::filesystem::path(o.report) / "report.html").string()));
  }
}

// What broke off can be continued, if the record knows whose run it was.
void lead_on(const RunOptions& o, session::Outcome& outcome) {
  if (outcome.result.state != "broken off") return;
  auto& why = outcome.link_failure ? outcome.link_failure : outcome.stopped;
  if (!why) return;
  const std::string how =
      o.unit.empty()
          ? "this run cannot be continued: with --unit SERIAL, --resume goes on where one broke off"
          : "the same command with --resume goes on where it broke off";
  const bool by_hand = why->cause == Cause::interrupted;  // nothing to mend first
  const char* by = o.unit.empty() ? "; " : "; then ";
  why->hint = by_hand || why->hint.empty() ? how : why->hint + by + how;
}

}  // namespace

int finish_run(const RunOptions& o, const expect::Board& board, report::RunView view,
               session::Outcome outcome) {
  view.places = report::places_of(board);
  print_run(o, view);
  write_pages(o, board, view);
  if (!o.json) print(fmt::format("Run {} in {}\n", outcome.run, record_file(o.record).string()));
  lead_on(o, outcome);
  return unless_lost(end_run(outcome),
                     fmt::format("run {} is kept: {}", outcome.run, again(o, outcome.run)));
}

}  // namespace isthmus::cli
