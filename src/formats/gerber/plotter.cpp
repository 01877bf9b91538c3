// SPDX-License-Identifier: Apache-2.0
#include "formats/gerber/plotter.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "formats/gerber/loops.hpp"

namespace isthmus::formats::gerber {
namespace {

bool in_range(Position p) {
  return std::abs(p.x) <= kMaxCoordinate && std::abs(p.y) <= kMaxCoordinate;
}

bool in_range(const Box& box, const std::vector<Position>& spine) {
  return (box.empty() || (in_range(box.lo) && in_range(box.hi))) &&
         std::all_of(spine.begin(), spine.end(), [](Position p) { return in_range(p); });
}

}  // namespace

void Plotter::set_transform(const Transform& transform) {
  transform_ = transform;
  // Number 1 is the plain one, so that images made for it are found again.
  transform_number_ = transform.plain() ? 1 : ++transforms_;
}

bool Plotter::select(int code, Spot spot) {
  aperture_ = apertures_.find(code);
  if (aperture_ != nullptr) return true;
  return report_.fail(spot.at, "GBR-025", fmt::format("aperture D{} is not defined", code),
                      "the file must define it with %AD before; files with a separate list of "
                      "apertures (RS-274-D) are not read: export as RS-274X");
}

bool Plotter::too_many(Spot spot) {
  return report_.fail(spot.at, "GBR-071", "the layer is too large (4 million objects at most)",
                      "check step-and-repeat counts; split a panel into single boards");
}

bool Plotter::add(Object object, const Box& box, Spot spot) {
  if (report_.failed()) return false;  // its attributes
  const std::size_t count = vertex_count(object.shape) + object.spine.size();
  if (count > kMaxVertices) {
    return report_.fail(spot.at, "GBR-070",
                        fmt::format("one object has more than {} vertices", kMaxVertices),
                        "split the region, or export it more coarsely");
  }
  vertices_ += count;
  if (++objects_ > kMaxObjects || vertices_ > kMaxTotalVertices) return too_many(spot);
  if (!in_range(box, object.spine)) {
    return report_.fail(spot.at, "GBR-013", "an object reaches beyond 1.07 m from the origin",
                        "check the units and the coordinate format of the file");
  }
  if (blocks_.empty()) image_.extent.add(box);
  object.line = spot.line;
  target().push_back(std::move(object));
  return true;
}

const Pen* Plotter::pen(Spot spot) {
  if (aperture_ == nullptr) {
    report_.fail(spot.at, "GBR-026", "nothing is selected to draw with",
                 "an aperture (D10 or above) must be selected before D01 and D03");
    return nullptr;
  }
  if (aperture_->kind == ApertureKind::block) {
    report_.fail(spot.at, "GBR-027", "a block aperture cannot draw, only be flashed",
                 "correct the file");
    return nullptr;
  }
  return apertures_.pen(*aperture_, transform_, transform_number_, unit_);
}

bool Plotter::flash(Position at, Spot spot) {
  if (aperture_ != nullptr && aperture_->kind == ApertureKind::block) {
    return flash_block(*aperture_, at, spot);
  }
  const Pen* image = pen(spot);
  if (image == nullptr) return false;
  Object object;
  object.kind = ObjectKind::flash;
  object.dark = dark_;
  object.shape = image->shape;
  move(object.shape, at);
  object.spine = {at};
  object.width = {std::llround(image->width)};
  object.round = image->round;
  object.attributes = attributes_.index_for(aperture_->function);
  Box box;
  if (!image->box.empty()) box = {image->box.lo + at, image->box.hi + at};
  return add(std::move(object), box, spot);
}

bool Plotter::flash_block(const Aperture& block, Position at, Spot spot) {
  if (objects_ + block.objects.size() > kMaxObjects) return too_many(spot);
  const std::uint32_t outer = attributes_.index_for(block.function);
  for (const Object& inner : block.objects) {
    Object object = inner;
    object.dark = inner.dark == dark_;
    object.shape = transform_.apply(inner.shape);
    move(object.shape, at);
    for (Position& p : object.spine) p = transform_.apply(p) + at;
    if (transform_.scale != 1) {
      object.width = {std::llround(static_cast<double>(inner.width.value) * transform_.scale)};
    }
    object.attributes = attributes_.merged(inner.attributes, outer);
    const Box box = box_of(object.shape);
    if (!add(std::move(object), box, spot)) return false;
  }
  return true;
}

bool Plotter::stroke(Object object, const Pen& image, Spot spot) {
  object.kind = ObjectKind::stroke;
  object.dark = dark_;
  object.round = image.round;
  object.attributes = attributes_.index_for(aperture_->function);
  if (image.round) {
    object.width = {std::llround(image.width)};
    const Box box = box_of(object.shape);
    return add(std::move(object), box, spot);
  }
  const bool usual =
      aperture_->kind == ApertureKind::rectangle && aperture_->parameters.size() == 2;
  if (!usual) {
    report_.warn(spot.at, "GBR-045",
                 "a line is drawn with an aperture that is neither circle nor rectangle; the area "
                 "it passes over was taken",
                 "check this place against the design");
  }
  double width = INFINITY;
  for (std::size_t i = 1; i < object.spine.size(); ++i) {
    if (object.spine[i] == object.spine[i - 1]) continue;
    width = std::min(width, width_across(image.shape, object.spine[i - 1], object.spine[i]));
  }
  object.width = {std::llround(std::isfinite(width) ? width : image.width)};
  if (!image.shape.empty()) object.shape = sweep(image.shape, object.spine);
  const Box box = box_of(object.shape);
  return add(std::move(object), box, spot);
}

bool Plotter::line(Position from, Position to, Spot spot) {
  const Pen* image = pen(spot);
  if (image == nullptr) return false;
  Object object;
  object.spine = {from, to};
  if (image->round && image->width > 0) {
    Contour contour = capsule(from, to, image->width / 2, image->unit);
    if (!contour.empty()) {
      object.shape.resize(1);
      object.shape[0].outer = std::move(contour);
    }
  }
  return stroke(std::move(object), *image, spot);
}

bool Plotter::arc(const Arc& arc, Position from, Position to, Spot spot) {
  const Pen* image = pen(spot);
  if (image == nullptr) return false;
  Object object;
  object.spine = chop(arc, from, to, image->round ? image->width / 2 : 0);
  if (image->round) object.shape = thick_arc(arc, from, to, image->width / 2);
  return stroke(std::move(object), *image, spot);
}

void Plotter::begin_region(Spot spot) {
  region_.emplace();
  region_->spot = spot;
  region_->attributes = attributes_.index_for(attributes_.aperture_function());
}

bool Plotter::region_move(Position, Spot spot) { return close_contour(spot); }

bool Plotter::extend_region(Position from, const Position* points, std::size_t count, Spot spot) {
  Contour& contour = region_->contour;
  if (contour.empty()) contour.push_back(from);
  contour.insert(contour.end(), points, points + count);
  region_->vertices += count;
  if (region_->vertices <= kMaxVertices) return true;
  return report_.fail(spot.at, "GBR-070",
                      fmt::format("one object has more than {} vertices", kMaxVertices),
                      "split the region, or export it more coarsely");
}

bool Plotter::region_line(Position from, Position to, Spot spot) {
  return extend_region(from, &to, 1, spot);
}

bool Plotter::region_arc(const Arc& arc, Position from, Position to, Spot spot) {
  const std::vector<Position> points = chop(arc, from, to, 0);
  return extend_region(from, points.data() + 1, points.size() - 1, spot);
}

bool Plotter::close_contour(Spot spot) {
  Contour& contour = region_->contour;
  if (contour.empty()) return true;
  if (crosses_too_often(contour)) {
    return report_.fail(spot.at, "GBR-073", "a region contour crosses itself a million times",
                        "this is no area of copper; export again");
  }
  if (contour.front() != contour.back()) {
    report_.warn(spot.at, "GBR-042", "a region contour is not closed; it was closed straight",
                 "check this area against the design");
  } else {
    contour.pop_back();
  }
  region_->contours.push_back(std::move(contour));
  contour.clear();
  return true;
}

Polygons Plotter::fill_contours(const OpenRegion& region) {
  Polygons all;
  Box seen;
  bool overlap = false;
  for (const Contour& contour : region.contours) {
    Polygons one = filled(contour);
    const Box box = box_of(one);
    double area = 0;
    for (const Polygon& polygon : one) area += area_nm2(polygon);
    // A contour that winds around everything once has exactly the area of what it fills; rounding
    // of crossings is far below a square micrometre a vertex.
    const double wound = contour.empty() ? 0 : std::abs(signed_area_nm2(contour));
    if (std::abs(area - wound) > 1e6 + 1e-6 * area) {
      report_.warn(region.spot.at, "GBR-044",
                   "a region contour crosses itself; all it winds around was filled",
                   "check this area against the design");
    }
    if (one.empty()) {
      report_.note(region.spot.at, "GBR-043", "a region contour without area was left out", "");
      continue;
    }
    overlap = overlap || (!seen.empty() && seen.overlaps(box));
    seen.add(box);
    all.insert(all.end(), std::make_move_iterator(one.begin()), std::make_move_iterator(one.end()));
  }
  return overlap ? unite(all) : all;
}

bool Plotter::end_region(Spot spot) {
  if (!close_contour(spot)) return false;
  OpenRegion region = std::move(*region_);
  region_.reset();
  if (region.contours.empty()) return true;
  Object object;
  object.kind = ObjectKind::region;
  object.dark = dark_;
  object.attributes = region.attributes;
  object.shape = fill_contours(region);
  if (object.shape.empty()) return true;
  const Box box = box_of(object.shape);
  return add(std::move(object), box, region.spot);
}

void Plotter::begin_repeat(const Repeat& repeat, Spot spot) {
  repeat_ = OpenRepeat{repeat, target().size(), spot};
}

bool Plotter::end_repeat(Spot spot) {
  if (!repeat_) return true;
  const OpenRepeat open = *repeat_;
  repeat_.reset();
  const std::size_t last = target().size();
  const std::size_t copies =
      static_cast<std::size_t>(open.repeat.columns) * static_cast<std::size_t>(open.repeat.rows);
  if ((last - open.first) * copies > kMaxObjects) return too_many(open.spot);
  for (int column = 0; column < open.repeat.columns; ++column) {
    for (int row = 0; row < open.repeat.rows; ++row) {
      if (column == 0 && row == 0) continue;
      const Position by{open.repeat.step.x * column, open.repeat.step.y * row};
      for (std::size_t i = open.first; i < last; ++i) {
        Object object = target()[i];
        move(object.shape, by);
        for (Position& p : object.spine) p = p + by;
        const Box box = box_of(object.shape);
        if (!add(std::move(object), box, {spot.at, target()[i].line})) return false;
      }
    }
  }
  return true;
}

bool Plotter::begin_block(int code, Spot spot) {
  if (blocks_.size() >= kMaxNesting) {
    return report_.fail(spot.at, "GBR-072",
                        fmt::format("block apertures are nested more than {} deep", kMaxNesting),
                        "flatten the blocks when exporting");
  }
  blocks_.push_back({code, attributes_.aperture_function(), {}, spot});
  return true;
}

bool Plotter::end_block(Spot) {
  OpenBlock block = std::move(blocks_.back());
  blocks_.pop_back();
  Aperture aperture;
  aperture.kind = ApertureKind::block;
  aperture.at = block.spot.at;
  aperture.function = block.function;
  aperture.objects = std::move(block.objects);
  return apertures_.define_block(block.code, std::move(aperture));
}

}  // namespace isthmus::formats::gerber
