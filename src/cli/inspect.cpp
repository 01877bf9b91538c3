// SPDX-License-Identifier: Apache-2.0
#include <unistd.h>

#include <filesystem>

#include "cli/board_options.hpp"
#include "cli/commands.hpp"
#include "cli/limits.hpp"
#include "cli/run_options.hpp"
#include "cli/terminal.hpp"
#include "isthmus/expect/netlist_of_copper.hpp"
#include "isthmus/formats/quantity.hpp"
#include "isthmus/formats/text.hpp"
#include "isthmus/report/report.hpp"

namespace isthmus::cli {
namespace {

struct Options {
  BoardOptions board;
  bool json{false}, inch{false}, resistances{false}, holes{false};
  std::vector<std::string> between;
  std::string export_netlist, page, tip{"0.5 mm"};
  report::Origin origin{report::Origin::artwork};
};

Result<Done> must_be_new(const std::string& file) {
  if (!std::filesystem::exists(file)) return Done{};
  return Problem{file, 0, 0, "CLI-030", "exists already", "name another file, or remove it", ""};
}

std::optional<Problem> export_netlist(const expect::Board& board, const std::string& file) {
  if (auto fresh = must_be_new(file); !fresh) return fresh.problem();
  const formats::Netlist netlist = expect::netlist_of_copper(board);
  if (netlist.records.empty()) {
    return Problem{file,
                   0,
                   0,
                   "CLI-032",
                   "no point lies on copper: there is no netlist to write",
                   "check the stage and the netlist's origin",
                   ""};
  }
  const auto written = formats::write_whole_file(file, formats::write_ipc_d_356(netlist));
  if (!written) return written.problem();
  return std::nullopt;
}

bool contains_comma(const std::string& text) { return text.find(',') != std::string::npos; }

Result<Nanometres> tip_diameter(const std::string& text) {
  constexpr Nanometres kLeast = 50_um, kMost = 5_mm;
  auto tip = formats::parse_length(text);
  if (!tip)
    return Problem{"--tip",
                   0,
                   0,
                   "CLI-033",
                   tip.problem().message,
                   contains_comma(text) ? tip.problem().hint
                                        : "name the diameter with its unit: --tip '0.5 mm'",
                   ""};
  if (*tip < kLeast || *tip > kMost) {
    return Problem{
        "--tip", 0, 0, "CLI-033", "no tip is that wide: " + text, "a diameter from 0.05 to 5 mm",
        ""};
  }
  return tip;
}

Result<report::Between> predict(const expect::Board& board, const std::vector<std::string>& names,
                                Nanometres tip) {
  report::Between between{names[0], names[1], std::nullopt};
  std::vector<copper::Electrode> ends;
  for (std::string* name : {&between.from, &between.to}) {
    Result<PointId> point = expect::find_point(board.expectation, *name, std::nullopt);
    if (!point) return point.problem();
    const std::string& id = board.expectation.point(*point).id;
    if (formats::lower(id) == formats::lower(*name)) *name = id;  // typed in other capitals
    if (const auto electrode = expect::electrode_of(board, *point, tip)) ends.push_back(*electrode);
  }
  if (ends.size() == 2) {
    copper::Field field(board.copper, expect::conducting_barrels(board), expect::foil_of(board));
    between.predicted = field.between(ends[0], ends[1]);
  }
  return between;
}

int inspect(const Options& o) {
  const auto tip = tip_diameter(o.tip);
  if (!tip) return bad_input(tip.problem());
  auto board = open_board(o.board);
  if (!board) return bad_input(board.problem());
  if (const auto high = unsafe(**board)) return bad_input(*high);
  report::Foretold foretold;
  foretold.tip = *tip;
  foretold.holes = o.holes;
  if (!o.between.empty()) {
    auto predicted = predict(**board, o.between, *tip);
    if (!predicted) return bad_input(predicted.problem());
    foretold.between = *predicted;
  }
  if (!o.export_netlist.empty()) {
    if (auto p = export_netlist(**board, o.export_netlist)) return bad_input(*p);
  }
  if (!o.page.empty()) {
    if (auto fresh = must_be_new(o.page); !fresh) return bad_input(fresh.problem());
    const auto written = formats::write_whole_file(o.page, report::capability_html(**board));
    if (!written) return bad_input(written.problem());
  }
  if (o.resistances) {
    ProgressLine line;
    foretold.nets = expect::net_resistances(
        **board, *tip, [&line](std::size_t done, std::size_t of) { line.draw(done, of, "nets"); });
    line.clear();
  }
  print(o.json ? report::inspect_json(**board, foretold)
               : report::inspect_text(**board, foretold,
                                      {colour_on(STDOUT_FILENO), o.inch, o.origin}));
  return (*board)->expectation.disagreements.empty() ? kPass : kFaults;
}

// With a value it is the key of board.yaml, as for every command; without, a question.
void add_holes(CLI::App& command, const std::shared_ptr<Options>& o) {
  command.remove_option(command.get_option("--holes"));
  command
      .add_option_function<std::vector<std::string>>(
          "--holes",
          [o](const std::vector<std::string>& values) {
            const bool key = !values.empty() && !values[0].empty();
            o->holes = !key;
            if (key) o->board.keys["holes"] = values[0];
          },
          "without a value, after BOARD: list the holes that can be joined")
      ->type_name("LIST")
      ->expected(0, 1);
}

}  // namespace

void add_inspect(CLI::App& app, int& exit) {
  auto* command =
      app.add_subcommand("inspect", "what must conduct; artwork against netlist; tight places");
  auto o = std::make_shared<Options>();
  add_board_options(*command, o->board);
  command->add_flag("--json", o->json, "JSON alone on stdout, always in mm");
  command->add_flag("--inch", o->inch, "text in inches");
  add_origin_option(*command, o->origin);
  command->add_option("--between", o->between, "predicted resistance between two points")
      ->expected(2);
  command->add_flag("--resistances", o->resistances,
                    "predicted resistance of every net between its farthest points");
  add_holes(*command, o);
  command->add_option("--tip", o->tip,
                      "diameter of the tips that --between and --resistances touch with (0.5 mm)");
  command->add_option("--export-netlist", o->export_netlist,
                      "write what the copper itself connects as an IPC-D-356A file");
  command->add_option("--page", o->page,
                      "write a page to take to the printer: what falls short of the process");
  command->callback([o, &exit] { exit = inspect(*o); });
}

}  // namespace isthmus::cli
