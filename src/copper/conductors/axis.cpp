// SPDX-License-Identifier: Apache-2.0
#include "copper/conductors/axis.hpp"

#include <algorithm>
#include <boost/geometry/core/cs.hpp>
#include <boost/geometry/geometries/box.hpp>
#include <boost/geometry/geometries/point.hpp>
#include <boost/geometry/index/rtree.hpp>
#include <cmath>
#include <polyclipping/clipper.hpp>
#include <queue>

#include "copper/conductors/voronoi.hpp"
#include "isthmus/base/ensure.hpp"
#include "isthmus/base/sets.hpp"

namespace isthmus::copper {
namespace {

constexpr double kFineness = 0.2,
                 kMostPieces = 24;  // of ways round a corner, against the copper's width there

using Diagram = VoronoiDiagram;

// Douglas-Peucker between two kept vertices, without recursion.
void keep_far_vertices(const Contour& c, std::size_t first, std::size_t last,
                       std::vector<bool>& keep) {
  std::vector<std::pair<std::size_t, std::size_t>> todo{{first, last}};
  while (!todo.empty()) {
    const auto [from, to] = todo.back();
    todo.pop_back();
    double far = kAxisTolerance;
    std::size_t at = from;
    for (std::size_t i = from + 1; i < to; ++i) {
      const double d = closest(c[i], Segment{c[from], c[to % c.size()]}).distance_nm;
      if (d > far) far = d, at = i;
    }
    if (at == from) continue;
    keep[at] = true;
    todo.push_back({from, at});
    todo.push_back({at, to});
  }
}

ClipperLib::Path simplified(const Contour& c) {
  std::vector<bool> keep(c.size(), false);
  std::size_t far = 0;
  for (std::size_t i = 1; i < c.size(); ++i) {
    if (distance_nm(c[0], c[i]) > distance_nm(c[0], c[far])) far = i;
  }
  keep[0] = keep[far] = true;
  keep_far_vertices(c, 0, far, keep);
  keep_far_vertices(c, far, c.size(), keep);
  ClipperLib::Path path;
  for (std::size_t i = 0; i < c.size(); ++i) {
    if (keep[i]) path.emplace_back(c[i].x, c[i].y);
  }
  return path;
}

using Pieces =
    std::vector<ClipperLib::Paths>;  // each: outer counter-clockwise, then holes clockwise

void gather(const ClipperLib::PolyNode& node, Pieces& out) {
  for (const ClipperLib::PolyNode* outer : node.Childs) {
    ClipperLib::Paths piece{outer->Contour};
    for (const ClipperLib::PolyNode* hole : outer->Childs) {
      piece.push_back(hole->Contour);
      gather(*hole, out);
    }
    out.push_back(std::move(piece));
  }
}

Pieces trimmed(const Island& island) {
  ClipperLib::ClipperOffset offset(3.0);
  for (std::size_t i = 0; i < island.pieces(); ++i) {
    offset.AddPath(simplified(island.piece(i).outer), ClipperLib::jtMiter,
                   ClipperLib::etClosedPolygon);
    for (const Contour& hole : island.piece(i).holes) {
      offset.AddPath(simplified(hole), ClipperLib::jtMiter, ClipperLib::etClosedPolygon);
    }
  }
  ClipperLib::PolyTree tree;
  offset.Execute(tree, -kAxisTrim);
  Pieces pieces;
  gather(tree, pieces);
  return pieces;
}

struct Spot {
  double x{}, y{};
};
double apart(Spot a, Spot b) { return std::hypot(a.x - b.x, a.y - b.y); }

// The diagram of one piece and what its cells stand for.
class Piece {
 public:
  explicit Piece(const ClipperLib::Paths& contours) {
    VoronoiBuilder builder;
    for (const ClipperLib::Path& c : contours) {
      for (std::size_t i = 0; i < c.size(); ++i) {
        const auto &p = c[i], &q = c[(i + 1) % c.size()];
        segments_.push_back({{p.X, p.Y}, {q.X, q.Y}});
        const auto number = [](ClipperLib::cInt v) { return static_cast<int>(v); };
        builder.insert_segment(number(p.X), number(p.Y), number(q.X), number(q.Y));
      }
    }
    builder.construct(&diagram_);
    find_inside();
  }

  void append_to(Axis& axis) const {
    std::vector<std::size_t> place(diagram_.num_vertices(), SIZE_MAX);
    const auto place_of = [&](const Diagram::vertex_type* v, const Diagram::edge_type& e) {
      std::size_t& id = place[number(v)];
      if (id == SIZE_MAX) {
        id = axis.places.size();
        axis.places.push_back({v->x(), v->y(), width_at({v->x(), v->y()}, *e.cell())});
      }
      return id;
    };
    for (const Diagram::edge_type& e : diagram_.edges()) {
      if (!inner(e) || &e > e.twin()) continue;
      const std::size_t a = place_of(e.vertex0(), e), b = place_of(e.vertex1(), e);
      if (a != b) axis.edges.push_back({a, b, places_between(e)});
    }
  }

