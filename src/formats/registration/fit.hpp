// SPDX-License-Identifier: Apache-2.0
// Two sets of places brought into one frame: by voting, without a guess.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "isthmus/formats/design.hpp"

namespace isthmus::formats {

// What can be touched at a place: bits, so that a point may ask for any of several.
inline constexpr std::uint8_t kOnTop = 1, kOnBottom = 2, kOnInner = 4, kInHole = 8, kAnywhere = 15;

struct FitPoint {
  Position at;
  std::uint8_t wants{kAnywhere};
  std::string net;  // empty or N/C: none that could witness
};
struct FitPlace {
  Position at;
  std::uint8_t has{};
  std::string net;
};

// Centres of flashes, of regions and of strokes, and of holes; sorted, one entry a place.
std::vector<FitPlace> places_of(const std::vector<LayerImage>& copper,
                                const std::vector<Hole>& holes, bool with_strokes);

// The same of one layer, with `bit` for each place.
std::vector<FitPlace> places_of(const LayerImage& layer, std::uint8_t bit, bool with_strokes);

// Points that have a place of their kind within 50 um.
std::size_t landed(const std::vector<FitPoint>& points, const std::vector<FitPlace>& places,
                   const Frame& frame);

// Whether the nets of the places contradict those of the points: nets under any names must map one
// to one. Says nothing where fewer than eight points can tell.
bool nets_contradict(const std::vector<FitPoint>& points, const std::vector<FitPlace>& places,
                     const Frame& frame);

struct NoFit {
  Frame best;  // the one that comes nearest
  std::size_t landed{};
  bool by_nets{};  // a frame fits by place, and the nets say no
};
struct TwoFits {
  Frame one, other;
  std::size_t landed{};
};
using FitResult = std::variant<Frame, NoFit, TwoFits>;

// At least nine in ten points must land. Another frame that lands as many, but for one point or
// one in fifty, makes it ambiguous. REQUIRES both not empty.
FitResult find_frame(const std::vector<FitPoint>& points, const std::vector<FitPlace>& places);

}  // namespace isthmus::formats
