// SPDX-License-Identifier: Apache-2.0
#include "cli/run_options.hpp"

#include <unistd.h>

#include <filesystem>

#include "cli/commands.hpp"
#include "cli/limits.hpp"
#include "cli/terminal.hpp"
#include "cli/zero_file.hpp"

namespace isthmus::cli {

CLI::Option* add_run_options(CLI::App& command, RunOptions& o) {
  auto* adapter = command.add_option(
      "--adapter", o.adapter,
      "serial:DEVICE | serial:@SERIALNUMBER | usb:VID:PID[:SERIALNUMBER] | tcp:HOST:PORT | "
      "pty:DEVICE | sim:SCENARIO.yaml");
  command.add_option("--unit", o.unit, "serial number of this board");
  command.add_option("--record", o.record,
                     "record to keep the run in (default: in the user's data folder)");
  command.add_option(
      "--report", o.report,
      "folder for report.html, report.json, findings.csv, junit.xml, top.svg, bottom.svg");
  return adapter;
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
  head.board_file = std::filesystem::absolute(o.board.file).lexically_normal();
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
               : report::run_text(view, {colour_on(STDOUT_FILENO), o.inch}));
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

}  // namespace isthmus::cli
