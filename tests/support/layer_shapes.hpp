// SPDX-License-Identifier: Apache-2.0
// Small copper layers made by hand, in millimetres.
#pragma once

#include <cmath>
#include <cstddef>
#include <initializer_list>
#include <numbers>
#include <utility>
#include <vector>

#include "isthmus/formats/design.hpp"

namespace isthmus::test {

inline Polygon rectangle(double x0, double y0, double x1, double y1) {
  return {{position_mm(x0, y0), position_mm(x1, y0), position_mm(x1, y1), position_mm(x0, y1)}, {}};
}

inline Contour circle(double x, double y, double diameter, std::size_t corners = 32) {
  Contour out;
  for (std::size_t i = 0; i < corners; ++i) {
    const double turn =
        2 * std::numbers::pi * static_cast<double>(i) / static_cast<double>(corners);
    out.push_back(
        position_mm(x + diameter / 2 * std::cos(turn), y + diameter / 2 * std::sin(turn)));
  }
  return out;
}
inline Polygon disc(double x, double y, double diameter, std::size_t corners = 32) {
  return {circle(x, y, diameter, corners), {}};
}
inline Polygon ring(double x, double y, double outer, double inner) {
  Contour hole = circle(x, y, inner);
  return {circle(x, y, outer), {Contour(hole.rbegin(), hole.rend())}};
}

// A stroke by a round pen.
inline Polygon track(double x0, double y0, double x1, double y1, double width) {
  const double along = std::atan2(y1 - y0, x1 - x0);
  Contour out;
  constexpr int kHalf = 16;
  for (int end = 0; end < 2; ++end) {
    const double x = end == 0 ? x0 : x1, y = end == 0 ? y0 : y1;
    for (int i = 0; i <= kHalf; ++i) {
      const double turn = along + std::numbers::pi * (0.5 + end + static_cast<double>(i) / kHalf);
      out.push_back(position_mm(x + width / 2 * std::cos(turn), y + width / 2 * std::sin(turn)));
    }
  }
  return {out, {}};
}

inline formats::Object object(bool dark, std::vector<Polygon> shape) {
  formats::Object out;
  out.kind = formats::ObjectKind::region;
  out.dark = dark;
  out.shape = std::move(shape);
  return out;
}
inline formats::Object dark(Polygon shape) { return object(true, {std::move(shape)}); }
inline formats::Object clear(Polygon shape) { return object(false, {std::move(shape)}); }

inline formats::LayerImage layer_of(std::vector<formats::Object> objects) {
  formats::LayerImage image;
  image.file = "layer.gbr";
  image.objects = std::move(objects);
  for (const formats::Object& o : image.objects) {
    for (const Polygon& p : o.shape) image.extent.add(box_of(p.outer));
  }
  return image;
}
inline formats::Design design_of(std::vector<formats::LayerImage> layers) {
  formats::Design design;
  design.copper = std::move(layers);
  return design;
}
inline formats::Design design_of(std::vector<formats::Object> objects) {
  return design_of(std::vector<formats::LayerImage>{layer_of(std::move(objects))});
}

}  // namespace isthmus::test
