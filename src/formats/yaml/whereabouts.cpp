// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/whereabouts.hpp"

#include "isthmus/formats/design.hpp"
#include "isthmus/formats/yaml.hpp"

namespace isthmus::formats {
namespace {

std::optional<YamlNode> read_again(const std::filesystem::path& board_yaml) {
  const Result<std::string> bytes = read_whole_file(board_yaml);
  if (!bytes) return std::nullopt;
  Result<YamlNode> root = parse_yaml(*bytes, board_yaml.string());
  if (!root) return std::nullopt;
  return std::move(root).value();
}

const YamlNode* scalar_naming(const YamlNode& n, const std::filesystem::path& folder,
                              const std::filesystem::path& file) {
  if (n.kind == YamlKind::scalar && !n.text.empty() &&
      (folder / n.text).lexically_normal() == file.lexically_normal()) {
    return &n;
  }
  for (const YamlNode& child : n.children) {
    if (const YamlNode* found = scalar_naming(child, folder, file)) return found;
  }
  return nullptr;
}

}  // namespace

std::optional<Whereabouts> where_file_is_named(const std::filesystem::path& board_yaml,
                                               const std::filesystem::path& file) {
  const std::optional<YamlNode> root = read_again(board_yaml);
  const YamlNode* named = root ? scalar_naming(*root, board_yaml.parent_path(), file) : nullptr;
  if (named == nullptr) return std::nullopt;
  return Whereabouts{named->line, named->column};
}

std::optional<Whereabouts> where_join_is_listed(const std::filesystem::path& board_yaml,
                                                Position at) {
  const std::optional<YamlNode> root = read_again(board_yaml);
  const YamlNode* joins = root ? root->find("joins") : nullptr;
  if (joins == nullptr || joins->kind != YamlKind::list) return std::nullopt;
  for (const YamlNode& n : joins->children) {
    const YamlNode* place = n.kind == YamlKind::map ? n.find("at") : &n;
    YamlReader reader(board_yaml.string(), "");
    if (place != nullptr && reader.place(*place) == at && !reader.problem())
      return Whereabouts{n.line, n.column};
  }
  return std::nullopt;
}

}  // namespace isthmus::formats
