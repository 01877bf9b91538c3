// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/design.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "formats/drill/edge.hpp"
#include "formats/drill/settle.hpp"
#include "formats/layer/check.hpp"
#include "formats/paths.hpp"
#include "formats/registration/registration.hpp"
#include "isthmus/formats/gerber.hpp"
#include "isthmus/formats/hole_groups.hpp"
#include "isthmus/formats/ipc_2581.hpp"
#include "isthmus/formats/text.hpp"
#include "isthmus/formats/whereabouts.hpp"

namespace isthmus::formats {
namespace {

using Path = std::filesystem::path;

// What .FileFunction has to say for a file under this key (GLF 2023.08, 5.6.3).
struct Expected {
  std::string role;
  std::string_view function;  // "Copper", "Soldermask", "Profile"
  std::string_view side{};    // "Top", "Bot", "Inr"; empty: any
  std::size_t layer{};        // 1-based; 0: any
};

class Loader {
 public:
  Loader(const BoardFile& board, Diagnostics& notes) : notes_(notes) { design_.board = board; }

  Result<Design> load() {
    if (auto p = refuse_twice_used()) return *p;
    if (auto p = load_copper()) return *p;
    const BoardFile& b = design_.board;
    if (auto p = load_optional(b.outline, {"outline", "Profile"}, design_.outline)) return *p;
    if (auto p = load_optional(b.mask_top, {"mask-top", "Soldermask", "Top"}, design_.mask_top))
      return *p;
    if (auto p = load_optional(b.mask_bottom, {"mask-bottom", "Soldermask", "Bot"},
                               design_.mask_bottom)) {
      return *p;
    }
    if (auto p = load_holes()) return *p;
    if (auto p = load_netlist()) return *p;
    if (auto done = register_holes(design_, notes_); !done) return done.problem();
    check_layers(design_, notes_);
    if (auto done = register_netlist(design_, notes_); !done) return done.problem();
    fill_joins();
    return std::move(design_);
  }

 private:
  void fill_joins() {
    BoardFile& b = design_.board;
    const auto given = [](const auto& group) { return group.has_value(); };
    if (std::ranges::none_of(b.join_groups, given)) return;
    b.joins = joins_of_groups(design_);
    b.join_groups = {};
  }

  std::optional<Problem> refuse_twice_used() {
    const BoardFile& b = design_.board;
    std::map<Path, std::string> users;
    std::optional<Problem> problem;
    const auto use = [&](const Path& file, const std::string& role) {
      const auto [it, fresh] = users.emplace(file.lexically_normal(), role);
      if (!fresh && !problem) {
        problem = Problem{file.string(),
                          0,
                          0,
                          "DSN-007",
                          "is named both as " + it->second + " and as " + role,
                          "each key names a file of its own",
                          ""};
      }
    };
    if (b.top) use(*b.top, "top");
    if (b.bottom) use(*b.bottom, "bottom");
    for (const Path& inner : b.inner) use(inner, "inner layer");
    if (b.outline) use(*b.outline, "outline");
    if (b.mask_top) use(*b.mask_top, "top mask");
    if (b.mask_bottom) use(*b.mask_bottom, "bottom mask");
    for (const HoleFileEntry& h : b.holes) use(h.file, "drill file");
    return problem;
  }

  // The name is what has to be corrected, so the message tells where it stands.
  [[nodiscard]] Problem with_its_place(Problem problem, const Path& file) const {
    const Path& board = design_.board.path;
    if (const auto at = where_file_is_named(board, file)) {
      problem.hint = fmt::format("named at {}:{}:{}{}{}", board.string(), at->line, at->column,
                                 problem.hint.empty() ? "" : "; ", problem.hint);
    }
    return problem;
  }

  Result<std::string> read(const Path& file, const std::string& role) {
    Result<std::string> bytes = read_whole_file(file);
    if (!bytes) return with_its_place(bytes.problem(), file);
    const Path seen = seen_from(folder_of(design_.board.path), file);
    design_.hashes.push_back({role, seen.string(), sha256(*bytes)});
    return bytes;
  }

