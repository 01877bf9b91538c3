// SPDX-License-Identifier: Apache-2.0
#include "formats/import/file_names.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

struct Extension {
  std::string_view name;
  FileRole role;
  Side side;
};
constexpr std::array<Extension, 39> kExtensions{{
    {"gtl", FileRole::copper, Side::top},       {"cmp", FileRole::copper, Side::top},
    {"top", FileRole::copper, Side::top},       {"gbl", FileRole::copper, Side::bottom},
    {"sol", FileRole::copper, Side::bottom},    {"bot", FileRole::copper, Side::bottom},
    {"gts", FileRole::mask, Side::top},         {"stc", FileRole::mask, Side::top},
    {"smt", FileRole::mask, Side::top},         {"stoptop", FileRole::mask, Side::top},
    {"tsm", FileRole::mask, Side::top},         {"mt", FileRole::mask, Side::top},
    {"gbs", FileRole::mask, Side::bottom},      {"sts", FileRole::mask, Side::bottom},
    {"smb", FileRole::mask, Side::bottom},      {"stopbot", FileRole::mask, Side::bottom},
    {"bsm", FileRole::mask, Side::bottom},      {"mb", FileRole::mask, Side::bottom},
    {"gko", FileRole::outline, Side::both},     {"gml", FileRole::outline, Side::both},
    {"outline", FileRole::outline, Side::both}, {"brd", FileRole::outline, Side::both},
    {"dim", FileRole::outline, Side::both},     {"oln", FileRole::outline, Side::both},
    {"otl", FileRole::outline, Side::both},     {"bor", FileRole::outline, Side::both},
    {"drl", FileRole::drill, Side::both},       {"xln", FileRole::drill, Side::both},
    {"drd", FileRole::drill, Side::both},       {"exc", FileRole::drill, Side::both},
    {"ncd", FileRole::drill, Side::both},       {"drill", FileRole::drill, Side::both},
    {"tap", FileRole::drill, Side::both},       {"nc", FileRole::drill, Side::both},
    {"cnc", FileRole::drill, Side::both},       {"tx1", FileRole::drill, Side::both},
    {"tx2", FileRole::drill, Side::both},       {"xnc", FileRole::drill, Side::both},
    {"dri", FileRole::drill, Side::both},
}};

// Legend, paste, assembly, drawings: never copper, whatever else the name says.
constexpr std::array<std::string_view, 31> kOthers{
    "gto", "gbo", "gtp", "gbp", "plc", "pls", "crc", "crs", "gpt", "gpb", "gd1",
    "gg1", "gta", "gba", "gtr", "pos", "gdd", "gdl", "sst", "ssb", "spt", "spb",
    "ast", "asb", "tsk", "bsk", "tsp", "bsp", "drr", "gtd", "fab"};

std::string extension(const std::filesystem::path& file) {
  const std::string dotted = lower(file.extension().string());
  return dotted.empty() ? "" : dotted.substr(1);
}

// Inner copper ("g1", "gp1", "in2", "gl2", "ly2") and mechanical layers ("gm9") go by number.
Claim numbered_extension(const std::string& ext) {
  Claim c;
  if (number_after(ext, "gm") > 0) c.role = FileRole::outline;
  const int inner =
      std::max({number_after(ext, "g"), number_after(ext, "gp"), number_after(ext, "in")});
  const int layer = std::max({number_after(ext, "gl"), number_after(ext, "ly")});
  if (inner == 0 && layer == 0) return c;
  c.role = FileRole::copper;
  c.inner = true;
  c.layer = layer > 0 ? layer : inner + 1;
  return c;
}

Claim claim_of_extension(const std::string& ext) {
  Claim c;
  const auto known = std::ranges::find(kExtensions, ext, &Extension::name);
  if (known != kExtensions.end()) {
    c.role = known->role;
    c.side = known->side;
    return c;
  }
  c.not_ours = std::ranges::find(kOthers, ext) != kOthers.end();
  return c.not_ours ? c : numbered_extension(ext);
}

}  // namespace

NameClaim claim_of_name(const std::filesystem::path& file, const NameWords& words) {
  const Claim by_words = claim_of(words);
  const Claim by_extension = claim_of_extension(extension(file));
  if (!by_extension.says() || by_extension.same_as(by_words)) return {by_words, ""};
  const bool both_copper =
      by_words.role == FileRole::copper && by_extension.role == FileRole::copper;
  // Inner layers are counted one way in the name and another in the extension.
  if (both_copper && by_words.inner && by_extension.inner) return {by_words, ""};
  if (both_copper && by_words.bare && by_extension.inner) return {by_extension, ""};
  if (both_copper) {
    return {by_words, fmt::format("its name says {}, but '.{}' is {}", described(by_words),
                                  extension(file), described(by_extension))};
  }
  const bool words_tell = by_words.says() && !by_words.bare && by_words.role != FileRole::drill;
  if (by_words.role == FileRole::copper && !by_words.bare) {
    return {by_extension, fmt::format("its name says {}, but '.{}' is {}", described(by_words),
                                      extension(file), described(by_extension))};
  }
  return {words_tell ? by_words : by_extension, ""};
}

NameClaim claim_of_name(const std::filesystem::path& file) {
  return claim_of_name(file, name_words(file.stem().string()));
}

std::optional<bool> plating_by_name(const std::filesystem::path& file) {
  const NameWords words = name_words(file.filename().string());
  if (any_of(words, {"npth", "unplated", "nonplated", "nplated", "non"})) return false;
  if (any_of(words, {"pth", "plated"})) return true;
  return std::nullopt;
}

std::optional<std::pair<int, int>> span_by_name(const std::filesystem::path& file) {
  const NameWords words = name_words(file.stem().string());
  const auto layer = [](const std::string& w) {
    if (w == "front" || w == "top" || w == "f") return 1;
    if (w == "back" || w == "bottom" || w == "b") return 0;
    const int inner = number_after(w, "in");
    return inner > 0 ? inner + 1 : -1;
  };
  for (std::size_t i = 0; i + 1 < words.size(); ++i) {
    const int from = layer(words[i]), to = layer(words[i + 1]);
    const bool inner = from > 1 || to > 1;
    if (inner && from >= 1 && to >= 0 && (to == 0 || from < to)) return std::pair{from, to};
  }
  return std::nullopt;
}

std::optional<std::filesystem::path> backed_up(const std::filesystem::path& file) {
  const std::string name = file.filename().string();
  const std::string low = lower(name);
  const auto without = [&](std::size_t end) { return file.parent_path() / name.substr(0, end); };
  const std::size_t comma = name.rfind(',');
  if (comma != std::string::npos && comma > 0 && to_int(name.substr(comma + 1))) {
    return without(comma);
  }
  if (name.size() > 1 && name.back() == '~') return without(name.size() - 1);
  for (const std::string_view end : {".bak", ".old", ".orig"}) {
    if (low.size() > end.size() && low.substr(low.size() - end.size()) == end) {
      return without(name.size() - end.size());
    }
  }
  return std::nullopt;
}

}  // namespace isthmus::formats
