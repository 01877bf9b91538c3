// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/import.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>

#include "formats/paths.hpp"
#include "formats/registration/share.hpp"
#include "isthmus/formats/design.hpp"
#include "isthmus/formats/recognise.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

using Path = std::filesystem::path;
constexpr std::string_view kLeftOut = "left out: ";

// Of what can be done without, the file that this is about; it is taken out of the description.
bool drop(BoardFile& board, const std::string& file) {
  for (auto* key : {&board.outline, &board.mask_top, &board.mask_bottom}) {
    if (!*key || (*key)->string() != file) continue;
    *key = std::nullopt;
    return true;
  }
  return false;
}

class Import {
 public:
  Import(const ImportWish& wish, Diagnostics& notes) : wish_(wish), notes_(notes) {}

  Result<Imported> run() {
    Result<std::vector<Recognised>> found = recognise(wish_.paths, wish_.out.parent_path(), notes_);
    if (!found) return found.problem();
    Result<BoardFile> board = assemble_board(*found, wish_.name, notes_);
    if (!board) return with_archives(board.problem());
    out_.board = std::move(*board);
    out_.board.path = wish_.out;
    if (wish_.stage) out_.board.stage = *wish_.stage;
    load();
    list(*found);
    return std::move(out_);
  }

 private:
  // A folder without a design may hold one packed.
  [[nodiscard]] Problem with_archives(Problem problem) const {
    if (problem.code != "IMP-006") return problem;
    for (const Diagnostic& d : notes_.list()) {
      if (d.what.code == "IMP-022") {
        problem.hint += "\n  not looked into: " + one_line(d.what.file) + "; import it by name";
      }
    }
    return problem;
  }

  void load() {
    for (;;) {
      Diagnostics said;
      Result<Design> design = load_design(out_.board, said);
      const bool reader = !design && design.problem().code.substr(0, 4) == "GBR-";
      if (reader && drop(out_.board, design.problem().file)) {
        leave(design.problem());
        continue;
      }
      for (const Diagnostic& d : said.list()) take(d);
      if (!design) {
        out_.trouble = design.problem();
      } else {
        look_for_missing(*design);
        out_.fit = fit_shares(*design);
        out_.holes = grouped_holes(*design);
      }
      return;
    }
  }

  void leave(const Problem& why) {
    const std::string text = fmt::format("cannot be read: {} ({}{})", why.message, why.code,
                                         why.line > 0 ? fmt::format(", line {}", why.line) : "");
    left_[why.file] = text;
    notes_.warn({why.file, 0, 0, "IMP-028", std::string(kLeftOut) + text,
                 "the board can be tested without it", ""});
  }

  void take(const Diagnostic& d) {
    static constexpr std::array<std::string_view, 5> kContradict{"DSN-015", "DSN-018", "DSN-021",
                                                                 "DSN-022", "DSN-023"};
    const bool warning = d.severity == Severity::warning;
    out_.contradicts |= warning && std::ranges::find(kContradict, d.what.code) != kContradict.end();
    warning ? notes_.warn(d.what) : notes_.note(d.what);
  }

  void look_for_missing(const Design& design) {
    Diagnostics missing;
    note_missing(design, missing);
    for (const Diagnostic& d : missing.list()) notes_.warn(d.what);
    out_.contradicts |= !missing.list().empty();
  }

  void list(const std::vector<Recognised>& found) {
    for (const Recognised& r : found) why_[r.file] = r.why;
    for (const Diagnostic& d : notes_.list()) {
      if (d.what.code != "IMP-020" && d.what.code != "IMP-022") continue;
      const bool out = d.what.message.substr(0, kLeftOut.size()) == kLeftOut;
      left_[d.what.file] = out ? d.what.message.substr(kLeftOut.size()) : d.what.message;
    }
    list_taken();
    for (const auto& [file, why] : left_) {
      const auto r = std::ranges::find(found, Path(file), &Recognised::file);
      const bool junk = r != found.end() && r->role == FileRole::other && !r->gerber;
      out_.files.push_back({"left", file, why, junk});
    }
  }

  void add(const std::string& role, const std::optional<Path>& file) {
    if (file) out_.files.push_back({role, *file, why_[*file]});
  }

