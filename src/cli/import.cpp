// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/import.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>

#include "cli/commands.hpp"
#include "cli/terminal.hpp"
#include "cli/usage.hpp"
#include "isthmus/formats/design.hpp"
#include "isthmus/formats/names.hpp"

namespace isthmus::cli {
namespace {

struct Options {
  std::vector<std::string> files;
  std::string out{"board.yaml"}, name, stage;
  bool force{false};
};

std::filesystem::path common_folder(const std::vector<formats::ImportedFile>& files) {
  std::filesystem::path common;
  for (std::size_t i = 0; i < files.size(); ++i) {
    if (files[i].file.empty()) continue;
    const std::filesystem::path folder = files[i].file.parent_path();
    if (i == 0) common = folder;
    std::filesystem::path shared;
    auto a = common.begin();
    for (auto b = folder.begin(); a != common.end() && b != folder.end() && *a == *b; ++a, ++b) {
      shared /= *a;
    }
    common = shared;
  }
  return common;
}

std::string table(const std::vector<formats::ImportedFile>& all) {
  const auto [files, more] = formats::told(all);
  const std::filesystem::path folder = common_folder(files);
  const auto seen = [&folder](const formats::ImportedFile& f) {
    if (f.file.empty()) return std::string("-");
    return formats::one_line(folder.empty() ? f.file : f.file.lexically_relative(folder));
  };
  constexpr std::size_t kWidest = 48;
  std::size_t width = 0;
  for (const auto& f : files) width = std::max(width, std::min(seen(f).size(), kWidest));
  std::string out = folder.empty() ? "" : folder.string() + "\n";
  for (const auto& f : files) {
    out += fmt::format("  {:<13}  {:<{}}  {}\n", f.role, seen(f), width, f.why);
  }
  if (more > 0) out += fmt::format("  {:<13}  {} more that are no design files\n", "left", more);
  return out;
}

std::string fit(const std::vector<formats::FitShare>& shares) {
  std::string out;
  for (const formats::FitShare& s : shares) {
    out += fmt::format("  {:<13}  {} of {} {}\n", s.what, s.landed, s.of, s.how);
  }
  return out.empty() ? out : "Fit to the copper\n" + out;
}

Result<formats::ImportWish> wish_of(const Options& o) {
  formats::ImportWish wish;
  wish.paths.assign(o.files.begin(), o.files.end());
  wish.out = o.out;
  wish.name = o.name;
  if (wish.name.empty()) {
    std::filesystem::path first = std::filesystem::absolute(wish.paths[0]).lexically_normal();
    if (!first.has_filename()) first = first.parent_path();
    wish.name =
        std::filesystem::is_directory(first) ? first.filename().string() : first.stem().string();
  }
  if (const std::string unfit = formats::unfit_as_name(wish.name); !unfit.empty()) {
    return Problem{"",
                   0,
                   0,
                   "CLI-034",
                   "the board would be called as the first of FILES is, and " + unfit,
                   "name the board in one line of UTF-8: --name TEXT",
                   ""};
  }
  if (o.stage.empty()) return wish;
  wish.stage = parse_stage(o.stage);
  if (o.stage == "soldered") {
    return Problem{"",
                   0,
                   0,
                   "CLI-031",
                   "stage 'soldered' is not tested yet: parts conduct, and a test voltage may harm "
                   "them",
                   "take the parts off, or test the next board before they are soldered in",
                   ""};
  }
  if (!wish.stage) {
    return Problem{"",
                   0,
                   0,
                   "CLI-031",
                   "'" + o.stage + "' is not a stage",
                   "etched-top | etched-bottom | etched | joined | finished",
                   ""};
  }
  return wish;
}

int run_import(const Options& o) {
  if (auto free = not_replacing(o.out, o.force); !free) return bad_input(free.problem());
  const auto wish = wish_of(o);
  if (!wish) return bad_input(wish.problem());
  Diagnostics notes;
  const auto imported = formats::import_files(*wish, notes);
  show(notes, false);
  if (!imported) return bad_input(imported.problem());
  if (auto written = formats::write_whole_file(o.out, formats::import_text(*imported)); !written)
    return bad_input(written.problem());
  const std::string taken = table(imported->files);
  if (imported->trouble) {  // stdout stays empty
    complain(*imported->trouble);
    std::fputs(taken.c_str(), stderr);
    std::fprintf(stderr, "Wrote %s, but it cannot be used until that is mended.\n", o.out.c_str());
    return kBadInput;
  }
  print(taken + fit(imported->fit));
  print(fmt::format(
      "Wrote {} (stage {}). Read it and correct what is wrong; then: isthmus inspect {}\n", o.out,
      name(imported->board.stage), o.out));
  if (imported->contradicts) print("The files contradict each other: see the warnings above.\n");
  return imported->contradicts ? kFaults : kPass;
}

}  // namespace

void add_import(CLI::App& app, int& exit) {
  auto* command =
      app.add_subcommand("import", "recognise design files and write the board description");
  auto o = std::make_shared<Options>();
  command->add_option("FILES", o->files, "files, a folder or a zip")->required();
  command->add_option("--out", o->out, "board description to write")->capture_default_str();
  command->add_option("--name", o->name, "name of the board")->check(fit_as_name);
  command->add_option("--stage", o->stage, "stage the board is at");
  command->add_flag("--force", o->force, "replace an existing file");
  command->callback([o, &exit] { exit = run_import(*o); });
}

}  // namespace isthmus::cli
