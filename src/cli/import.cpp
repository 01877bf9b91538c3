// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <filesystem>

#include "cli/commands.hpp"
#include "cli/terminal.hpp"
#include "isthmus/formats/design.hpp"
#include "isthmus/formats/recognise.hpp"

namespace isthmus::cli {
namespace {

struct Options {
  std::vector<std::string> files;
  std::string out{"board.yaml"}, name, stage;
  bool force{false};
};

std::string_view word(formats::FileRole role) {
  switch (role) {
    case formats::FileRole::copper:
      return "copper";
    case formats::FileRole::mask:
      return "mask";
    case formats::FileRole::outline:
      return "outline";
    case formats::FileRole::drill:
      return "drill";
    case formats::FileRole::netlist:
      return "netlist";
    case formats::FileRole::other:
      return "left out";
  }
  return "";
}

std::string describe(const formats::Recognised& r) {
  std::string what{word(r.role)};
  if (r.role == formats::FileRole::copper || r.role == formats::FileRole::mask) {
    what += r.side == Side::both ? fmt::format(" L{}", r.layer) : fmt::format(" {}", name(r.side));
  }
  return fmt::format("{:<16} {}  ({})\n", what, r.file.string(), r.why);
}

int run_import(const Options& o) {
  const std::filesystem::path out = o.out;
  if (std::filesystem::exists(out) && !o.force) {
    return bad_input({out.string(), 0, 0, "CLI-030", "exists already",
                      "name another --out, or --force to replace it", ""});
  }
  Diagnostics notes;
  const std::vector<std::filesystem::path> paths(o.files.begin(), o.files.end());
  auto files = formats::recognise(paths, out.parent_path(), notes);
  if (!files) return bad_input(files.problem());
  std::string name = o.name;
  if (name.empty()) name = std::filesystem::absolute(paths[0]).lexically_normal().stem().string();
  auto board = formats::assemble_board(*files, name, notes);
  show(notes, false);
  if (!board) return bad_input(board.problem());
  if (!o.stage.empty()) {
    const auto stage = parse_stage(o.stage);
    if (!stage)
      return bad_input({"", 0, 0, "CLI-031", "'" + o.stage + "' is not a stage",
                        "etched-top | etched-bottom | etched | joined | finished", ""});
    board->stage = *stage;
  }
  board->path = out;
  if (auto written = formats::write_whole_file(out, formats::write_board_file(*board)); !written)
    return bad_input(written.problem());
  for (const formats::Recognised& r : *files) print(describe(r));
  print(fmt::format(
      "\nWrote {} (stage {}). Read it and correct what is wrong; then: isthmus inspect {}\n",
      out.string(), isthmus::name(board->stage), out.string()));
  return kPass;
}

}  // namespace

void add_import(CLI::App& app, int& exit) {
  auto* command =
      app.add_subcommand("import", "recognise design files and write the board description");
  auto o = std::make_shared<Options>();
  command->add_option("FILES", o->files, "files, a folder or a zip")->required();
  command->add_option("--out", o->out, "board description to write")->capture_default_str();
  command->add_option("--name", o->name, "name of the board");
  command->add_option("--stage", o->stage, "stage the board is at");
  command->add_flag("--force", o->force, "replace an existing file");
  command->callback([o, &exit] { exit = run_import(*o); });
}

}  // namespace isthmus::cli
