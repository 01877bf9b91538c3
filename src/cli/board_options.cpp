// SPDX-License-Identifier: Apache-2.0
#include "cli/board_options.hpp"

#include <array>

#include "cli/terminal.hpp"
#include "isthmus/formats/yaml.hpp"

namespace isthmus::cli {
namespace {

struct Key {
  const char* name;
  const char* help;
};
constexpr std::array kKeys{
    Key{"name", "name of the board"},
    Key{"stage", "etched-top | etched-bottom | etched | joined | finished"},
    Key{"joins", "all | none | plated | a YAML list of places"},
    Key{"netlist", "netlist file, or gerber-x2, or artwork"},
    Key{"artwork.top", "top copper Gerber"},
    Key{"artwork.bottom", "bottom copper Gerber"},
    Key{"artwork.inner", "YAML list of inner copper Gerbers"},
    Key{"artwork.outline", "outline Gerber"},
    Key{"mask.top", "top solder-mask Gerber"},
    Key{"mask.bottom", "bottom solder-mask Gerber"},
    Key{"holes", "YAML list of drill files"},
    Key{"net-ties", "YAML list of lists of nets that share copper by design"},
    Key{"links", "YAML list of wire jumpers"},
    Key{"waive", "YAML list of what not to test, with why"},
    Key{"placed.top", "YAML list of measured marks"},
    Key{"placed.bottom", "YAML list of measured marks"},
    Key{"copper.thickness", "35 um"},
    Key{"copper.temperature", "20 degC"},
    Key{"process.gap", "smallest gap the process holds"},
    Key{"process.track", "narrowest track the process holds"},
    Key{"process.undercut", "copper lost per side"},
    Key{"process.registration", "side-to-side misfit"},
    Key{"process.drill-wander", "how far a hole may be off"},
    Key{"limits.continuity", "10 ohm"},
    Key{"limits.isolation", "10 Mohm"},
    Key{"limits.bridge", "below this an isolation reading is a bridge"},
    Key{"limits.excess", "above the predicted resistance by more: high-resistance"},
    Key{"limits.voltage", "test voltage for isolation"},
    Key{"limits.window", "pairs farther apart are not tested"},
};

}  // namespace

void add_board_options(CLI::App& command, BoardOptions& options) {
  command.add_option("BOARD", options.file, "board description (board.yaml)")->required();
  command.add_flag("--notes", options.notes, "show notes on the files, not only warnings");
  for (const Key& key : kKeys) {
    const std::string name = key.name;
    command
        .add_option_function<std::string>(
            "--" + name, [&options, name](const std::string& text) { options.keys[name] = text; },
            key.help)
        ->group("Keys of board.yaml");
  }
}

Result<std::unique_ptr<expect::Board>> open_board(const BoardOptions& options) {
  std::vector<formats::YamlOverride> overrides;
  for (const auto& [key, text] : options.keys) overrides.push_back({key, text});
  Result<formats::BoardFile> file = formats::read_board_file(options.file, overrides);
  if (!file) return file.problem();
  Diagnostics notes;
  ProgressLine line;
  line.say("reading the design and working out its copper");
  auto board = expect::load_board(*file, notes);
  line.clear();
  show(notes, options.notes);
  return board;
}

}  // namespace isthmus::cli