  Result<LayerImage> load_layer(const Path& file, const Expected& expected) {
    Result<std::string> bytes = read(file, expected.role);
    if (!bytes) return bytes.problem();
    Result<LayerImage> image = read_gerber(*bytes, file.string(), notes_);
    if (!image) return image;
    if (auto p = contradiction(*image, expected)) return *p;
    if (image->objects.empty()) {
      notes_.warn(
          {file.string(), 0, 0, "DSN-008", "holds no objects", "is it the right file?", ""});
    }
    return image;
  }

  static std::optional<Problem> contradiction(const LayerImage& image, const Expected& expected) {
    const auto problem = [&](const std::string& said) {
      return Problem{image.file,
                     0,
                     0,
                     "DSN-005",
                     "is named as " + expected.role + ", but says of itself: " + shown(said),
                     "correct board.yaml, or the file",
                     ""};
    };
    const auto polarity = image.file_attribute(".FilePolarity");
    if (polarity && !polarity->empty() && (*polarity)[0] == "Negative" &&
        expected.function == "Copper") {
      return problem(".FilePolarity Negative");
    }
    const auto function = image.file_attribute(".FileFunction");
    if (!function || function->empty()) return std::nullopt;
    std::string said = ".FileFunction";
    for (const std::string& field : *function) said += " " + field;
    const bool kind = (*function)[0] == expected.function;
    // Outlines also come as mechanical drawings; only copper, mask and holes are surely wrong
    // there.
    static constexpr std::array<std::string_view, 4> kNoOutline{"Copper", "Soldermask", "Plated",
                                                                "NonPlated"};
    if (expected.function == "Profile") {
      const bool wrong = std::ranges::find(kNoOutline, (*function)[0]) != kNoOutline.end();
      return wrong ? std::optional(problem(said)) : std::nullopt;
    }
    if (!kind) return problem(said);
    const std::size_t side_at = expected.function == "Copper" ? 2 : 1;
    const bool side_wrong = function->size() > side_at && !expected.side.empty() &&
                            (*function)[side_at] != expected.side;
    const bool layer_wrong = expected.layer > 0 && function->size() > 1 &&
                             (*function)[1] != "L" + std::to_string(expected.layer);
    return side_wrong || layer_wrong ? std::optional(problem(said)) : std::nullopt;
  }

  std::optional<Problem> load_optional(const std::optional<Path>& file, const Expected& expected,
                                       std::optional<LayerImage>& to) {
    if (!file) return std::nullopt;
    Result<LayerImage> image = load_layer(*file, expected);
    if (!image) return image.problem();
    to = std::move(*image);
    return std::nullopt;
  }

  std::optional<Problem> load_copper() {
    const BoardFile& b = design_.board;
    std::optional<LayerImage> top, bottom;
    std::vector<LayerImage> inner;
    if (auto p = load_optional(b.top, {"top", "Copper", "Top"}, top)) return p;
    if (auto p = load_optional(b.bottom, {"bottom", "Copper", "Bot"}, bottom)) return p;
    for (const Path& file : b.inner) {
      Result<LayerImage> image = load_layer(file, {"inner", "Copper", "Inr", inner.size() + 2});
      if (!image) return image.problem();
      inner.push_back(std::move(*image));
    }
    design_.copper.push_back(top ? std::move(*top) : LayerImage{});
    for (LayerImage& image : inner) design_.copper.push_back(std::move(image));
    design_.copper.push_back(bottom ? std::move(*bottom) : LayerImage{});
    return std::nullopt;
  }

  std::optional<Problem> load_holes() {
    std::vector<OpenDrill> files;
    for (const HoleFileEntry& entry : design_.board.holes) {
      Result<std::string> bytes = read(entry.file, "holes");
      if (!bytes) return bytes.problem();
      Result<OpenDrill> drill = open_drill(entry.file.string(), std::move(*bytes), notes_);
      if (!drill) return drill.problem();
      files.push_back(std::move(*drill));
    }
    Result<Done> settled = settle_formats(files, design_.copper, notes_);
    if (!settled) return settled.problem();
    std::int32_t slots = 0;
    for (std::size_t i = 0; i < files.size(); ++i) {
      leave_edge(files[i].drill);
      if (auto p = add_holes(files[i].drill, design_.board.holes[i], slots)) return p;
    }
    return std::nullopt;
  }

