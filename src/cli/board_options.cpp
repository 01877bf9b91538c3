// SPDX-License-Identifier: Apache-2.0
#include "cli/board_options.hpp"

#include <fmt/format.h>

#include <array>

#include "cli/board_argument.hpp"
#include "cli/terminal.hpp"
#include "isthmus/formats/yaml.hpp"

namespace isthmus::cli {
namespace {

struct Key {
  const char* name;
  const char* value;
  const char* help;
};
constexpr std::array kKeys{
    Key{"name", "TEXT", "name of the board"},
    Key{"stage", "STAGE", "etched-top | etched-bottom | etched | joined | finished"},
    Key{"joins", "WHICH", "all | none | plated | a YAML list of places"},
    Key{"netlist", "FILE", "netlist file, or gerber-x2, or artwork"},
    Key{"artwork.top", "FILE", "top copper Gerber"},
    Key{"artwork.bottom", "FILE", "bottom copper Gerber"},
    Key{"artwork.inner", "LIST", "YAML list of inner copper Gerbers"},
    Key{"artwork.outline", "FILE", "outline Gerber"},
    Key{"mask.top", "FILE", "top solder-mask Gerber"},
    Key{"mask.bottom", "FILE", "bottom solder-mask Gerber"},
    Key{"holes", "LIST", "YAML list of drill files"},
    Key{"net-ties", "LIST", "YAML list of lists of nets that share copper by design"},
    Key{"links", "LIST", "YAML list of wire jumpers"},
    Key{"waive", "LIST", "YAML list of what not to test, with why"},
    Key{"placed.top", "LIST", "YAML list of measured marks"},
    Key{"placed.bottom", "LIST", "YAML list of measured marks"},
    Key{"copper.thickness", "LENGTH", "of the foil, as '35 um'"},
    Key{"copper.temperature", "TEMPERATURE", "of the board, as '20 degC'"},
    Key{"process.gap", "LENGTH", "smallest gap the process holds, as '0.2 mm'"},
    Key{"process.track", "LENGTH", "narrowest track the process holds, as '0.2 mm'"},
    Key{"process.undercut", "LENGTH", "copper lost per side, as '15 um'"},
    Key{"process.registration", "LENGTH", "side-to-side misfit, as '0.2 mm'"},
    Key{"process.drill-wander", "LENGTH", "how far a hole may be off, as '0.1 mm'"},
    Key{"limits.continuity", "RESISTANCE", "above it a net is open, as '10 ohm'"},
    Key{"limits.isolation", "RESISTANCE", "below it two nets leak, as '10 Mohm'"},
    Key{"limits.bridge", "RESISTANCE", "below it they are bridged, as '100 kohm'"},
    Key{"limits.excess", "RESISTANCE",
        "more than this above the predicted one is high, as '1 ohm'"},
    Key{"limits.voltage", "VOLTAGE", "test voltage for isolation, as '10 V'"},
    Key{"limits.window", "LENGTH", "pairs farther apart are not tested, as '1.27 mm'"},
};

std::string keys_in_words() {
  std::string text = "Keys of board.yaml:\n";
  for (const Key& key : kKeys)
    text += fmt::format("  {:<34}  {}\n", fmt::format("--{} {}", key.name, key.value), key.help);
  return text +
         "\nAn option goes before what the file says. A value carries its unit, in quotes where "
         "there "
         "is a blank.\n";
}

}  // namespace

void add_board_options(CLI::App& command, BoardOptions& options) {
  command
      .add_option("BOARD", options.file, "board description (board.yaml), or the folder it lies in")
      ->required();
  command.add_flag("--notes", options.notes, "show notes on the files, not only warnings");
  for (const Key& key : kKeys) {
    const std::string name = key.name;
    command
        .add_option_function<std::string>(
            "--" + name, [&options, name](const std::string& text) { options.keys[name] = text; },
            key.help)
        ->type_name(key.value)
        ->group("");  // thirty lines that few look for: --help-keys
  }
  command.add_flag_callback(
      "--help-keys", [] { throw CLI::CallForVersion(keys_in_words(), 0); },
      "print the options that stand for keys of BOARD and exit");
}

Result<std::unique_ptr<expect::Board>> open_board(const BoardOptions& options) {
  std::vector<formats::YamlOverride> overrides;
  for (const auto& [key, text] : options.keys) overrides.push_back({key, text});
  const auto description = board_description(options.file);
  if (!description) return description.problem();
  Result<formats::BoardFile> file = formats::read_board_file(*description, overrides);
  if (!file) return unless_design_file(*description, file.problem());
  Diagnostics notes;
  ProgressLine line;
  line.say("reading the design and working out its copper");
  auto board = expect::load_board(*file, notes);
  line.clear();
  show(notes, options.notes);
  return board;
}

}  // namespace isthmus::cli
