// SPDX-License-Identifier: Apache-2.0
// Words of the trade that every stage uses: sides, layers, stages, and the ids that link values.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace isthmus {

// Copper layers are counted from the top: index 0 is the top layer (L1).
enum class LayerId : std::uint16_t {};
constexpr std::size_t index(LayerId l) { return static_cast<std::size_t>(l); }

enum class IslandId : std::uint32_t {};
constexpr std::size_t index(IslandId i) { return static_cast<std::size_t>(i); }
enum class PointId : std::uint32_t {};
constexpr std::size_t index(PointId i) { return static_cast<std::size_t>(i); }
enum class GroupId : std::uint32_t {};
constexpr std::size_t index(GroupId i) { return static_cast<std::size_t>(i); }
enum class StepId : std::uint32_t {};
constexpr std::size_t index(StepId i) { return static_cast<std::size_t>(i); }

// Where a probe can touch. A plated or joined hole is `both`.
enum class Side { top, bottom, both };
std::string_view name(Side s);
std::optional<Side> parse_side(std::string_view text);

// "top", "bottom", or "L2"... for inner layers of a board with `layers` copper layers.
std::string layer_name(LayerId layer, std::size_t layers);

// How far the board has got; see docs/glossary.md.
enum class Stage { etched_top, etched_bottom, etched, joined, finished };
std::string_view name(Stage s);  // "etched-top" ...
std::optional<Stage> parse_stage(std::string_view text);
// Whether the pattern of this layer is etched at that stage, of a board with `layers` layers.
inline bool is_etched(Stage s, LayerId layer, std::size_t layers) {
  if (s == Stage::etched_top) return index(layer) == 0;
  if (s == Stage::etched_bottom) return index(layer) + 1 == layers;
  return true;
}
inline bool joins_count(Stage s) { return s == Stage::joined || s == Stage::finished; }

}  // namespace isthmus
