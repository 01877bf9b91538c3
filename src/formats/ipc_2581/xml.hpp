// SPDX-License-Identifier: Apache-2.0
// The XML beneath an IPC-2581 file: loaded within limits, with places for messages.
#pragma once

#include <optional>
#include <pugixml.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "isthmus/base/result.hpp"

namespace isthmus::formats::i81 {

class Document {
 public:
  // `bytes` must outlive the document.
  Document(std::string_view bytes, std::string file);
  std::optional<Problem> load();

  [[nodiscard]] pugi::xml_node root() const { return xml_.document_element(); }
  [[nodiscard]] int line_of(const pugi::xml_node& node) const;
  [[nodiscard]] Problem problem(const pugi::xml_node& node, const char* code, std::string message,
                                std::string hint = "") const;

 private:
  [[nodiscard]] Problem at(std::ptrdiff_t offset, const char* code, std::string message,
                           std::string hint) const;
  [[nodiscard]] std::optional<Problem> beyond_limits() const;

  std::string_view bytes_;
  std::string file_;
  std::vector<std::size_t> line_starts_;
  pugi::xml_document xml_;
};

// The element's name without a namespace prefix.
std::string_view local_name(const pugi::xml_node& node);
// All elements of one name below `from`, in document order; nothing below a match is searched.
std::vector<pugi::xml_node> all_below(const pugi::xml_node& from, std::string_view name);
pugi::xml_node child_of(const pugi::xml_node& node, std::string_view name);

}  // namespace isthmus::formats::i81
