// SPDX-License-Identifier: Apache-2.0
// Layers drawn by lot, the same for the same seed.
#pragma once

#include <cstdint>
#include <random>
#include <utility>
#include <vector>

#include "tests/support/layer_shapes.hpp"

namespace isthmus::test {

class Lot {
 public:
  explicit Lot(std::uint32_t seed) : draws_(seed) {}
  // Spelled out, so that every library draws the same.
  double between(double lo, double hi) {
    return lo + (hi - lo) * (static_cast<double>(draws_()) / 4294967296.0);
  }
  std::size_t below(std::size_t n) {
    return static_cast<std::size_t>(between(0, static_cast<double>(n)));
  }

 private:
  std::mt19937 draws_;
};

struct LayerWish {
  std::size_t objects{40};
  double side_mm{20};
  double clear_share{0};
  double grid_mm{0};  // places are multiples of it, so that shapes touch and coincide; 0: anywhere
};

inline formats::Object random_object(Lot& lot, const LayerWish& wish) {
  const auto place = [&] {
    const double v = lot.between(0, wish.side_mm);
    return wish.grid_mm > 0 ? std::round(v / wish.grid_mm) * wish.grid_mm : v;
  };
  const auto extent = [&] {
    const double v = lot.between(0.2, 2);
    return wish.grid_mm > 0 ? std::max(1.0, std::round(v / wish.grid_mm)) * wish.grid_mm : v;
  };
  const double x = place(), y = place(), size = extent();
  const bool is_dark = lot.between(0, 1) >= wish.clear_share;
  switch (lot.below(4)) {
    case 0:
      return object(is_dark, {disc(x, y, size)});
    case 1:
      return object(is_dark, {rectangle(x, y, x + size, y + extent())});
    case 2:
      return object(is_dark, {ring(x, y, 2 * size, size)});
    default:
      return object(is_dark, {track(x, y, place(), place(), size / 4)});
  }
}

inline std::vector<formats::Object> random_objects(std::uint32_t seed, const LayerWish& wish) {
  Lot lot(seed);
  std::vector<formats::Object> out;
  for (std::size_t i = 0; i < wish.objects; ++i) out.push_back(random_object(lot, wish));
  return out;
}

// Turned by 90 degrees, then mirrored at the y axis if wanted, then shifted. Orientation is kept.
struct Move {
  bool turned{false}, mirrored{false};
  Position by{};
  [[nodiscard]] Position operator()(Position p) const {
    if (turned) p = {-p.y, p.x};
    if (mirrored) p.x = -p.x;
    return p + by;
  }
};

inline std::vector<formats::Object> moved(std::vector<formats::Object> objects, const Move& move) {
  const auto apply = [&move](Contour& c) {
    for (Position& p : c) p = move(p);
    if (move.mirrored) c = Contour(c.rbegin(), c.rend());
  };
  for (formats::Object& o : objects) {
    for (Polygon& p : o.shape) {
      apply(p.outer);
      for (Contour& hole : p.holes) apply(hole);
    }
  }
  return objects;
}

}  // namespace isthmus::test
