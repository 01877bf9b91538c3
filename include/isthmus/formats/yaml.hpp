// SPDX-License-Identifier: Apache-2.0
// A YAML document as plain values with places, and a reader that remembers the first thing wrong.
#pragma once

#include <functional>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "isthmus/base/geometry.hpp"
#include "isthmus/base/result.hpp"

namespace isthmus::formats {

enum class YamlKind { null, scalar, list, map };

struct YamlNode {
  YamlKind kind{YamlKind::null};
  std::string text;                // scalar
  std::string key;                 // when an entry of a map
  std::vector<YamlNode> children;  // of a list or map, in file order
  int line{}, column{};            // 1-based
  int key_line{}, key_column{};    // of the key, when an entry of a map
  std::string option;              // "--stage" when the value came from the command line
  [[nodiscard]] const YamlNode* find(std::string_view wanted) const;
  [[nodiscard]] YamlNode at_key() const;  // only a place: the key's, where there is one
};

// Reads one YAML document.
//
// Shape   entries in file order, each with its place; anchors and aliases expanded.
// Errors  YML-001 (not YAML), YML-009 (a key twice), YML-014 (over 4 MB, 200 000 nodes or 32
//         levels, expanded ones counted).
Result<YamlNode> parse_yaml(std::string_view bytes, const std::string& file_name);

// Replaces or adds the value at a dotted key ("limits.isolation"); `text` is YAML itself.
struct YamlOverride {
  std::string key, text;
};
Result<Done> apply_override(YamlNode& root, const YamlOverride& what);

// Typed access. Each function returns a default after a failure; only the first problem is kept, so
// a caller reads everything and asks once.
class YamlReader {
 public:
  YamlReader(std::string file, std::string_view source) : file_(std::move(file)), source_(source) {}

  void fail(const YamlNode& at, std::string code, std::string message, std::string hint = "");
  [[nodiscard]] const std::optional<Problem>& problem() const { return problem_; }

  // YML-004 unless a map; YML-002 for a key not in `known`, with the nearest as hint.
  bool map(const YamlNode& n, std::initializer_list<std::string_view> known);
  bool list(const YamlNode& n, std::string_view what);  // YML-004 unless a list
  const YamlNode* required(const YamlNode& map, std::string_view key, std::string_view hint = "");

  std::string text(const YamlNode& n);  // a scalar that is not empty
  double number(const YamlNode& n);
  int whole(const YamlNode& n, int lo, int hi);
  bool truth(const YamlNode& n);
  Position place(const YamlNode& n);  // [x, y] in mm
  std::int64_t coordinate(const YamlNode& n);
  // One of `words`; its index. YML-010 otherwise, listing them.
  std::size_t word(const YamlNode& n, std::initializer_list<std::string_view> words);
  // A value with a unit, by one of the functions of quantity.hpp.
  template <class T>
  T quantity(const YamlNode& n, Result<T> (*parse)(std::string_view)) {
    Result<T> r = parse(text(n));
    if (!r) fail(n, r.problem().code, r.problem().message, r.problem().hint);
    return r ? *r : T{};
  }

 private:
  std::string file_;
  std::string source_;
  std::optional<Problem> problem_;
};

// A scalar as YAML text, quoted where plain text would be read as something else.
std::string yaml_text(std::string_view s);
// Millimetres, exact to the nanometre, no trailing zeros.
std::string mm_text(std::int64_t nm);
std::string place_text(Position p);  // "[1.25, 3]"

}  // namespace isthmus::formats
