// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <climits>
#include <tuple>

#include "formats/import/contest.hpp"
#include "formats/import/drill_choice.hpp"
#include "formats/import/hint.hpp"
#include "isthmus/formats/design.hpp"
#include "isthmus/formats/gerber.hpp"
#include "isthmus/formats/recognise.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

// A necked track of a home-etched board often adds only some tenths of an ohm: common practice, no
// source. The default of the key itself is laxer.
constexpr Ohms kExcess{0.2};

using Found = std::vector<const Recognised*>;

class Assembler {
 public:
  Assembler(const std::vector<Recognised>& files, Diagnostics& notes)
      : files_(files), notes_(notes) {}

  Result<BoardFile> assemble(const std::string& name) {
    board_.name = name;
    const Recognised* top = one(FileRole::copper, Side::top, "the top copper");
    const Recognised* bottom = one(FileRole::copper, Side::bottom, "the bottom copper");
    set(board_.top, top);
    set(board_.bottom, bottom);
    set(board_.mask_top, one(FileRole::mask, Side::top, "the top mask"));
    set(board_.mask_bottom, one(FileRole::mask, Side::bottom, "the bottom mask"));
    set(board_.outline, outline());
    inner_layers(top, bottom);
    if (!problem_ && !top && !bottom) problem_ = no_copper(files_);
    holes();
    doubts(top, bottom);
    overlooked();
    netlist();
    if (!problem_) stage();
    board_.limits.excess = kExcess;
    for (const Recognised& f : files_) leave(f);
    if (problem_) return *problem_;
    return std::move(board_);
  }

 private:
  void note(const Recognised& f, const char* code, std::string message) {
    notes_.note({f.file.string(), 0, 0, code, std::move(message), "", ""});
  }
  void warn(const Recognised& f, const char* code, std::string message, std::string hint) {
    notes_.warn({f.file.string(), 0, 0, code, std::move(message), std::move(hint), ""});
  }
  static void set(std::optional<std::filesystem::path>& to, const Recognised* f) {
    if (f != nullptr) to = f->file;
  }

  // Of a role, those nearest to the folder that was named: deeper ones are older, or parts.
  [[nodiscard]] Found all(FileRole role, std::optional<Side> side = std::nullopt) const {
    const int depth = depth_of(role);
    Found out;
    for (const Recognised& f : files_) {
      if (f.role == role && f.depth == depth && (!side || f.side == *side)) out.push_back(&f);
    }
    return out;
  }

  [[nodiscard]] int depth_of(FileRole role) const {
    int depth = INT_MAX;
    for (const Recognised& f : files_) {
      if (f.role == role) depth = std::min(depth, f.depth);
    }
    return depth;
  }

  void fail(const Recognised& f, const char* code, std::string message, std::string hint) {
    if (problem_) return;
    problem_ = Problem{f.file.string(), 0, 0, code, std::move(message), std::move(hint), ""};
  }

  void two_claim(const Recognised& a, const Recognised& b, const std::string& what) {
    fail(b, "IMP-005",
         fmt::format("claims to be {} ({}), and so does {} ({})", what, b.why, a.file.string(),
                     a.why),
         "import the right file by name, or the right folder, without the other");
  }

  // What is left for another file of its kind. One that was given by name is not left in silence.
  void lose(const Recognised& f, std::string why) {
    if (f.named) {
      fail(f, "IMP-032", "finds no place: " + why, "leave it out of the command, or the other one");
    }
    note(f, "IMP-020", "left out: " + std::move(why));
  }

  void leave(const Recognised& f) {
    if (f.role == FileRole::other && f.named && !f.other_known) {
      fail(f, "IMP-032", "finds no place: " + f.why,
           "leave it out of the command, or name it under its key in a board.yaml");
    }
    if (f.role == FileRole::other) {
      note(f, "IMP-020", "left out: " + f.why);
    } else if (f.depth > depth_of(f.role)) {
      note(f, "IMP-020", "left out: " + f.why + ", but others like it lie nearer to the top");
    }
  }

  // Copper that what a file is called and what it says do not agree on, where no other fills it.
  void doubts(const Recognised* top, const Recognised* bottom) {
    for (const Recognised& f : files_) {
      if (f.doubt.empty() || f.doubted != FileRole::copper) continue;
      const bool filled = f.doubted_side == Side::top      ? top != nullptr
                          : f.doubted_side == Side::bottom ? bottom != nullptr
                                                           : !board_.inner.empty();
      if (filled) continue;
      fail(f, "IMP-031", "may be copper: " + f.doubt,
           "rename it, or name it under its key in a board.yaml: docs/formats/board.md");
    }
  }

