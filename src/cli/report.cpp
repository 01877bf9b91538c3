// SPDX-License-Identifier: Apache-2.0
#include "isthmus/report/report.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <map>

#include "cli/board_options.hpp"
#include "cli/commands.hpp"
#include "cli/limits.hpp"
#include "cli/record_options.hpp"
#include "cli/run_options.hpp"
#include "cli/terminal.hpp"

namespace isthmus::cli {
namespace {

struct Options {
  std::vector<record::RunId> runs;
  std::string record, dir;
  bool json{false}, inch{false};
  report::Origin origin{report::Origin::artwork};
};

// Places on tracks that the run's fixture touched: points after those of the files.
Result<Done> add_places(expect::Board& board, const plan::Plan& plan) {
  std::map<PointId, const plan::Probe*> places;
  for (const plan::Placement& placement : plan.placements) {
    for (const plan::Probe& probe : placement.probes) {
      if (index(probe.point) >= board.expectation.points.size())
        places.emplace(probe.point, &probe);
    }
  }
  for (const auto& [point, probe] : places) {
    if (auto added = expect::add_place(board, probe->at, probe->side); !added)
      return added.problem();
  }
  return Done{};
}

// The design the run was made with: its files must still be what they were.
Result<std::unique_ptr<expect::Board>> board_of(const record::StoredRun& run) {
  BoardOptions board_options;
  board_options.file = run.head.board_file;
  board_options.keys["stage"] = run.head.stage;
  auto board = open_board(board_options);
  if (!board) return board.problem();
  if ((*board)->hash != run.head.design_hash) {
    return Problem{run.head.board_file,
                   0,
                   0,
                   "CLI-060",
                   "the design files have changed since this run",
                   "the text and --json can still be printed from the record",
                   ""};
  }
  if (auto added = add_places(**board, run.plan); !added) return added.problem();
  return board;
}

Result<Done> write_pages(const Options& o, const report::RunView& view,
                         const expect::Board& board) {
  const std::filesystem::path dir =
      o.runs.size() > 1 ? std::filesystem::path(o.dir) / fmt::format("run-{}", view.head.id)
                        : std::filesystem::path(o.dir);
  return report::write_report(dir, view, board, o.origin);
}

void print_run(const Options& o, const report::RunView& view) {
  print(o.json ? report::run_json(view)
               : report::run_text(view, {colour_on(STDOUT_FILENO), o.inch, o.origin}));
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
    report::RunView view{run->head, run->result, run->plan, run->readings};
    std::unique_ptr<expect::Board> board;
    const bool corner = o.origin == report::Origin::corner && !o.json;
    if (corner || !o.dir.empty()) {
      auto design = board_of(*run);
      if (!design && corner) return bad_input(design.problem());
      if (design) board = std::move(*design);
      if (!design) {  // what needs no design is printed all the same
        print_run(o, view);
        return bad_input(design.problem());
      }
      view.places = report::places_of(*board);
    }
    print_run(o, view);
    if (o.dir.empty()) continue;
    if (auto written = write_pages(o, view, *board); !written) return bad_input(written.problem());
  }
  return kPass;
}

Problem unknown_unit(record::Record& record, const std::filesystem::path& file,
                     const std::string& unit) {
  std::vector<std::string> units;
  if (const auto runs = record.history("")) {
    for (const record::RunHead& head : *runs) {
      if (!head.unit.empty() && std::ranges::find(units, head.unit) == units.end())
        units.push_back(head.unit);
    }
  }
  constexpr std::size_t kNamed = 10;
  std::string hint;
  for (std::size_t i = 0; i < std::min(kNamed, units.size()); ++i)
    hint += (i ? ", " : "the units in it: ") + units[i];
  if (units.size() > kNamed) hint += fmt::format(" and {} more", units.size() - kNamed);
  return {file.string(), 0, 0, "CLI-062", "no unit '" + unit + "' was ever tested", hint, ""};
}

using HistoryRow = std::array<std::string, 7>;  // run, started, board, unit, stage, basis, verdict

// Columns as wide as what stands in them.
std::string history_table(const std::vector<HistoryRow>& rows) {
  std::array<std::size_t, 7> width{};
  for (const HistoryRow& row : rows) {
    for (std::size_t i = 0; i < row.size(); ++i) width[i] = std::max(width[i], row[i].size());
  }
  std::string out;
  for (const HistoryRow& row : rows) {
    out += fmt::format("{:>{}}", row[0], width[0]);
    for (std::size_t i = 1; i + 1 < row.size(); ++i)
      out += fmt::format("  {:<{}}", row[i], width[i]);
    out += "  " + row.back() + "\n";
  }
  return out;
}

// What makes a verdict less than it seems.
std::string marks_of(const record::RunHead& head, const record::RunResult& result) {
  std::string marks;
  if (const auto n = result.diagnosis.waived.size(); n > 0) marks += fmt::format(", {} waived", n);
  if (head.remarks.end() != std::ranges::find_if(head.remarks, [](const std::string& remark) {
        return remark.starts_with(kRelaxedRemark);
      })) {
    marks += ", relaxed limits";
  }
  if (report::simulated(head)) marks += ", simulated";
  return marks;
}

int run_history(const std::string& unit, const std::string& record_name) {
  const auto file = record_file(record_name);
  if (!std::filesystem::exists(file))
    return bad_input({file.string(), 0, 0, "CLI-061", "no such record", "", ""});
  auto record = open_record(file);
  if (!record) return bad_input(record.problem());
  auto runs = (*record)->history(unit);
  if (!runs) return bad_input(runs.problem());
  if (runs->empty() && !unit.empty()) return bad_input(unknown_unit(**record, file, unit));
  if (runs->empty()) {
    print("No run is in " + file.string() + " yet.\n");
    return kPass;
  }
  std::vector<HistoryRow> rows{{"run", "started", "board", "unit", "stage", "basis", "verdict"}};
  for (const record::RunHead& head : *runs) {
    auto run = (*record)->load(head.id);
    if (!run) return bad_input(run.problem());
    rows.push_back({std::to_string(head.id), head.started_utc, head.board, head.unit, head.stage,
                    head.basis,
                    run->result.state == "done" ? std::string(name(run->result.diagnosis.verdict))
                                                : run->result.state});
    rows.back().back() += marks_of(run->head, run->result);
  }
  print(history_table(rows));
  return kPass;
}

}  // namespace

void add_report(CLI::App& app, int& exit) {
  auto* command = app.add_subcommand("report", "print runs from the record again");
  auto o = std::make_shared<Options>();
  command->add_option("RUN", o->runs, "number of a run")->required();
  command->add_option("--record", o->record, "record to read");
  command->add_option(
      "--report", o->dir,
      "folder for report.html, report.json, findings.csv, junit.xml, top.svg, bottom.svg");
  command->add_flag("--json", o->json, "JSON alone on stdout, always in mm");
  command->add_flag("--inch", o->inch, "text in inches");
  add_origin_option(*command, o->origin);
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