  // A file of holes may have the route around the board in it.
  void leave_edge(DrillFile& drill) {
    const std::vector<bool> edge = edge_routes(drill.holes, design_.copper);
    std::vector<Hole> kept;
    for (std::size_t i = 0; i < edge.size(); ++i) {
      if (!edge[i]) kept.push_back(drill.holes[i]);
    }
    if (kept.size() == edge.size()) return;
    notes_.note({drill.file, 0, 0, "DSN-024",
                 fmt::format("{} routed legs around the board are its edge, no holes",
                             edge.size() - kept.size()),
                 "", ""});
    drill.holes = std::move(kept);
  }

  // Slot numbers stay unique over all files.
  std::optional<Problem> add_holes(const DrillFile& drill, const HoleFileEntry& entry,
                                   std::int32_t& slots) {
    const int layers = static_cast<int>(design_.copper.size());
    bool contradicts = false, unknown = false;
    std::int32_t used = 0;
    for (Hole h : drill.holes) {
      contradicts |= entry.plated && h.plated && *entry.plated != *h.plated;
      unknown |= !entry.plated && !h.plated;
      h.plated = entry.plated ? entry.plated : h.plated ? h.plated : true;
      if (entry.span) h.span = entry.span;
      if (h.span && h.span->second > layers) {
        return Problem{
            drill.file,
            0,
            0,
            "DSN-006",
            fmt::format("its holes go from layer {} to {}, but the board has {} copper layers",
                        h.span->first, h.span->second, layers),
            "name all copper layers under artwork, or give the span under holes",
            ""};
      }
      if (h.slot >= 0) {
        used = std::max(used, h.slot + 1);
        h.slot += slots;
      }
      design_.holes.push_back(h);
    }
    slots += used;
    if (contradicts) {
      notes_.warn({drill.file, 0, 0, "DSN-013",
                   "board.yaml and the file disagree on plating; board.yaml is followed",
                   "correct plated under holes, or the file", ""});
    }
    if (unknown) {
      notes_.warn({drill.file, 0, 0, "DSN-014",
                   "does not say whether its holes are plated: taken as plated",
                   "say so in board.yaml: holes: [{file: ..., plated: true}]", ""});
    }
    return std::nullopt;
  }

  std::optional<Problem> load_netlist() {
    if (design_.board.netlist_source != NetlistSource::file) return std::nullopt;
    Result<std::string> bytes = read(design_.board.netlist, "netlist");
    if (!bytes) return bytes.problem();
    Result<Netlist> netlist = read_netlist(*bytes, design_.board.netlist.string(), notes_);
    if (!netlist) return netlist.problem();
    design_.netlist = std::move(*netlist);
    return std::nullopt;
  }

  Diagnostics& notes_;
  Design design_;
};

}  // namespace

Result<Design> load_design(const BoardFile& board, Diagnostics& notes) {
  return Loader(board, notes).load();
}

std::string design_hash(const Design& design) {
  std::string text = "isthmus design 1\n";
  std::vector<std::string> lines;
  for (const FileHash& h : design.hashes) {
    if (h.role != "holes" && h.role != "inner") lines.push_back(h.role + " " + h.sha256);
  }
  std::ranges::sort(lines);
  for (const FileHash& h : design.hashes) {  // inner layers keep their order
    if (h.role == "inner") lines.push_back("inner " + h.sha256);
  }
  std::size_t hole_file = 0;
  std::vector<std::string> holes;
  for (const FileHash& h : design.hashes) {
    if (h.role != "holes") continue;
    const HoleFileEntry& entry = design.board.holes[hole_file++];
    holes.push_back(fmt::format(
        "holes {} {} {}", h.sha256, entry.plated ? (*entry.plated ? "plated" : "bare") : "as-filed",
        entry.span ? fmt::format("{}-{}", entry.span->first, entry.span->second) : "as-filed"));
  }
  std::ranges::sort(holes);
  lines.insert(lines.end(), holes.begin(), holes.end());
  for (const std::string& line : lines) text += line + "\n";
  BoardFile keys;  // what remains of the description once files, stage and limits are left out
  keys.netlist_source = design.board.netlist_source == NetlistSource::file
                            ? NetlistSource::artwork
                            : design.board.netlist_source;
  keys.net_ties = design.board.net_ties;
  keys.links = design.board.links;
  keys.placed_top = design.board.placed_top;
  keys.placed_bottom = design.board.placed_bottom;
  return sha256(text + write_board_file(keys));
}

}  // namespace isthmus::formats