 private:
  enum class Side : char { unknown, inside, outside, edge };

  [[nodiscard]] std::size_t number(const Diagram::vertex_type* v) const {
    return static_cast<std::size_t>(v - diagram_.vertices().data());
  }
  [[nodiscard]] bool inner(const Diagram::edge_type& e) const {
    return e.is_primary() && e.is_finite() && side_[number(e.vertex0())] == Side::inside &&
           side_[number(e.vertex1())] == Side::inside;
  }
  [[nodiscard]] std::pair<Spot, Spot> segment_of(const Diagram::cell_type& cell) const {
    const auto& s = segments_[cell.source_index()];
    return {{static_cast<double>(s.a.x), static_cast<double>(s.a.y)},
            {static_cast<double>(s.b.x), static_cast<double>(s.b.y)}};
  }
  [[nodiscard]] Spot point_of(const Diagram::cell_type& cell) const {
    const auto [low, high] = segment_of(cell);
    return cell.source_category() == boost::polygon::SOURCE_CATEGORY_SEGMENT_START_POINT ? low
                                                                                         : high;
  }
  // Positive on the left of the segment, where the copper is.
  [[nodiscard]] double offset_from(Spot p, const Diagram::cell_type& segment_cell) const {
    const auto [a, b] = segment_of(segment_cell);
    return ((b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)) / apart(a, b);
  }
  [[nodiscard]] double width_at(Spot p, const Diagram::cell_type& cell) const {
    const double clear =
        cell.contains_point() ? apart(p, point_of(cell)) : std::abs(offset_from(p, cell));
    return 2 * (clear + kAxisTrim);
  }

  // Colours the vertices: by the side of a bounding segment where there is one, then across edges
  // between two corners, which never cross the outline.
  void find_inside() {
    side_.assign(diagram_.num_vertices(), Side::unknown);
    constexpr double kOnEdge = 5;  // nm
    for (const Diagram::edge_type& e : diagram_.edges()) {
      if (!e.is_primary() || e.cell()->contains_point()) continue;
      for (const Diagram::vertex_type* v : {e.vertex0(), e.vertex1()}) {
        if (v == nullptr) continue;
        const double d = offset_from({v->x(), v->y()}, *e.cell());
        Side& s = side_[number(v)];
        if (std::abs(d) < kOnEdge) {
          s = Side::edge;
        } else if (s == Side::unknown) {
          s = d > 0 ? Side::inside : Side::outside;
        }
      }
    }
    std::queue<const Diagram::vertex_type*> front;
    for (const auto& v : diagram_.vertices()) {
      if (side_[number(&v)] != Side::unknown) front.push(&v);
    }
    while (!front.empty()) {
      const Diagram::vertex_type* v = front.front();
      front.pop();
      if (side_[number(v)] == Side::edge) continue;
      const Diagram::edge_type* e = v->incident_edge();
      do {
        const Diagram::vertex_type* w = e->vertex1();
        if (w != nullptr && e->is_primary() && side_[number(w)] == Side::unknown) {
          side_[number(w)] = side_[number(v)];
          front.push(w);
        }
        e = e->rot_next();
      } while (e != v->incident_edge());
    }
  }

  // Between two corners, or a corner and an edge, the width does not run linearly and the copper
  // may be narrower inside than at both ends: places along the way, the narrowest among them.
  [[nodiscard]] std::vector<AxisPlace> places_between(const Diagram::edge_type& e) const {
    const Diagram::cell_type *c = e.cell(), *d = e.twin()->cell();
    if (c->contains_segment()) std::swap(c, d);
    if (c->contains_segment()) return {};
    const Spot p = point_of(*c);
    Spot foot = d->contains_point() ? point_of(*d) : Spot{};
    if (d->contains_segment()) {
      const auto [a, b] = segment_of(*d);
      const double off = offset_from(p, *d), length = apart(a, b);
      foot = {p.x + off * (b.y - a.y) / length, p.y - off * (b.x - a.x) / length};
    }
    const double high = apart(p, foot);
    if (high < 1) return {};
    const Spot up{(p.x - foot.x) / high, (p.y - foot.y) / high}, along{up.y, -up.x};
    const auto s_of = [&](const Diagram::vertex_type* v) {
      return (v->x() - foot.x) * along.x + (v->y() - foot.y) * along.y;
    };
    const double s0 = s_of(e.vertex0()), s1 = s_of(e.vertex1());
    const double pieces =
        std::clamp(std::ceil(std::abs(s1 - s0) / (kFineness * high)), 1.0, kMostPieces);
    std::vector<double> stops;
    for (int k = 1; k < static_cast<int>(pieces); ++k) stops.push_back(s0 + (s1 - s0) * k / pieces);
    if (s0 * s1 < 0) stops.push_back(0);
    std::sort(stops.begin(), stops.end());
    if (s1 < s0) std::reverse(stops.begin(), stops.end());
    std::vector<AxisPlace> places;
    for (double s : stops) {
      const double h =
          d->contains_point() ? high / 2 : (s * s / high + high) / 2;  // a parabola round p
      const Spot at{foot.x + s * along.x + h * up.x, foot.y + s * along.y + h * up.y};
      places.push_back({at.x, at.y, 2 * (apart(at, p) + kAxisTrim)});
    }
    return places;
  }

