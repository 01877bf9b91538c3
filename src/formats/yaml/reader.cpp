// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>

#include "isthmus/formats/text.hpp"
#include "isthmus/formats/yaml.hpp"

namespace isthmus::formats {
namespace {

std::string called(const YamlNode& n) { return n.key.empty() ? "this" : "'" + shown(n.key) + "'"; }

bool plain_is_safe(std::string_view s) {
  if (s.empty() || !(is_alpha(s[0]) || s[0] == '.' || s[0] == '_')) return false;
  if (s.back() == ' ' || to_double(s)) return false;
  const std::string low = lower(s);
  for (const char* word :
       {"true", "false", "null", "yes", "no", "on", "off", "y", "n", ".inf", ".nan"}) {
    if (low == word) return false;
  }
  return std::ranges::all_of(s, [](char c) {
    return is_alpha(c) || is_digit(c) || contains("._-/+ ", std::string_view(&c, 1));
  });
}

}  // namespace

void YamlReader::fail(const YamlNode& at, std::string code, std::string message, std::string hint) {
  if (problem_) return;
  std::string line;
  if (at.line > 0) {
    const std::vector<std::string_view> lines = split_lines(source_);
    const auto i = static_cast<std::size_t>(at.line) - 1;
    if (i < lines.size()) line = std::string(lines[i]);
  }
  problem_ = Problem{at.option.empty() ? file_ : at.option,
                     at.line,
                     at.column,
                     std::move(code),
                     std::move(message),
                     std::move(hint),
                     std::move(line)};
}

bool YamlReader::map(const YamlNode& n, std::initializer_list<std::string_view> known) {
  if (n.kind != YamlKind::map) {
    fail(n, "YML-004", called(n) + " has to be a map (key: value)");
    return false;
  }
  const std::vector<std::string> names(known.begin(), known.end());
  for (const YamlNode& child : n.children) {
    if (std::ranges::find(names, child.key) != names.end()) continue;
    const std::string near = nearest(child.key, names);
    std::string hint = "known keys here:";
    for (const std::string& name : names) hint += " " + name;
    fail(child.at_key(), "YML-002", "unknown key '" + shown(child.key) + "'",
         near.empty() ? hint : "did you mean '" + near + "'?");
    return false;
  }
  return true;
}

bool YamlReader::list(const YamlNode& n, std::string_view what) {
  if (n.kind == YamlKind::list) return true;
  fail(n, "YML-004", called(n) + " has to be a list of " + std::string(what));
  return false;
}

const YamlNode* YamlReader::required(const YamlNode& map, std::string_view key,
                                     std::string_view hint) {
  const YamlNode* found = map.find(key);
  if (found == nullptr) {
    fail(map, "YML-003", "the key '" + std::string(key) + "' is missing", std::string(hint));
  }
  return found;
}

std::string YamlReader::text(const YamlNode& n) {
  if (n.kind != YamlKind::scalar || trim(n.text).empty()) {
    fail(n, "YML-004", called(n) + " has to be a single value, and not empty");
    return "";
  }
  return n.text;
}

double YamlReader::number(const YamlNode& n) {
  const std::optional<double> v = n.kind == YamlKind::scalar ? to_double(n.text) : std::nullopt;
  const bool comma = n.kind == YamlKind::scalar && std::ranges::count(n.text, ',') == 1;
  if (!v)
    fail(n, "YML-007", called(n) + " has to be a number",
         comma ? "decimals take a point, not a comma" : "");
  return v.value_or(0);
}

int YamlReader::whole(const YamlNode& n, int lo, int hi) {
  const std::optional<std::int64_t> v = n.kind == YamlKind::scalar ? to_int(n.text) : std::nullopt;
  if (!v || *v < lo || *v > hi) {
    fail(n, "YML-012",
         called(n) + " has to be a whole number from " + std::to_string(lo) + " to " +
             std::to_string(hi));
    return lo;
  }
  return static_cast<int>(*v);
}

bool YamlReader::truth(const YamlNode& n) { return word(n, {"false", "true"}) == 1; }

std::int64_t YamlReader::coordinate(const YamlNode& n) {
  const double mm = number(n);
  if (!(std::abs(mm) <= to_mm(kMaxCoordinate))) {
    fail(n, "YML-012", "a coordinate has to lie within 1070 mm of the origin");
    return 0;
  }
  return from_mm(mm).value;
}

Position YamlReader::place(const YamlNode& n) {
  if (n.kind != YamlKind::list || n.children.size() != 2) {
    const bool commas = n.kind == YamlKind::list && n.children.size() > 2;
    fail(n, "YML-004", called(n) + " has to be a place: [x, y] in mm",
         commas ? "two numbers; decimals take a point, not a comma: [9.5, 26]" : "");
    return {};
  }
  return {coordinate(n.children[0]), coordinate(n.children[1])};
}

std::size_t YamlReader::word(const YamlNode& n, std::initializer_list<std::string_view> words) {
  const auto it = n.kind == YamlKind::scalar ? std::ranges::find(words, n.text) : words.end();
  if (it != words.end()) return static_cast<std::size_t>(it - words.begin());
  std::string all;
  for (std::string_view w : words) all += (all.empty() ? "" : ", ") + std::string(w);
  const std::string given = n.kind == YamlKind::scalar ? ", not '" + shown(n.text) + "'" : "";
  fail(n, "YML-010", called(n) + " has to be one of: " + all + given);
  return 0;
}

std::string yaml_text(std::string_view s) {
  if (plain_is_safe(s)) return std::string(s);
  static constexpr std::string_view kHex = "0123456789abcdef";
  std::string out = "\"";
  for (char c : s) {
    const auto u = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (u < 0x20 || u == 0x7f) {
      out += "\\x";
      out += kHex[u >> 4];
      out += kHex[u & 15];
    } else {
      out += c;
    }
  }
  return out + "\"";
}

std::string mm_text(std::int64_t nm) {
  const std::int64_t size = nm < 0 ? -nm : nm;
  std::string out = (nm < 0 ? "-" : "") + std::to_string(size / 1'000'000);
  if (const std::int64_t rest = size % 1'000'000; rest != 0) {
    std::string fraction = std::to_string(1'000'000 + rest).substr(1);
    while (fraction.back() == '0') fraction.pop_back();
    out += "." + fraction;
  }
  return out;
}

std::string place_text(Position p) { return "[" + mm_text(p.x) + ", " + mm_text(p.y) + "]"; }

}  // namespace isthmus::formats
