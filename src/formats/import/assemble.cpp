// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <climits>
#include <cstdlib>
#include <tuple>

#include "formats/import/hint.hpp"
#include "isthmus/formats/design.hpp"
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
    inner_layers(bottom);
    if (!problem_ && !top && !bottom) problem_ = no_copper(files_);
    holes();
    netlist();
    if (!problem_) stage();
    board_.limits.excess = kExcess;
    for (const Recognised& f : files_) {
      if (f.role == FileRole::other) {
        note(f, "IMP-020", "left out: " + f.why);
      } else if (f.depth > depth_of(f.role)) {
        note(f, "IMP-020", "left out: " + f.why + ", but others like it lie nearer to the top");
      }
    }
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

  void two_claim(const Recognised& a, const Recognised& b, const std::string& what) {
    if (problem_) return;
    problem_ = Problem{b.file.string(),
                       0,
                       0,
                       "IMP-005",
                       fmt::format("claims to be {} ({}), and so does {} ({})", what, b.why,
                                   a.file.string(), a.why),
                       "import the right file by name, or the right folder, without the other",
                       ""};
  }

  // 0 the file says so, 1 its name does, 2 free text in it does.
  static int rank(const Recognised& f) { return f.by_content ? 0 : f.by_comment ? 2 : 1; }

  const Recognised* one(FileRole role, Side side, const std::string& what) {
    Found claims = all(role, side);
    std::ranges::stable_sort(claims, {}, [](const Recognised* f) { return rank(*f); });
    if (claims.empty()) return nullptr;
    const Recognised& found = *claims[0];
    for (std::size_t i = 1; i < claims.size(); ++i) {
      if (rank(*claims[i]) == rank(found)) {
        two_claim(found, *claims[i], what);
      } else {
        note(*claims[i], "IMP-020",
             fmt::format("left out: {}, but {} {} and is taken as {}", claims[i]->why,
                         found.file.filename().string(), found.why, what));
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
      return std::tuple(rank(*a), a->file.extension()) < std::tuple(rank(*b), b->file.extension());
    });
    for (std::size_t i = 1; i < claims.size(); ++i) {
      note(*claims[i], "IMP-020", "left out: " + claims[i]->why + "; another outline was taken");
    }
    if (!claims.empty()) note(*claims[0], "IMP-021", "taken as the outline: " + claims[0]->why);
    return claims.empty() ? nullptr : claims[0];
  }

  void inner_layers(const Recognised* bottom) {
    Found inner = all(FileRole::copper, Side::both);
    std::ranges::stable_sort(inner, {}, &Recognised::layer);
    const bool by_name =
        std::ranges::any_of(inner, [](const Recognised* f) { return !f->by_content; });
    for (std::size_t i = 0; i < inner.size(); ++i) {
      const Recognised& f = *inner[i];
      if (i > 0 && f.layer == inner[i - 1]->layer) {
        two_claim(*inner[i - 1], f, fmt::format("copper layer {}", f.layer));
      }
      if (f.layer != static_cast<int>(i) + 2 && !by_name) missing(f, static_cast<int>(i) + 2);
      board_.inner.push_back(f.file);
      note(f, "IMP-021", fmt::format("taken as copper layer {}: {}", i + 2, f.why));
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

  using Place = std::tuple<Position, Position, Nanometres>;
  [[nodiscard]] std::vector<Place> places_of(const Recognised& f) const {
    Diagnostics ignored;  // said again when the board is loaded
    Result<std::string> bytes = read_whole_file(f.file);
    if (!bytes) return {};
    Result<DrillFile> drill = read_drill(*bytes, f.file.string(), ignored);
    std::vector<Place> out;
    if (!drill) return out;
    for (const Hole& h : drill->holes) {
      out.emplace_back(std::min(h.from, h.to), std::max(h.from, h.to), h.diameter);
    }
    std::ranges::sort(out);
    return out;
  }
  static bool same(const std::vector<Place>& a, const std::vector<Place>& b) {
    constexpr std::int64_t kSlack = 2000;  // nm: one file may carry fewer digits
    const auto near = [](Position p, Position q) {
      return std::abs(p.x - q.x) <= kSlack && std::abs(p.y - q.y) <= kSlack;
    };
    return !a.empty() && std::ranges::equal(a, b, [&](const Place& p, const Place& q) {
      return near(std::get<0>(p), std::get<0>(q)) && near(std::get<1>(p), std::get<1>(q)) &&
             std::abs((std::get<2>(p) - std::get<2>(q)).value) <= kSlack;
    });
  }

  void holes() {
    std::vector<std::pair<const Recognised*, std::vector<Place>>> kept;
    Found by_name;
    for (const Recognised* f : all(FileRole::drill)) {
      std::vector<Place> places = places_of(*f);
      const auto twin =
          std::ranges::find_if(kept, [&](const auto& k) { return same(k.second, places); });
      if (twin != kept.end()) {
        note(*f, "IMP-020", "left out: holds the same holes as " + twin->first->file.string());
        continue;
      }
      kept.emplace_back(f, std::move(places));
      HoleFileEntry entry{f->file, f->plated, f->span};
      if (entry.span && entry.span->second == 0) {
        entry.span->second = static_cast<int>(board_.inner.size()) + 2;
      }
      const int layers = static_cast<int>(board_.inner.size()) + 2;
      if (entry.span && (entry.span->first >= entry.span->second || entry.span->second > layers)) {
        entry.span = std::nullopt;
      }
      if (entry.plated || entry.span) by_name.push_back(f);
      note(*f, "IMP-021", "taken as a drill file: " + f->why);
      board_.holes.push_back(std::move(entry));
    }
    if (!by_name.empty()) {
      std::string names;
      for (const Recognised* f : by_name) {
        names += (names.empty() ? "" : ", ") + shown(f->file.filename().string());
      }
      notes_.warn({"", 0, 0, "IMP-024",
                   "plating or layer span are taken from the names of the drill files: " + names,
                   "check holes in the board description", ""});
    }
  }

  void netlist() {
    const Found claims = all(FileRole::netlist);
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
