// SPDX-License-Identifier: Apache-2.0
#include "formats/import/file_names.hpp"

#include <algorithm>
#include <array>
#include <optional>

#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

struct Extension {
  std::string_view name;
  FileRole role;
  Side side;
};
constexpr std::array<Extension, 27> kExtensions{{
    {"gtl", FileRole::copper, Side::top},    {"cmp", FileRole::copper, Side::top},
    {"top", FileRole::copper, Side::top},    {"gbl", FileRole::copper, Side::bottom},
    {"sol", FileRole::copper, Side::bottom}, {"bot", FileRole::copper, Side::bottom},
    {"gts", FileRole::mask, Side::top},      {"stc", FileRole::mask, Side::top},
    {"smt", FileRole::mask, Side::top},      {"stoptop", FileRole::mask, Side::top},
    {"gbs", FileRole::mask, Side::bottom},   {"sts", FileRole::mask, Side::bottom},
    {"smb", FileRole::mask, Side::bottom},   {"stopbot", FileRole::mask, Side::bottom},
    {"gko", FileRole::outline, Side::both},  {"gm1", FileRole::outline, Side::both},
    {"gml", FileRole::outline, Side::both},  {"outline", FileRole::outline, Side::both},
    {"dim", FileRole::outline, Side::both},  {"oln", FileRole::outline, Side::both},
    {"drl", FileRole::drill, Side::both},    {"xln", FileRole::drill, Side::both},
    {"drd", FileRole::drill, Side::both},    {"exc", FileRole::drill, Side::both},
    {"ncd", FileRole::drill, Side::both},    {"drill", FileRole::drill, Side::both},
    {"gdd", FileRole::drill, Side::both},
}};

// Legend, paste, assembly, drawings: never copper, whatever else the name says.
constexpr std::array<std::string_view, 16> kOthers{"gto", "gbo", "gtp", "gbp", "plc", "pls",
                                                   "crc", "crs", "gpt", "gpb", "gd1", "gg1",
                                                   "gta", "gba", "gtr", "pos"};

std::string extension(const std::filesystem::path& file) {
  const std::string dotted = lower(file.extension().string());
  return dotted.empty() ? "" : dotted.substr(1);
}

// "TideGauge-F_Cu.v2" -> tide gauge f cu v2: at every change of kind of character and of case.
std::vector<std::string> words_in(const std::string& name) {
  std::vector<std::string> out;
  std::string word;
  for (std::size_t i = 0; i < name.size(); ++i) {
    const char c = name[i];
    const bool letter = is_alpha(c), digit = is_digit(c);
    const bool hump = is_upper(c) && i > 0 && is_alpha(name[i - 1]) && !is_upper(name[i - 1]);
    if ((!letter && !digit) || hump) {
      if (!word.empty()) out.push_back(lower(word));
      word.clear();
    }
    if (letter || digit) word += c;
  }
  if (!word.empty()) out.push_back(lower(word));
  return out;
}

std::vector<std::string> name_words(const std::filesystem::path& file) {
  return words_in(file.filename().string());
}

bool any(const std::vector<std::string>& words, std::initializer_list<std::string_view> wanted) {
  return std::ranges::any_of(
      wanted, [&](std::string_view w) { return std::ranges::find(words, w) != words.end(); });
}

// A number after a fixed start ("in2", "g1", "gl3"); 0 if none.
int numbered(std::string_view word, std::string_view start) {
  if (word.substr(0, start.size()) != start || word.size() > start.size() + 2) return 0;
  const auto n = to_int(word.substr(start.size()));
  return n && *n > 0 ? static_cast<int>(*n) : 0;
}

Side side_of(const std::vector<std::string>& words) {
  const bool top = any(words, {"top", "front", "f", "component", "comp", "toplayer", "topmask",
                               "componentmask", "topcopper"});
  const bool bottom = any(words, {"bottom", "bot", "back", "b", "solderside", "bottomlayer",
                                  "bottommask", "bottomcopper"});
  if (top == bottom) return Side::both;
  return top ? Side::top : Side::bottom;
}

Recognised by_words(const std::filesystem::path& file, const std::vector<std::string>& words) {
  Recognised r;
  r.file = file;
  if (any(words, {"paste", "silk", "silkscreen", "legend", "glue", "adhesive", "fab", "courtyard",
                  "assembly", "cream", "plc", "toppaste", "bottompaste", "topsilk", "bottomsilk",
                  "overlay", "topoverlay", "bottomoverlay", "drawing"})) {
    r.other_known = true;
    return r;
  }
  const Side side = side_of(words);
  if (any(words,
          {"mask", "soldermask", "stop", "topmask", "bottommask", "componentmask", "resist"})) {
    r.role = side == Side::both ? FileRole::other : FileRole::mask;
    r.side = side;
  } else if (any(words, {"outline", "outlines", "edge", "edges", "profile", "border", "contour",
                         "boardoutline", "dimension"})) {
    r.role = FileRole::outline;
  } else if (any(words, {"drill", "drills", "holes", "roundholes", "slotholes", "pth", "npth"})) {
    r.role = FileRole::drill;
  } else if (side != Side::both) {
    r.role = FileRole::copper;
    r.side = side;
  } else {
    for (const std::string& w : words) {
      const int inner = std::max(numbered(w, "in"), numbered(w, "inner"));
      if (inner == 0) continue;
      r.role = FileRole::copper;
      r.layer = inner + 1;
    }
  }
  return r;
}

