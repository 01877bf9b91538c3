// SPDX-License-Identifier: Apache-2.0
// Turns graphic operations into objects: flashes, strokes, regions, repeats and blocks.
#pragma once

#include <optional>
#include <vector>

#include "formats/gerber/aperture.hpp"
#include "formats/gerber/attributes.hpp"
#include "formats/gerber/report.hpp"
#include "formats/gerber/shape.hpp"
#include "isthmus/formats/layer_image.hpp"

namespace isthmus::formats::gerber {

inline constexpr std::size_t kMaxObjects = 4'000'000;
inline constexpr std::size_t kMaxVertices = 100'000;           // of one object
inline constexpr std::size_t kMaxTotalVertices = 100'000'000;  // bounds memory to some 2 GB
inline constexpr std::size_t kMaxNesting = 16;

// Where a command stands, for messages and Object::line.
struct Spot {
  std::size_t at{};
  int line{};
};

struct Repeat {
  int columns{1}, rows{1};  // along x, along y
  Position step;
};

// What is open while its end has not been read.
struct OpenRegion {
  Spot spot;
  std::uint32_t attributes{};
  Contour contour;
  std::vector<Contour> contours;
  std::size_t vertices{0};
};

struct OpenRepeat {
  Repeat repeat;
  std::size_t first{};
  Spot spot;
};

struct OpenBlock {
  int code{};
  std::string function;
  std::vector<Object> objects;
  Spot spot;
};

class Plotter {
 public:
  Plotter(LayerImage& image, Report& report, Apertures& apertures, AttributeDictionary& attributes)
      : image_(image), report_(report), apertures_(apertures), attributes_(attributes) {}

  void set_unit(double nm_per_unit) { unit_ = nm_per_unit; }
  void set_polarity(bool dark) { dark_ = dark; }
  void set_transform(const Transform& transform);
  [[nodiscard]] const Transform& transform() const { return transform_; }
  bool select(int code, Spot spot);

  bool flash(Position at, Spot spot);
  bool line(Position from, Position to, Spot spot);
  bool arc(const Arc& arc, Position from, Position to, Spot spot);

  [[nodiscard]] bool in_region() const { return region_.has_value(); }
  void begin_region(Spot spot);
  bool region_move(Position to, Spot spot);
  bool region_line(Position from, Position to, Spot spot);
  bool region_arc(const Arc& arc, Position from, Position to, Spot spot);
  bool end_region(Spot spot);

  [[nodiscard]] bool in_repeat() const { return repeat_.has_value(); }
  void begin_repeat(const Repeat& repeat, Spot spot);
  bool end_repeat(Spot spot);

  [[nodiscard]] bool in_block() const { return !blocks_.empty(); }
  bool begin_block(int code, Spot spot);
  bool end_block(Spot spot);
  [[nodiscard]] Spot open_block() const { return blocks_.back().spot; }

 private:
  std::vector<Object>& target() {
    return blocks_.empty() ? image_.objects : blocks_.back().objects;
  }
  bool add(Object object, const Box& box, Spot spot);
  bool too_many(Spot spot);
  bool flash_block(const Aperture& block, Position at, Spot spot);
  const Pen* pen(Spot spot);
  bool stroke(Object object, const Pen& pen, Spot spot);
  bool extend_region(Position from, const Position* points, std::size_t count, Spot spot);
  bool close_contour(Spot spot);
  Polygons fill_contours(const OpenRegion& region);

  LayerImage& image_;
  Report& report_;
  Apertures& apertures_;
  AttributeDictionary& attributes_;
  double unit_{0};
  bool dark_{true};
  Transform transform_;
  std::uint32_t transform_number_{1}, transforms_{1};
  Aperture* aperture_{nullptr};
  std::optional<OpenRegion> region_;
  std::optional<OpenRepeat> repeat_;
  std::vector<OpenBlock> blocks_;
  std::size_t objects_{0}, vertices_{0};
};

}  // namespace isthmus::formats::gerber
