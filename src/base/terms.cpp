// SPDX-License-Identifier: Apache-2.0
#include "isthmus/base/terms.hpp"

#include <array>
#include <utility>

namespace isthmus {
namespace {

constexpr std::array<std::pair<Stage, std::string_view>, 5> kStages{{
    {Stage::etched_top, "etched-top"},
    {Stage::etched_bottom, "etched-bottom"},
    {Stage::etched, "etched"},
    {Stage::joined, "joined"},
    {Stage::finished, "finished"},
}};
constexpr std::array<std::pair<Side, std::string_view>, 3> kSides{
    {{Side::top, "top"}, {Side::bottom, "bottom"}, {Side::both, "both"}}};

template <class E, std::size_t N>
std::string_view name_in(const std::array<std::pair<E, std::string_view>, N>& table, E e) {
  for (const auto& [value, text] : table) {
    if (value == e) return text;
  }
  return "";
}

template <class E, std::size_t N>
std::optional<E> value_in(const std::array<std::pair<E, std::string_view>, N>& table,
                          std::string_view text) {
  for (const auto& [value, word] : table) {
    if (word == text) return value;
  }
  return std::nullopt;
}

}  // namespace

std::string_view name(Side s) { return name_in(kSides, s); }
std::optional<Side> parse_side(std::string_view text) { return value_in(kSides, text); }
std::string_view name(Stage s) { return name_in(kStages, s); }
std::optional<Stage> parse_stage(std::string_view text) { return value_in(kStages, text); }

std::string layer_name(LayerId layer, std::size_t layers) {
  if (index(layer) == 0) return "top";
  if (index(layer) + 1 == layers) return "bottom";
  return "L" + std::to_string(index(layer) + 1);
}

}  // namespace isthmus