  // A file that says nothing, and whose tracks and pads are those of copper.
  void overlooked() {
    if (problem_) return;
    const auto found = like_copper(files_);
    if (!found) return;
    const std::string what = fmt::format(
        "may be copper: {} strokes, {} pads, holes in its pads {} of {}; neither it nor "
        "its name says which layer it is",
        found->tracks, found->pads, found->holes, found->of);
    const char* hint =
        "take it away if it is none, rename it, or name it under artwork in a board.yaml";
    // Beside both sides it may be a plan of wires; in place of one it may not be left.
    const bool sides = board_.top && board_.bottom;
    sides ? warn(*found->file, "IMP-033", what, hint) : fail(*found->file, "IMP-033", what, hint);
  }

  const Recognised* one(FileRole role, Side side, const std::string& what) {
    const Contest contest = contest_of(all(role, side));
    if (contest.winner == nullptr) return nullptr;
    const Recognised& found = *contest.winner;
    for (const Contest::Loser& l : contest.losers) {
      switch (l.how) {
        case Contest::How::same_bytes:
          note(*l.file, "IMP-020", "left out: holds the same bytes as " + found.file.string());
          break;
        case Contest::How::weaker:
          lose(*l.file, fmt::format("{}, but {} {} and is taken as {}", l.file->why,
                                    found.file.filename().string(), found.why, what));
          break;
        case Contest::How::older:
          lose(*l.file, fmt::format("older than {}, which is taken as {}",
                                    found.file.filename().string(), what));
          warn(*l.file, "IMP-034",
               fmt::format("is left out as older than {}, by the dates in the files",
                           found.file.filename().string()),
               "check that the newer one is meant");
          break;
        case Contest::How::equal:
          two_claim(found, *l.file, what);
          break;
      }
    }
    note(found, "IMP-021", "taken as " + what + ": " + found.why);
    if (found.by_comment) {
      warn(found, "IMP-027", "is taken as " + what + " by free text alone: " + found.why,
           "check it in the board description");
    }
    return &found;
  }

  // The outline decides nothing electrical, and often comes twice (as outline and as mechanical
  // layer).
  const Recognised* outline() {
    Found claims = all(FileRole::outline);
    std::ranges::stable_sort(claims, [](const Recognised* a, const Recognised* b) {
      return std::tuple(rank_of(*a), a->file.extension()) <
             std::tuple(rank_of(*b), b->file.extension());
    });
    for (std::size_t i = 1; i < claims.size(); ++i) {
      note(*claims[i], "IMP-020", "left out: " + claims[i]->why + "; another outline was taken");
    }
    if (!claims.empty()) note(*claims[0], "IMP-021", "taken as the outline: " + claims[0]->why);
    return claims.empty() ? nullptr : claims[0];
  }

  // The same bytes are one layer; a file of no number has no place among others.
  [[nodiscard]] Found inner_files() {
    Found inner = all(FileRole::copper, Side::both);
    std::ranges::stable_sort(inner, {}, &Recognised::layer);
    for (std::size_t i = 1; i < inner.size();) {
      if (inner[i]->layer != inner[i - 1]->layer || !same_bytes(*inner[i], *inner[i - 1])) {
        ++i;
        continue;
      }
      note(*inner[i], "IMP-020",
           "left out: holds the same bytes as " + inner[i - 1]->file.string());
      inner.erase(inner.begin() + static_cast<std::ptrdiff_t>(i));
    }
    if (inner.size() > 1 && inner[0]->layer == 0) {
      fail(*inner[0], "IMP-035", "is inner copper, but does not say which layer",
           "name the inner layers from the top down under artwork: inner in a board.yaml");
    }
    return inner;
  }

  // "Layer 1" to "layer 4" by number alone: the first is the top, the last the bottom.
  void ends_by_number(Found& inner, const Recognised*& top, const Recognised*& bottom) {
    const bool counted = top == nullptr && bottom == nullptr && inner.size() > 1 &&
                         inner[0]->layer == 1 && !inner[0]->by_content;
    if (!counted) return;
    top = inner.front();
    bottom = inner.back();
    inner.erase(inner.begin());
    inner.pop_back();
    set(board_.top, top);
    set(board_.bottom, bottom);
    for (const auto& [f, what] :
         {std::pair(top, "the top copper"), {bottom, "the bottom copper"}}) {
      note(*f, "IMP-021", std::string("taken as ") + what + ": " + f->why);
      warn(*f, "IMP-023", std::string("is taken as ") + what + " by the number in its name",
           "check artwork in the board description");
    }
  }

  void inner_layers(const Recognised*& top, const Recognised*& bottom) {
    Found inner = inner_files();
    ends_by_number(inner, top, bottom);
    const bool by_name =
        std::ranges::any_of(inner, [](const Recognised* f) { return !f->by_content; });
    for (std::size_t i = 0; i < inner.size(); ++i) {
      const Recognised& f = *inner[i];
      if (i > 0 && f.layer == inner[i - 1]->layer) {
        two_claim(*inner[i - 1], f, fmt::format("copper layer {}", f.layer));
      }
      const int due = static_cast<int>(i) + 2;
      // Names count from the first inner layer or from the top.
      const int counted = by_name ? f.layer - std::max(0, inner[0]->layer - 2) : f.layer;
      const bool first_far = by_name && inner[0]->layer > 3;
      if ((counted != due && f.layer != 0) || first_far) missing(f, due);
      board_.inner.push_back(f.file);
      note(f, "IMP-021", fmt::format("taken as copper layer {}: {}", due, f.why));
    }
    if (by_name) {
      warn(*inner[0], "IMP-023", "the order of the inner layers is taken from their names",
           "check artwork: inner in the board description");
    }
    const int layers = static_cast<int>(inner.size()) + 2;
    if (bottom != nullptr && bottom->by_content && bottom->layer > layers) missing(*bottom, layers);
  }

