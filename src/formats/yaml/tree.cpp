// SPDX-License-Identifier: Apache-2.0
// The one file that includes yaml-cpp: its nodes and exceptions end here.
#include <yaml-cpp/yaml.h>

#include <algorithm>

#include "isthmus/formats/text.hpp"
#include "isthmus/formats/yaml.hpp"

namespace isthmus::formats {
namespace {

constexpr std::size_t kMaxBytes = 4u << 20;
constexpr std::size_t kMaxNodes = 200'000;
constexpr int kMaxDepth = 32;

std::string source_line(std::string_view source, int line) {
  const std::vector<std::string_view> lines = split_lines(source);
  const auto i = static_cast<std::size_t>(line) - 1;
  return line > 0 && i < lines.size() ? std::string(lines[i]) : "";
}

class Converter {
 public:
  Converter(const std::string& file, std::string_view source) : file_(file), source_(source) {}

  Result<YamlNode> convert(const YAML::Node& from, int depth) {
    YamlNode to;
    to.line = std::max(from.Mark().line, 0) + 1;  // an empty document has no place of its own
    to.column = std::max(from.Mark().column, 0) + 1;
    if (++nodes_ > kMaxNodes || depth > kMaxDepth) {
      return at(to, "YML-014", "too many values, or nested too deeply",
                "is this the file you meant?");
    }
    if (from.IsScalar()) {
      to.kind = YamlKind::scalar;
      to.text = from.Scalar();
      return to;
    }
    if (from.IsSequence()) {
      to.kind = YamlKind::list;
      for (const auto& item : from) {
        Result<YamlNode> child = convert(item, depth + 1);
        if (!child) return child;
        to.children.push_back(std::move(*child));
      }
    }
    return from.IsMap() ? convert_map(from, std::move(to), depth) : Result<YamlNode>(std::move(to));
  }

 private:
  Result<YamlNode> convert_map(const YAML::Node& from, YamlNode to, int depth) {
    to.kind = YamlKind::map;
    for (const auto& entry : from) {
      Result<YamlNode> key = convert(entry.first, depth + 1);
      if (!key) return key;
      if (key->kind != YamlKind::scalar) return at(*key, "YML-004", "a key has to be plain text");
      Result<YamlNode> child = convert(entry.second, depth + 1);
      if (!child) return child;
      if (to.find(key->text) != nullptr) {
        return at(*key, "YML-009", "the key '" + shown(key->text) + "' stands here twice",
                  "keep one of the two");
      }
      child->key = key->text;
      child->key_line = key->line;
      child->key_column = key->column;
      if (child->kind == YamlKind::null) {
        child->line = key->line;
        child->column = key->column;
      }
      to.children.push_back(std::move(*child));
    }
    return to;
  }

  [[nodiscard]] Problem at(const YamlNode& n, const char* code, std::string message,
                           std::string hint = "") const {
    return {file_,
            n.line,
            n.column,
            code,
            std::move(message),
            std::move(hint),
            source_line(source_, n.line)};
  }

  std::string file_;
  std::string_view source_;
  std::size_t nodes_{};
};

void mark_option(YamlNode& n, const std::string& option) {
  n.option = option;
  n.line = n.column = n.key_line = n.key_column = 0;
  for (YamlNode& child : n.children) mark_option(child, option);
}

}  // namespace

YamlNode YamlNode::at_key() const {
  YamlNode out;
  out.line = key_line > 0 ? key_line : line;
  out.column = key_line > 0 ? key_column : column;
  out.option = option;
  return out;
}

const YamlNode* YamlNode::find(std::string_view wanted) const {
  if (kind != YamlKind::map) return nullptr;
  const auto it = std::ranges::find(children, wanted, &YamlNode::key);
  return it == children.end() ? nullptr : &*it;
}

Result<YamlNode> parse_yaml(std::string_view bytes, const std::string& file_name) {
  if (bytes.size() > kMaxBytes) {
    return Problem{file_name, 0, 0, "YML-014", "is larger than 4 MB", "is this a YAML file?", ""};
  }
  try {
    return Converter(file_name, bytes).convert(YAML::Load(std::string(bytes)), 0);
  } catch (const YAML::Exception& e) {
    const int line = e.mark.is_null() ? 0 : e.mark.line + 1;
    const int column = e.mark.is_null() ? 0 : e.mark.column + 1;
    return Problem{file_name,
                   line,
                   column,
                   "YML-001",
                   "not YAML: " + e.msg,
                   "check indentation, quotes and brackets at and above this place",
                   source_line(bytes, line)};
  }
}

Result<Done> apply_override(YamlNode& root, const YamlOverride& what) {
  const std::string option = "--" + what.key;
  Result<YamlNode> value = parse_yaml(what.text, option);
  if (!value) return value.problem();
  YamlNode* at = &root;
  for (const std::string_view part : split(what.key, '.')) {
    if (at->kind == YamlKind::null) at->kind = YamlKind::map;
    if (at->kind != YamlKind::map) {
      return Problem{option,
                     0,
                     0,
                     "YML-004",
                     "there is no map to put this value into",
                     "name a key that stands in a map, as in --limits.window",
                     ""};
    }
    auto it = std::ranges::find(at->children, part, &YamlNode::key);
    if (it == at->children.end()) {
      at->children.emplace_back();
      at->children.back().key = std::string(part);
      it = at->children.end() - 1;
    }
    at = &*it;
  }
  value->key = at->key;
  *at = std::move(*value);
  mark_option(*at, option);
  return Done{};
}

}  // namespace isthmus::formats
