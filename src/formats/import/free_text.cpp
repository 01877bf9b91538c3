// SPDX-License-Identifier: Apache-2.0
#include "formats/import/free_text.hpp"

#include <algorithm>
#include <array>
#include <optional>

#include "formats/import/file_names.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

constexpr std::size_t kHeader = 200;  // lines

struct Said {
  std::string_view text;
  bool strong{};
  bool first{};  // the file's first comment, which speaks of paste or legend
  bool name{};   // of a file or an image, perhaps with its path
};

bool names_a_layer(std::string_view key) {
  static constexpr std::array<std::string_view, 8> kKeys{
      "layer", "layer name", "film name", "title", "image", "name", "layer_name", "film"};
  return std::ranges::find(kKeys, lower(trim(key))) != kKeys.end();
}

// "solder" on its own is the side away from the components; in "solder mask" it is not.
NameWords side_words(std::string_view text) {
  NameWords words = name_words(text);
  for (std::size_t i = 0; i < words.size(); ++i) {
    static constexpr std::array<std::string_view, 6> kMaterial{"mask",  "stop",   "stopmask",
                                                               "paste", "resist", "solder"};
    if (words[i] != "solder") continue;
    const bool material =
        i + 1 < words.size() && std::ranges::find(kMaterial, words[i + 1]) != kMaterial.end();
    if (!material) words[i] = "solderside";
  }
  return words;
}

std::optional<Said> said_in(std::string_view line, bool& comment_seen) {
  line = trim(line);
  while (!line.empty() && (line.back() == '%' || line.back() == '*')) line.remove_suffix(1);
  const std::string_view start = line.substr(0, 3);
  if (start == "%LN" || start == "%IN") return Said{trim(line.substr(3)), true, false, true};
  if (start != "G04" || contains(line, "#@!")) return std::nullopt;
  std::string_view text = trim(line.substr(3));
  if (text.empty()) return std::nullopt;
  const bool first = !comment_seen;
  comment_seen = true;
  const std::size_t colon = text.find(':');
  if (colon != std::string_view::npos && names_a_layer(text.substr(0, colon))) {
    return Said{trim(text.substr(colon + 1)), true, false, false};
  }
  // The first comment may say that the layer is none of ours, and no more than that.
  const bool veto =
      any_of(name_words(text), {"paste", "cream", "silk", "silks", "silkscreen", "legend"});
  if (first && veto) return Said{text, true, true, false};
  const bool speaks =
      any_of(name_words(text), {"layer", "layers", "side", "copper", "mask", "soldermask"});
  return speaks ? std::optional(Said{text, false, false, false}) : std::nullopt;
}

Claim claim_in(const Said& said) {
  std::string_view text = said.text;
  if (text.size() > 1 && text.front() == '"' && text.back() == '"') {
    text = text.substr(1, text.size() - 2);
  }
  const std::size_t slash = said.name ? text.find_last_of("/\\") : std::string_view::npos;
  if (slash != std::string_view::npos) text.remove_prefix(slash + 1);
  const Claim plain = claim_of(side_words(text));
  // The name of a file, as "POD.TOP"; not a sentence with a full stop.
  const std::size_t dot = text.rfind('.');
  const bool file = said.name && dot != std::string_view::npos && text.size() - dot <= 5;
  if (!file) return plain;
  const NameClaim named = claim_of_name(std::filesystem::path(std::string(text)));
  return named.contradiction.empty() ? named.claim : Claim();
}

bool only_drawn_along(const Claim& c) { return c.role == FileRole::outline; }

}  // namespace

TextClaim claim_of_text(const std::vector<std::string_view>& lines) {
  std::vector<TextClaim> all;
  bool comment_seen = false;
  for (std::size_t i = 0; i < lines.size() && i < kHeader; ++i) {
    const std::optional<Said> said = said_in(lines[i], comment_seen);
    if (!said) continue;
    TextClaim here{claim_in(*said), shown(said->text), said->strong};
    if (!here.claim.says() || (!here.strong && here.claim.not_ours)) continue;
    if (said->first && !here.claim.not_ours) continue;
    all.push_back(std::move(here));
  }
  const auto strong = [](const TextClaim& t) { return t.strong; };
  if (std::ranges::any_of(all, strong))
    std::erase_if(all, [&](const TextClaim& t) { return !strong(t); });
  const auto along = [](const TextClaim& t) { return only_drawn_along(t.claim); };
  if (!std::ranges::all_of(all, along)) std::erase_if(all, along);
  if (all.empty()) return {};
  const bool one =
      std::ranges::all_of(all, [&](const TextClaim& t) { return t.claim.same_as(all[0].claim); });
  if (one) return all[0];
  // What names paste or legend beside a side is no copper, even if the sides differ.
  const bool never =
      std::ranges::all_of(all, [](const TextClaim& t) { return t.claim.role != FileRole::copper; });
  if (!never) return {};
  all[0].claim = Claim();
  all[0].claim.not_ours = true;
  return all[0];
}

}  // namespace isthmus::formats
