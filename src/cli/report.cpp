// SPDX-License-Identifier: Apache-2.0
#include "isthmus/report/report.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include "cli/board_options.hpp"
#include "cli/commands.hpp"
#include "cli/record_options.hpp"
#include "cli/terminal.hpp"

namespace isthmus::cli {
namespace {

struct Options {
  std::vector<record::RunId> runs;
  std::string record, dir;
  bool json{false}, inch{false};
};

// The page draws the board, so its files must still be what they were when the run was made.
Result<Done> write_pages(const Options& o, const report::RunView& view) {
  BoardOptions board_options;
  board_options.file = view.head.board_file;
  board_options.keys["stage"] = view.head.stage;
  auto board = open_board(board_options);
  if (!board) return board.problem();
  if ((*board)->hash != view.head.design_hash) {
    return Problem{view.head.board_file,
                   0,
                   0,
                   "CLI-060",
                   "the design files have changed since this run",
                   "the text and --json can still be printed from the record",
                   ""};
  }
  const std::filesystem::path dir =
      o.runs.size() > 1 ? std::filesystem::path(o.dir) / fmt::format("run-{}", view.head.id)
                        : std::filesystem::path(o.dir);
  return report::write_report(dir, view, **board);
}

int run_report(const Options& o) {
  const auto file = record_file(o.record);
  if (!std::filesystem::exists(file))
    return bad_input({file.string(), 0, 0, "CLI-061", "no such record", "", ""});
  auto record = open_record(file);
  if (!record) return bad_input(record.problem());
  for (record::RunId id : o.runs) {
    auto run = (*record)->load(id);
    if (!run) return bad_input(run.problem());
    const report::RunView view{run->head, run->result};
    print(o.json ? report::run_json(view)
                 : report::run_text(view, {colour_on(STDOUT_FILENO), o.inch}));
    if (o.dir.empty()) continue;
    if (auto written = write_pages(o, view); !written) return bad_input(written.problem());
  }
  return kPass;
}

int run_history(const std::string& unit, const std::string& record_name) {
  const auto file = record_file(record_name);
  if (!std::filesystem::exists(file))
    return bad_input({file.string(), 0, 0, "CLI-061", "no such record", "", ""});
  auto record = open_record(file);
  if (!record) return bad_input(record.problem());
  auto runs = (*record)->history(unit);
  if (!runs) return bad_input(runs.problem());
  print(fmt::format("{:>5}  {:<20}  {:<16}  {:<12}  {:<13}  {}\n", "run", "started", "board",
                    "unit", "stage", "verdict"));
  for (const record::RunHead& head : *runs) {
    auto run = (*record)->load(head.id);
    if (!run) return bad_input(run.problem());
    const std::string verdict = run->result.state == "done"
                                    ? std::string(name(run->result.diagnosis.verdict))
                                    : run->result.state;
    print(fmt::format("{:>5}  {:<20}  {:<16}  {:<12}  {:<13}  {}\n", head.id, head.started_utc,
                      head.board, head.unit, head.stage, verdict));
  }
  return kPass;
}

}  // namespace

void add_report(CLI::App& app, int& exit) {
  auto* command = app.add_subcommand("report", "print runs from the record again");
  auto o = std::make_shared<Options>();
  command->add_option("RUN", o->runs, "number of a run")->required();
  command->add_option("--record", o->record, "record to read");
  command->add_option("--report", o->dir, "folder for report.html, report.json, findings.csv");
  command->add_flag("--json", o->json, "JSON alone on stdout, always in mm");
  command->add_flag("--inch", o->inch, "text in inches");
  command->callback([o, &exit] { exit = run_report(*o); });
}

void add_history(CLI::App& app, int& exit) {
  auto* command = app.add_subcommand("history", "runs in the record, newest first");
  auto unit = std::make_shared<std::string>(), record = std::make_shared<std::string>();
  command->add_option("UNIT", *unit, "only this board's serial number");
  command->add_option("--record", *record, "record to read");
  command->callback([unit, record, &exit] { exit = run_history(*unit, *record); });
}

}  // namespace isthmus::cli
