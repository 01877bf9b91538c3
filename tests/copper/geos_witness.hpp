// SPDX-License-Identifier: Apache-2.0
// A copper layer as GEOS sees it: painted in order by its overlay operations, nothing of ours.
#pragma once

#include <geos_c.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <numeric>
#include <optional>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "isthmus/formats/layer_image.hpp"

namespace isthmus::test {

class Geos {
 public:
  struct Delete {
    GEOSContextHandle_t handle;
    void operator()(GEOSGeometry* g) const { GEOSGeom_destroy_r(handle, g); }
  };
  using Shape = std::unique_ptr<GEOSGeometry, Delete>;

  Geos() : handle_(GEOS_init_r()) {}
  ~Geos() { GEOS_finish_r(handle_); }
  Geos(const Geos&) = delete;
  Geos& operator=(const Geos&) = delete;

  [[nodiscard]] GEOSContextHandle_t handle() const { return handle_; }
  Shape own(GEOSGeometry* g) const {
    if (g == nullptr) throw std::runtime_error("GEOS gave up");
    return Shape(g, Delete{handle_});
  }
  Shape polygon(const Polygon& p) const {
    std::vector<GEOSGeometry*> holes;
    for (const Contour& hole : p.holes) holes.push_back(ring(hole));
    return own(GEOSGeom_createPolygon_r(handle_, ring(p.outer), holes.data(),
                                        static_cast<unsigned>(holes.size())));
  }
  Shape unite(const std::vector<const Polygon*>& all) const {
    std::vector<GEOSGeometry*> parts;
    for (const Polygon* p : all) parts.push_back(valid(polygon(*p)).release());
    const Shape bag = own(GEOSGeom_createCollection_r(
        handle_, GEOS_GEOMETRYCOLLECTION, parts.data(), static_cast<unsigned>(parts.size())));
    return own(GEOSUnaryUnion_r(handle_, bag.get()));
  }
  Shape point(Position p) const {
    return own(
        GEOSGeom_createPointFromXY_r(handle_, static_cast<double>(p.x), static_cast<double>(p.y)));
  }
  double area(const GEOSGeometry* g) const {
    double out = 0;
    GEOSArea_r(handle_, g, &out);
    return out;
  }
  double distance(const GEOSGeometry* a, const GEOSGeometry* b) const {
    double out = 0;
    GEOSDistance_r(handle_, a, b, &out);
    return out;
  }

 private:
  GEOSGeometry* ring(const Contour& c) const {
    GEOSCoordSequence* s = GEOSCoordSeq_create_r(handle_, static_cast<unsigned>(c.size() + 1), 2);
    for (std::size_t i = 0; i <= c.size(); ++i) {
      const Position p = c[i % c.size()];
      GEOSCoordSeq_setXY_r(handle_, s, static_cast<unsigned>(i), static_cast<double>(p.x),
                           static_cast<double>(p.y));
    }
    return GEOSGeom_createLinearRing_r(handle_, s);
  }
  Shape valid(Shape g) const {
    return GEOSisValid_r(handle_, g.get()) == 1 ? std::move(g)
                                                : own(GEOSMakeValid_r(handle_, g.get()));
  }

  GEOSContextHandle_t handle_;
};

class GeosLayer {
 public:
  explicit GeosLayer(const formats::LayerImage& image) {
    Geos::Shape all = geos_.own(GEOSGeom_createEmptyPolygon_r(geos_.handle()));
    for (std::size_t i = 0; i < image.objects.size();) {
      const bool dark = image.objects[i].dark;
      std::vector<const Polygon*> run;
      for (; i < image.objects.size() && image.objects[i].dark == dark; ++i) {
        for (const Polygon& p : image.objects[i].shape) run.push_back(&p);
      }
      const Geos::Shape drawn = geos_.unite(run);
      all = geos_.own(dark ? GEOSUnion_r(geos_.handle(), all.get(), drawn.get())
                           : GEOSDifference_r(geos_.handle(), all.get(), drawn.get()));
    }
    all_ = std::move(all);
    for (int i = 0; i < GEOSGetNumGeometries_r(geos_.handle(), all_.get()); ++i) {
      const GEOSGeometry* part = GEOSGetGeometryN_r(geos_.handle(), all_.get(), i);
      if (geos_.area(part) > 0) parts_.push_back(part);
    }
    build_tree();
    group_parts();
  }