  void missing(const Recognised& f, int layer) {
    if (problem_) return;
    problem_ = Problem{f.file.string(),
                       0,
                       0,
                       "IMP-007",
                       fmt::format("says it is copper layer {}, but no file for layer {} was found",
                                   f.layer, layer),
                       "add the missing layer; a board with a layer left out cannot be judged",
                       ""};
  }

  // What could be read of the copper, for the drill files to be compared with.
  [[nodiscard]] std::vector<LayerImage> copper() const {
    std::vector<std::filesystem::path> files = board_.inner;
    if (board_.top) files.push_back(*board_.top);
    if (board_.bottom) files.push_back(*board_.bottom);
    std::vector<LayerImage> out;
    for (const auto& file : files) {
      Diagnostics ignored;  // said again when the board is loaded
      const Result<std::string> bytes = read_whole_file(file);
      if (!bytes) continue;
      Result<LayerImage> image = read_gerber(*bytes, file.string(), ignored);
      if (image) out.push_back(std::move(*image));
    }
    return out;
  }

  void holes() {
    const DrillChoice choice = choose_drills(all(FileRole::drill), copper());
    for (const DrillChoice::Left& l : choice.left) note(*l.file, "IMP-020", "left out: " + l.why);
    Found by_name;
    for (std::size_t i = 0; i < choice.kept.size(); ++i) {
      const Recognised* f = choice.kept[i];
      HoleFileEntry entry{f->file, choice.plated[i], f->span};
      const int layers = static_cast<int>(board_.inner.size()) + 2;
      if (entry.span && entry.span->second == 0) entry.span->second = layers;
      if (entry.span && (entry.span->first >= entry.span->second || entry.span->second > layers)) {
        entry.span = std::nullopt;
      }
      if (entry.plated || entry.span) by_name.push_back(f);
      note(*f, "IMP-021", "taken as a drill file: " + f->why);
      board_.holes.push_back(std::move(entry));
    }
    if (by_name.empty()) return;
    std::string names;
    for (const Recognised* f : by_name) {
      names += (names.empty() ? "" : ", ") + shown(f->file.filename().string());
    }
    notes_.warn({"", 0, 0, "IMP-024",
                 "plating or layer span are taken from the names of the drill files: " + names,
                 "check holes in the board description", ""});
  }

  void netlist() {
    Found claims = all(FileRole::netlist);
    while (claims.size() > 1 && same_bytes(*claims[0], *claims[1])) {
      note(*claims[1], "IMP-020", "left out: holds the same bytes as " + claims[0]->file.string());
      claims.erase(claims.begin() + 1);
    }
    if (claims.size() > 1) two_claim(*claims[0], *claims[1], "the netlist");
    const bool nets = std::ranges::any_of(all(FileRole::copper), &Recognised::has_nets);
    if (!claims.empty()) {
      board_.netlist_source = NetlistSource::file;
      board_.netlist = claims[0]->file;
      note(*claims[0], "IMP-021", "taken as the netlist: " + claims[0]->why);
    } else if (nets) {
      board_.netlist_source = NetlistSource::gerber_x2;
      notes_.note({"", 0, 0, "IMP-021",
                   "no netlist file: the net names in the copper files are used", "", ""});
    } else {
      board_.netlist_source = NetlistSource::artwork;
      notes_.warn({"", 0, 0, "IMP-025",
                   "no netlist was found: the copper is its own netlist, which can show no error "
                   "of the design",
                   "export IPC-D-356A beside the artwork", ""});
    }
  }

  void stage() {
    board_.stage = board_.top && board_.bottom ? Stage::etched
                   : board_.top                ? Stage::etched_top
                                               : Stage::etched_bottom;
    board_.joins_mode = JoinsMode::none;
    notes_.note(
        {"", 0, 0, "IMP-026",
         "the stage is set to " + std::string(isthmus::name(board_.stage)) + ", with no joins",
         "set stage and joins to how far the board has got", ""});
  }

  const std::vector<Recognised>& files_;
  Diagnostics& notes_;
  BoardFile board_;
  std::optional<Problem> problem_;
};

}  // namespace

Result<BoardFile> assemble_board(const std::vector<Recognised>& files, const std::string& name,
                                 Diagnostics& notes) {
  return Assembler(files, notes).assemble(name);
}

}  // namespace isthmus::formats
