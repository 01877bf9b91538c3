// SPDX-License-Identifier: Apache-2.0
#include "formats/ipc_2581/xml.hpp"

#include <algorithm>

#include "isthmus/formats/text.hpp"

namespace isthmus::formats::i81 {
namespace {

constexpr std::size_t kMaxBytes = 64u << 20;
constexpr std::ptrdiff_t kMaxTags = 4'000'000, kMaxAttributes = 8'000'000;
constexpr int kMaxDepth = 64;

class DepthLimit : public pugi::xml_tree_walker {
 public:
  bool for_each(pugi::xml_node& node) override {
    if (depth() <= kMaxDepth) return true;
    too_deep = node;
    return false;
  }
  pugi::xml_node too_deep;
};

}  // namespace

Document::Document(std::string_view bytes, std::string file)
    : bytes_(bytes), file_(std::move(file)) {}

std::optional<Problem> Document::beyond_limits() const {
  if (bytes_.size() > kMaxBytes) {
    return Problem{
        file_, 0, 0, "I81-002", "is over 64 MB", "export the netlist alone, or as IPC-D-356A", ""};
  }
  if (const std::size_t nul = bytes_.find('\0'); nul != std::string_view::npos) {
    return Problem{
        file_, 0, 0, "I81-002", "holds NUL bytes: it is binary or not UTF-8", "save it as UTF-8",
        ""};
  }
  if (std::ranges::count(bytes_, '<') > kMaxTags ||
      std::ranges::count(bytes_, '=') > kMaxAttributes) {
    return Problem{file_,
                   0,
                   0,
                   "I81-002",
                   "holds more than 4 million tags or 8 million attributes",
                   "export the netlist alone, or as IPC-D-356A",
                   ""};
  }
  return std::nullopt;
}

std::optional<Problem> Document::load() {
  if (auto p = beyond_limits()) return p;
  line_starts_.push_back(0);
  for (std::size_t i = 0; i < bytes_.size(); ++i) {
    if (bytes_[i] == '\n') line_starts_.push_back(i + 1);
  }
  for (const std::string_view mark : {"<!DOCTYPE", "<!ENTITY"}) {
    const std::size_t found = bytes_.find(mark);
    if (found != std::string_view::npos) {
      return at(static_cast<std::ptrdiff_t>(found), "I81-003",
                "document types and entities are not read: they can make a file explode",
                "remove the declaration; IPC-2581 needs none");
    }
  }
  const pugi::xml_parse_result parsed =
      xml_.load_buffer(bytes_.data(), bytes_.size(), pugi::parse_default, pugi::encoding_utf8);
  if (!parsed) {
    return at(parsed.offset, "I81-001",
              std::string("is not well-formed XML: ") + parsed.description(),
              "the file may be cut short; export it again");
  }
  DepthLimit depth;
  xml_.traverse(depth);
  if (depth.too_deep) {
    return problem(depth.too_deep, "I81-002", "elements are nested more than 64 deep",
                   "is it the right file? export again");
  }
  return std::nullopt;
}

int Document::line_of(const pugi::xml_node& node) const {
  const std::ptrdiff_t offset = node.offset_debug();
  if (offset < 0) return 0;
  const auto after = std::ranges::upper_bound(line_starts_, static_cast<std::size_t>(offset));
  return static_cast<int>(after - line_starts_.begin());
}

Problem Document::at(std::ptrdiff_t offset, const char* code, std::string message,
                     std::string hint) const {
  Problem p{file_, 0, 0, code, std::move(message), std::move(hint), ""};
  if (offset < 0) return p;
  const auto place = std::min(static_cast<std::size_t>(offset), bytes_.size());
  const auto after = std::ranges::upper_bound(line_starts_, place);
  const std::size_t start = *(after - 1);
  p.line = static_cast<int>(after - line_starts_.begin());
  p.column = static_cast<int>(place - start) + 1;
  std::string_view rest = bytes_.substr(start);
  rest = rest.substr(0, rest.find_first_of("\r\n"));
  p.source_line = std::string(rest);
  return p;
}

Problem Document::problem(const pugi::xml_node& node, const char* code, std::string message,
                          std::string hint) const {
  return at(node.offset_debug(), code, std::move(message), std::move(hint));
}

std::string_view local_name(const pugi::xml_node& node) {
  const std::string_view name = node.name();
  const std::size_t colon = name.find(':');
  return colon == std::string_view::npos ? name : name.substr(colon + 1);
}

std::vector<pugi::xml_node> all_below(const pugi::xml_node& from, std::string_view name) {
  std::vector<pugi::xml_node> found, todo{from};
  while (!todo.empty()) {
    const pugi::xml_node node = todo.back();
    todo.pop_back();
    if (node != from && local_name(node) == name) {
      found.push_back(node);
      continue;
    }
    for (pugi::xml_node c = node.last_child(); c; c = c.previous_sibling()) {
      if (c.type() == pugi::node_element) todo.push_back(c);
    }
  }
  return found;
}

pugi::xml_node child_of(const pugi::xml_node& node, std::string_view name) {
  for (const pugi::xml_node c : node.children()) {
    if (local_name(c) == name) return c;
  }
  return {};
}

}  // namespace isthmus::formats::i81