  [[nodiscard]] const Geos& geos() const { return geos_; }
  [[nodiscard]] std::size_t islands() const { return islands_; }
  [[nodiscard]] const std::vector<const GEOSGeometry*>& parts() const { return parts_; }
  [[nodiscard]] std::size_t island_of_part(std::size_t part) const { return island_of_[part]; }
  [[nodiscard]] double area() const { return geos_.area(all_.get()); }
  [[nodiscard]] double area_of(std::size_t island) const {
    double sum = 0;
    for (std::size_t i = 0; i < parts_.size(); ++i) {
      if (island_of_[i] == island) sum += geos_.area(parts_[i]);
    }
    return sum;
  }
  [[nodiscard]] double outline_of(std::size_t island) const {
    double sum = 0;
    for (std::size_t i = 0; i < parts_.size(); ++i) {
      double length = 0;
      GEOSLength_r(geos_.handle(), parts_[i], &length);
      if (island_of_[i] == island) sum += length;
    }
    return sum;
  }
  [[nodiscard]] Position inner_point(std::size_t part) const {
    const Geos::Shape p = geos_.own(GEOSPointOnSurface_r(geos_.handle(), parts_[part]));
    double x = 0, y = 0;
    GEOSGeomGetX_r(geos_.handle(), p.get(), &x);
    GEOSGeomGetY_r(geos_.handle(), p.get(), &y);
    return {std::llround(x), std::llround(y)};
  }
  // Nothing where there is no copper.
  [[nodiscard]] std::optional<std::size_t> island_at(Position at) const {
    const Geos::Shape p = geos_.point(at);
    for (std::size_t i : near(p.get())) {
      if (GEOSPreparedIntersects_r(geos_.handle(), prepared_[i].get(), p.get()) == 1)
        return island_of_[i];
    }
    return std::nullopt;
  }
  // Within 3 nm of an edge, where the rounding of vertices may decide.
  [[nodiscard]] bool on_edge(Position at) const { return near_edge(at, 3); }
  [[nodiscard]] bool near_edge(Position at, double reach_nm) const {
    const Geos::Shape p = geos_.point(at);
    const Geos::Shape edge = geos_.own(GEOSBoundary_r(geos_.handle(), all_.get()));
    return geos_.distance(edge.get(), p.get()) <= reach_nm;
  }
  // Calls `take` with the length of every edge of the outline.
  template <class Take>
  void for_each_edge(Take take) const {
    for (const GEOSGeometry* part : parts_) {
      edges_of(GEOSGetExteriorRing_r(geos_.handle(), part), take);
      for (int i = 0; i < GEOSGetNumInteriorRings_r(geos_.handle(), part); ++i) {
        edges_of(GEOSGetInteriorRingN_r(geos_.handle(), part, i), take);
      }
    }
  }

 private:
  struct DeleteTree {
    GEOSContextHandle_t handle;
    void operator()(GEOSSTRtree* t) const { GEOSSTRtree_destroy_r(handle, t); }
  };

  struct DeletePrepared {
    GEOSContextHandle_t handle;
    void operator()(const GEOSPreparedGeometry* g) const { GEOSPreparedGeom_destroy_r(handle, g); }
  };

  template <class Take>
  void edges_of(const GEOSGeometry* ring, Take take) const {
    const GEOSCoordSequence* s = GEOSGeom_getCoordSeq_r(geos_.handle(), ring);
    unsigned size = 0;
    GEOSCoordSeq_getSize_r(geos_.handle(), s, &size);
    double x = 0, y = 0, last_x = 0, last_y = 0;
    for (unsigned i = 0; i < size; ++i, last_x = x, last_y = y) {
      GEOSCoordSeq_getXY_r(geos_.handle(), s, i, &x, &y);
      if (i > 0) take(std::hypot(x - last_x, y - last_y));
    }
  }

  void build_tree() {
    tree_ = std::unique_ptr<GEOSSTRtree, DeleteTree>(GEOSSTRtree_create_r(geos_.handle(), 10),
                                                     DeleteTree{geos_.handle()});
    numbers_.resize(parts_.size());
    std::iota(numbers_.begin(), numbers_.end(), 0u);
    for (std::size_t i = 0; i < parts_.size(); ++i) {
      GEOSSTRtree_insert_r(geos_.handle(), tree_.get(), parts_[i], &numbers_[i]);
      prepared_.emplace_back(GEOSPrepare_r(geos_.handle(), parts_[i]),
                             DeletePrepared{geos_.handle()});
    }
  }

  [[nodiscard]] std::vector<std::size_t> near(const GEOSGeometry* what) const {
    std::vector<std::size_t> found;
    GEOSSTRtree_query_r(
        geos_.handle(), tree_.get(), what,
        [](void* item, void* list) {
          static_cast<std::vector<std::size_t>*>(list)->push_back(*static_cast<std::size_t*>(item));
        },
        &found);
    std::sort(found.begin(), found.end());
    return found;
  }

  // Parts that touch in a point are one island.
  void group_parts() {
    island_of_.assign(parts_.size(), parts_.size());
    for (std::size_t start = 0; start < parts_.size(); ++start) {
      if (island_of_[start] != parts_.size()) continue;
      std::vector<std::size_t> todo{start};
      island_of_[start] = islands_;
      while (!todo.empty()) {
        const std::size_t i = todo.back();
        todo.pop_back();
        for (std::size_t j : near(parts_[i])) {
          if (island_of_[j] != parts_.size()) continue;
          if (GEOSPreparedIntersects_r(geos_.handle(), prepared_[i].get(), parts_[j]) != 1)
            continue;
          island_of_[j] = islands_;
          todo.push_back(j);
        }
      }
      ++islands_;
    }
  }

  Geos geos_;
  Geos::Shape all_{nullptr, Geos::Delete{nullptr}};
  std::vector<const GEOSGeometry*> parts_;
  std::vector<std::size_t> island_of_;  // by part
  std::size_t islands_{0};
  std::vector<std::size_t> numbers_;
  std::unique_ptr<GEOSSTRtree, DeleteTree> tree_{nullptr, DeleteTree{nullptr}};
  std::vector<std::unique_ptr<const GEOSPreparedGeometry, DeletePrepared>> prepared_;
};

}  // namespace isthmus::test
