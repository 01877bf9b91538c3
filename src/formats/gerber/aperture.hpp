// SPDX-License-Identifier: Apache-2.0
// Apertures of a Gerber file: their definitions, and their images under the current transformation.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <unordered_map>
#include <vector>

#include "formats/gerber/macro.hpp"
#include "formats/gerber/shape.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::formats::gerber {

// The image of an aperture about its own origin, ready to be flashed or moved.
struct Pen {
  Polygons shape;
  Box box;
  double width{};     // circle: diameter; else the least width
  bool round{false};  // a plain circle
  Path unit;          // round: the unit circle its caps are made from
};

enum class ApertureKind { circle, rectangle, obround, polygon, macro, block };

struct Aperture {
  ApertureKind kind{ApertureKind::circle};
  std::vector<double> parameters;  // as in the file
  std::string_view macro;          // name, when of kind macro
  std::size_t at{};                // byte offset of its definition
  double unit{};                   // nm per file unit; 0: not known when it was defined
  std::string function;            // .AperFunction attached to it
  std::vector<Object> objects;     // of a block, about its origin
  // Image under transformation number `pen_for`.
  Pen pen;
  std::uint32_t pen_for{0};
};

class Apertures {
 public:
  explicit Apertures(Report& report) : report_(report) {}

  // `body` is what follows "AD", without '*'. `function` is the .AperFunction in force.
  bool define(std::string_view body, double unit, const std::string& function);
  // `body` is all between "%AM" and "%".
  bool define_macro(std::string_view body);
  bool define_block(int code, Aperture block);

  [[nodiscard]] Aperture* find(int code);
  // The image for the transformation numbered `number` (> 0, a new one for each change). REQUIRES
  // no block. Nothing, with the report failed, when it cannot be made. `unit` serves apertures that
  // were defined before the units were known.
  const Pen* pen(Aperture& aperture, const Transform& transform, std::uint32_t number, double unit);

 private:
  bool add(int code, Aperture aperture);
  bool check(const Aperture& aperture, std::string_view name);
  bool build(const Aperture& aperture, const Transform& transform, double unit, Pen& pen);

  Report& report_;
  std::unordered_map<int, Aperture> by_code_;
  std::map<std::string_view, Macro> macros_;
};

}  // namespace isthmus::formats::gerber