std::string side_text(const Recognised& r) {
  switch (r.role) {
    case FileRole::copper:
      return r.side == Side::both ? "inner copper" : std::string(name(r.side)) + " copper";
    case FileRole::mask:
      return std::string(name(r.side)) + " mask";
    case FileRole::outline:
      return "an outline";
    case FileRole::drill:
      return "a drill file";
    case FileRole::netlist:
    case FileRole::other:
      break;
  }
  return "nothing known";
}

// What a line holds of image name, layer name, or a comment that speaks of layers.
std::optional<std::string_view> free_text(std::string_view line) {
  line = trim(line);
  while (!line.empty() && (line.back() == '%' || line.back() == '*')) line.remove_suffix(1);
  if (line.substr(0, 3) == "%LN" || line.substr(0, 3) == "%IN") return line.substr(3);
  if (line.substr(0, 3) != "G04" || contains(line, "#@!")) return std::nullopt;
  const std::vector<std::string> words = words_in(std::string(line));
  const bool speaks = any(words, {"layer", "layers", "side", "copper", "mask", "soldermask"});
  return speaks ? std::optional(line.substr(3)) : std::nullopt;
}

// "solder" on its own is the side away from the components; in "solder mask" it is not.
std::vector<std::string> side_words(std::string_view text) {
  std::vector<std::string> words = words_in(std::string(text));
  for (std::size_t i = 0; i < words.size(); ++i) {
    static constexpr std::array<std::string_view, 5> kMaterial{"mask", "stop", "stopmask", "resist",
                                                               "paste"};
    if (words[i] != "solder") continue;
    const bool material =
        i + 1 < words.size() && std::ranges::find(kMaterial, words[i + 1]) != kMaterial.end();
    if (!material) words[i] = "solderside";
  }
  return words;
}

}  // namespace

Recognised suggested_by_name(const std::filesystem::path& file) {
  const std::string ext = extension(file);
  const auto known = std::ranges::find(kExtensions, ext, &Extension::name);
  Recognised r;
  if (known != kExtensions.end()) {
    r.role = known->role;
    r.side = known->side;
  } else if (std::ranges::find(kOthers, ext) == kOthers.end()) {
    r = by_words(file, name_words(file.stem()));
    const int inner = std::max({numbered(ext, "g"), numbered(ext, "gp"), numbered(ext, "in")});
    if (r.role == FileRole::other && inner > 0) {
      r.role = FileRole::copper;
      r.layer = inner + 1;
    }
  } else {
    r.other_known = true;
  }
  r.file = file;
  if (r.role == FileRole::copper && r.side == Side::top) r.layer = 1;
  r.why = r.role != FileRole::other ? "named like " + side_text(r)
          : r.other_known           ? "named like legend, paste or a drawing"
                                    : "neither it nor its name says which layer it is";
  return r;
}

void suggest_by_comments(const std::vector<std::string_view>& lines, Recognised& r) {
  constexpr std::size_t kHeader = 200;  // lines
  Recognised said;
  for (std::size_t i = 0; i < lines.size() && i < kHeader; ++i) {
    const std::optional<std::string_view> text = free_text(lines[i]);
    if (!text) continue;
    const Recognised here = by_words(r.file, side_words(*text));
    if (here.role == FileRole::other) continue;
    const bool same = here.role == said.role && here.side == said.side && here.layer == said.layer;
    if (said.role != FileRole::other && !same) return;
    if (said.role == FileRole::other) {
      said = here;
      said.why = "its text reads '" + shown(trim(*text)) + "'";
    }
  }
  if (said.role == FileRole::other) return;
  r.role = said.role;
  r.side = said.side;
  r.layer = said.role == FileRole::copper && said.side == Side::top ? 1 : said.layer;
  r.why = said.why;
  r.by_comment = true;
}

std::optional<bool> plating_by_name(const std::filesystem::path& file) {
  const std::vector<std::string> words = name_words(file);
  if (any(words, {"npth", "unplated", "nonplated", "nplated", "non"})) return false;
  if (any(words, {"pth", "plated"})) return true;
  return std::nullopt;
}

std::optional<std::pair<int, int>> span_by_name(const std::filesystem::path& file) {
  const std::vector<std::string> words = name_words(file.stem());
  const auto layer = [](const std::string& w) {
    if (w == "front" || w == "top" || w == "f") return 1;
    if (w == "back" || w == "bottom" || w == "b") return 0;
    const int inner = numbered(w, "in");
    return inner > 0 ? inner + 1 : -1;
  };
  for (std::size_t i = 0; i + 1 < words.size(); ++i) {
    const int from = layer(words[i]), to = layer(words[i + 1]);
    const bool inner = from > 1 || to > 1;
    if (inner && from >= 1 && to >= 0 && (to == 0 || from < to)) return std::pair{from, to};
  }
  return std::nullopt;
}

}  // namespace isthmus::formats
