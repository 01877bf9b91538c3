// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <string>

#include "formats/gerber/clip.hpp"
#include "isthmus/formats/gerber.hpp"

namespace isthmus::formats {

// A whole file in millimetres 4.6 around `body`.
inline std::string mm_file(const std::string& body) {
  return "%FSLAX46Y46*%\n%MOMM*%\n" + body + "\nM02*\n";
}

inline LayerImage image_of(const std::string& text) {
  Diagnostics notes;
  Result<LayerImage> result = read_gerber(text, "layer.gbr", notes);
  EXPECT_TRUE(result.ok()) << format(result.problem());
  for (const Diagnostic& d : notes.list()) ADD_FAILURE() << format(d.what, "unexpected message");
  return result.ok() ? std::move(result).value() : LayerImage{};
}

// The image although messages are expected; their codes in order.
struct Noted {
  LayerImage image;
  std::vector<std::string> codes;
};
inline Noted noted(const std::string& text) {
  Diagnostics notes;
  Result<LayerImage> result = read_gerber(text, "layer.gbr", notes);
  EXPECT_TRUE(result.ok()) << format(result.problem());
  Noted all;
  for (const Diagnostic& d : notes.list()) all.codes.push_back(d.what.code);
  if (result.ok()) all.image = std::move(result).value();
  return all;
}

inline Problem problem_of(const std::string& text) {
  Diagnostics notes;
  const Result<LayerImage> result = read_gerber(text, "layer.gbr", notes);
  EXPECT_FALSE(result.ok()) << "was read without an error";
  return result.ok() ? Problem{} : result.problem();
}

inline double area_mm2(const std::vector<Polygon>& shape) {
  double nm2 = 0;
  for (const Polygon& polygon : shape) nm2 += area_nm2(polygon);
  return nm2 * 1e-12;
}
inline double area_mm2(const Object& object) { return area_mm2(object.shape); }

// The layer's image after all painting.
inline std::vector<Polygon> painted(const LayerImage& image) {
  std::vector<Polygon> all;
  for (const Object& object : image.objects) {
    if (!object.dark) {
      all = gerber::subtract(all, object.shape);
      continue;
    }
    all.insert(all.end(), object.shape.begin(), object.shape.end());
    all = gerber::unite(all);
  }
  return all;
}

// Chords lie within 1 um of the curve, so an area is right within 1 um along its curved edge.
inline constexpr double kMicron = 1e-3;
inline double disc_mm2(double diameter) { return std::numbers::pi * diameter * diameter / 4; }
inline double slack(double curved_mm) { return kMicron * curved_mm + 1e-9; }

}  // namespace isthmus::formats