  void list_taken() {
    const BoardFile& b = out_.board;
    add("top copper", b.top);
    for (std::size_t i = 0; i < b.inner.size(); ++i) {
      add(fmt::format("L{} copper", i + 2), b.inner[i]);
    }
    add("bottom copper", b.bottom);
    add("outline", b.outline);
    add("top mask", b.mask_top);
    add("bottom mask", b.mask_bottom);
    for (const HoleFileEntry& h : b.holes) {
      add("holes", h.file);
      if (h.plated) {
        out_.files.back().why += *h.plated ? ", named like plated" : ", named like not plated";
      }
      if (h.span) {
        out_.files.back().why +=
            fmt::format(", named like L{} to L{}", h.span->first, h.span->second);
      }
    }
    if (b.netlist_source == NetlistSource::file) add("netlist", b.netlist);
    if (b.netlist_source == NetlistSource::gerber_x2) {
      out_.files.push_back({"netlist", "", "the net names that the copper files carry"});
    }
  }

  const ImportWish& wish_;
  Diagnostics& notes_;
  Imported out_;
  std::map<Path, std::string> why_;
  std::map<std::string, std::string> left_;
};

std::string in_comment(const Path& file, const BoardFile& board) {
  if (file.empty()) return "-";
  const Path way = seen_from(folder_of(board.path), file);
  const bool outside = file.is_absolute() && !way.empty() && *way.begin() == "..";
  return one_line(outside ? file : way);
}

// The holes as a list to take the comment signs from.
std::string list_of_holes(const std::vector<GroupedHole>& holes) {
  if (holes.empty()) return "";
  std::string out =
      "# What can conduct through holes, for 'joins' above. By group: joins: {vias: wire, "
      "components: wire,\n# leads: deferred}; or one by one, without the comment signs and in "
      "place "
      "of 'joins' above:\n# joins:\n";
  std::optional<HoleGroup> group;
  for (const GroupedHole& h : holes) {
    if (group != h.group) {
      static constexpr std::array kWhat{
          "vias", "components: holes with copper beside the pad on two layers",
          "leads: holes that only hold a lead, soldered later"};
      group = h.group;
      const auto count = std::ranges::count(holes, h.group, &GroupedHole::group);
      out += fmt::format("#   # {} ({})\n", kWhat[static_cast<std::size_t>(h.group)], count);
    }
    out += fmt::format("#   - {{at: [{:.3f}, {:.3f}], kind: {}}}{}\n", to_mm(h.at.x), to_mm(h.at.y),
                       h.group == HoleGroup::lead ? "lead, deferred: true" : "wire",
                       h.point.empty() ? "" : "  # " + shown(h.point));
  }
  return out;
}

}  // namespace

Result<Imported> import_files(const ImportWish& wish, Diagnostics& notes) {
  return Import(wish, notes).run();
}

Told told(const std::vector<ImportedFile>& files) {
  constexpr std::size_t kMostJunk = 5;
  Told out;
  std::size_t junk = 0;
  for (const ImportedFile& f : files) {
    junk += f.junk ? 1u : 0u;
    if (f.junk && junk > kMostJunk) {
      ++out.more;
    } else {
      out.files.push_back(f);
    }
  }
  return out;
}

std::string one_line(const Path& file) {
  std::string text = file.string();
  std::ranges::replace_if(
      text, [](char c) { return static_cast<unsigned char>(c) < 0x20; }, '?');
  return text;
}

std::string import_text(const Imported& imported) {
  const Told lines = told(imported.files);
  std::string out = "# Written by isthmus import: what each file was taken for, and why.\n";
  std::size_t width = 0;
  for (const ImportedFile& f : lines.files) {
    width = std::max(width, in_comment(f.file, imported.board).size());
  }
  for (const ImportedFile& f : lines.files) {
    out += fmt::format("#   {:<13}  {:<{}}  {}\n", f.role, in_comment(f.file, imported.board),
                       std::min<std::size_t>(width, 60), f.why);
  }
  if (lines.more > 0)
    out += fmt::format("#   left           {} more that are no design files\n", lines.more);
  out += "# Read it and correct it. Keys: docs/formats/board.md\n";
  std::string text = write_board_file(imported.board);
  text += list_of_holes(imported.holes);
  const std::string joins = "joins: none\n";
  if (const auto at = text.find("\n" + joins); at != std::string::npos) {
    text.replace(
        at + 1, joins.size(),
        "joins: none        # what conducts through holes: all | none | plated | {vias: wire, "
        "leads: deferred} | [[x, y], ...]\n");
  }
  return out + text;
}

}  // namespace isthmus::formats
