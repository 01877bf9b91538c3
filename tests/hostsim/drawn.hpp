// SPDX-License-Identifier: Apache-2.0
// Boards drawn by hand for the copper tests; lengths in millimetres.
#pragma once

#include <vector>

#include "hostsim/copper/board.hpp"

namespace isthmus::hostsim::test {

struct Spot {
  double x{}, y{};
};

inline Contour contour(const std::vector<Spot>& spots) {
  Contour c;
  for (const Spot& s : spots) c.push_back(position_mm(s.x, s.y));
  return c;
}

inline Contour box(double x0, double y0, double x1, double y1) {
  return contour({{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}});
}

inline formats::Object region(const std::vector<Polygon>& shape, bool dark = true) {
  formats::Object o;
  o.kind = formats::ObjectKind::region;
  o.dark = dark;
  o.shape = shape;
  return o;
}

inline formats::Object region(const Contour& outer, bool dark = true) {
  return region(std::vector<Polygon>{{outer, {}}}, dark);
}

inline formats::LayerImage layer(const std::vector<formats::Object>& objects) {
  formats::LayerImage image;
  image.objects = objects;
  for (const auto& o : objects) {
    for (const Polygon& p : o.shape) image.extent.add(box_of(p.outer));
  }
  return image;
}

// `stage` etched, 35 um at 20 degC, nothing drawn from the seed.
inline formats::Design design(const std::vector<formats::LayerImage>& layers) {
  formats::Design d;
  d.copper = layers;
  d.board.stage = Stage::etched;
  d.board.joins_mode = formats::JoinsMode::all;
  return d;
}

inline Scenario scenario(double cell_um = 20) {
  Scenario s;
  s.board = "board.yaml";
  s.cell_um = cell_um;
  return s;
}

inline Node node_at(const CopperBoard& board, double x, double y, std::size_t l = 0) {
  return nearest_node(board, l, position_mm(x, y), 0.2e6).value();
}

// Where a node's square has its middle.
inline double x_mm(const CopperBoard& board, Node n) {
  return (static_cast<double>(board.grid.origin.x) +
          static_cast<double>(board.nodes[static_cast<std::size_t>(n)].x) * board.grid.cell_nm) *
         1e-6;
}
inline double y_mm(const CopperBoard& board, Node n) {
  return (static_cast<double>(board.grid.origin.y) +
          static_cast<double>(board.nodes[static_cast<std::size_t>(n)].y) * board.grid.cell_nm) *
         1e-6;
}

// Volts between c and d when 1 A enters at a and leaves at b.
inline double transfer_ohm(CopperBoard& board, Node a, Node b, Node c, Node d) {
  Network& net = board.graph.network;
  const auto z = net.transfer(net.conductor_of(a), {a, b, c, d});
  const auto at = [&](std::size_t i, std::size_t j) { return z[i * 4 + j]; };
  return at(2, 0) - at(2, 1) - at(3, 0) + at(3, 1);
}

inline double ohm_between(CopperBoard& board, Node a, Node b) {
  return transfer_ohm(board, a, b, a, b);
}

inline bool connected(const CopperBoard& board, Node a, Node b) {
  return board.graph.network.conductor_of(a) == board.graph.network.conductor_of(b);
}

// 35 um of copper at 20 degC (IEC 60028): 17.241 nohm m / 35 um.
constexpr double kSheetOhm = 17.241e-9 / 35e-6;

}  // namespace isthmus::hostsim::test
