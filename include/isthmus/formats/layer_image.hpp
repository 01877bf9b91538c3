// SPDX-License-Identifier: Apache-2.0
// The image of one Gerber layer as plain objects in drawing order.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "isthmus/base/geometry.hpp"

namespace isthmus::formats {

// X2 object attributes (GLF 2023.08, 5.6.13-5.6.15) and the aperture function, as in force at the
// object.
struct Attributes {
  std::optional<std::vector<std::string>>
      nets;               // .N; absent = unknown; {""} = no net; {"N/C"} = single-pad net
  std::string component;  // .P ref or .C
  std::string pin;        // .P number
  std::string pin_function;
  std::string aperture_function;  // .AperFunction, first field: "SMDPad", "ViaPad", "Conductor"...
  bool operator==(const Attributes&) const = default;
};

enum class ObjectKind : std::uint8_t { flash, stroke, region };

// One graphic object. `shape` is its own image before anything clears it: polygons with
// non-overlapping interiors, arcs as chords within 1 um (chord vertices on the true curve or
// outside it by < 1 um).
struct Object {
  ObjectKind kind{ObjectKind::flash};
  bool dark{true};              // false: removes what lies under it
  std::vector<Polygon> shape;   // empty for zero-size objects
  std::vector<Position> spine;  // flash: {place}; stroke: centre line (arc = many); region: empty
  Nanometres
      width{};  // stroke: pen width across (round pen: diameter); flash: smaller extent; region: 0
  bool round{false};           // stroke by a round pen, or flash of a plain circle
  std::uint32_t attributes{};  // index into LayerImage::attributes
  std::int32_t line{};         // source line
};

struct LayerImage {
  std::string file;                       // as named when read
  std::vector<Object> objects;            // drawing order
  std::vector<Attributes> attributes{1};  // [0] is empty
  std::vector<std::vector<std::string>>
      file_attributes;  // {".FileFunction","Copper","L1","Top"}, ...
  Box extent;           // of all shapes
  // Fields of a file attribute after its name; nothing when the file has none of this name.
  [[nodiscard]] std::optional<std::vector<std::string>> file_attribute(
      const std::string& name) const;
};

}  // namespace isthmus::formats