  std::vector<Segment> segments_;
  Diagram diagram_;
  std::vector<Side> side_;
};

AxisPlace some_inner_place(const ClipperLib::Path& outer) {
  double x = 0, y = 0;
  for (const auto& p : outer) x += static_cast<double>(p.X), y += static_cast<double>(p.Y);
  const double n = static_cast<double>(outer.size());
  return {x / n, y / n, kAxisThinnest};
}

// Where two pieces that the trim took apart come close.
struct Near {
  double distance{};
  std::size_t a{}, b{};  // pieces
  Position at;
  auto operator<=>(const Near&) const = default;
};

using Corner = boost::geometry::model::point<double, 2, boost::geometry::cs::cartesian>;
using Rect = boost::geometry::model::box<Corner>;
struct Edge {
  Segment segment;
  std::size_t piece{};
};

std::vector<Edge> edges_of(const Pieces& pieces) {
  std::vector<Edge> edges;
  for (std::size_t piece = 0; piece < pieces.size(); ++piece) {
    for (const ClipperLib::Path& c : pieces[piece]) {
      for (std::size_t i = 0; i < c.size(); ++i) {
        const auto &p = c[i], &q = c[(i + 1) % c.size()];
        edges.push_back({{{p.X, p.Y}, {q.X, q.Y}}, piece});
      }
    }
  }
  return edges;
}

std::vector<Near> near_pieces(const std::vector<Edge>& edges, double reach) {
  std::vector<std::pair<Rect, std::size_t>> boxes;
  for (std::size_t i = 0; i < edges.size(); ++i) {
    const auto [a, b] = edges[i].segment;
    boxes.emplace_back(
        Rect({static_cast<double>(std::min(a.x, b.x)), static_cast<double>(std::min(a.y, b.y))},
             {static_cast<double>(std::max(a.x, b.x)), static_cast<double>(std::max(a.y, b.y))}),
        i);
  }
  const boost::geometry::index::rtree<std::pair<Rect, std::size_t>,
                                      boost::geometry::index::quadratic<16>>
      tree(boxes);
  std::vector<Near> near;
  for (const Edge& e : edges) {
    const Position v = e.segment.a;
    const double x = static_cast<double>(v.x), y = static_cast<double>(v.y);
    const Rect window({x - reach, y - reach}, {x + reach, y + reach});
    for (auto it = tree.qbegin(boost::geometry::index::intersects(window)); it != tree.qend();
         ++it) {
      const Edge& o = edges[it->second];
      if (o.piece == e.piece) continue;
      const Closest c = closest(v, o.segment);
      near.push_back({c.distance_nm,
                      std::min(e.piece, o.piece),
                      std::max(e.piece, o.piece),
                      {(v.x + c.on_second.x) / 2, (v.y + c.on_second.y) / 2}});
    }
  }
  std::sort(near.begin(), near.end());
  return near;
}

std::size_t nearest_place(const Axis& axis, std::pair<std::size_t, std::size_t> range, Position p) {
  const Spot s{static_cast<double>(p.x), static_cast<double>(p.y)};
  std::size_t best = range.first;
  for (std::size_t i = range.first; i < range.second; ++i) {
    if (apart({axis.places[i].x, axis.places[i].y}, s) <
        apart({axis.places[best].x, axis.places[best].y}, s)) {
      best = i;
    }
  }
  return best;
}

// A tree of threads over the pieces, the closest first.
void add_threads(const Pieces& pieces,
                 const std::vector<std::pair<std::size_t, std::size_t>>& range, Axis& axis) {
  Sets tied(pieces.size());
  const std::vector<Edge> edges = edges_of(pieces);
  std::size_t left = pieces.size() - 1;
  for (double reach = 4 * kAxisThinnest; left > 0; reach *= 4) {
    for (const Near& n : near_pieces(edges, reach)) {
      if (!tied.unite(n.a, n.b)) continue;
      --left;
      axis.threads.push_back(
          {nearest_place(axis, range[n.a], n.at), nearest_place(axis, range[n.b], n.at), n.at});
    }
  }
}

}  // namespace

Axis middle_axis(const Island& island) {
  Axis axis;
  const Pieces pieces = trimmed(island);
  std::vector<std::pair<std::size_t, std::size_t>> range;
  for (const ClipperLib::Paths& piece : pieces) {
    const std::size_t first = axis.places.size();
    Piece(piece).append_to(axis);
    if (axis.places.size() == first) axis.places.push_back(some_inner_place(piece[0]));
    range.emplace_back(first, axis.places.size());
  }
  if (pieces.empty()) {
    ClipperLib::Path outer;
    for (Position p : island.outline.outer) outer.emplace_back(p.x, p.y);
    axis.places.push_back(some_inner_place(outer));
    return axis;
  }
  if (pieces.size() > 1) add_threads(pieces, range, axis);
  return axis;
}

}  // namespace isthmus::copper
