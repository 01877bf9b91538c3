// SPDX-License-Identifier: Apache-2.0
#include "copper_mesh.hpp"

#include <algorithm>

namespace isthmus::hostsim {
namespace {

constexpr int kBlock = 10;  // side of the nodes inside pours, in cells
constexpr int kPiece = 2;   // side of the others; kBlock is a multiple

class NodeMaker {
 public:
  NodeMaker(const Grid& grid, LayerMesh& layer, std::vector<MeshNode>& nodes)
      : grid_(grid), layer_(layer), nodes_(nodes) {
    layer_.node_of.assign(grid.cells(), -1);
    columns_ = (grid.width + kBlock - 1) / kBlock;
    rows_ = (grid.height + kBlock - 1) / kBlock;
    for (int by = 0; by < rows_; ++by) {
      for (int bx = 0; bx < columns_; ++bx) full_.push_back(is_full(bx, by) ? 1 : 0);
    }
    for (const auto& [cell, factor] : layer.resistance) {  // necks are followed finely
      const int x = static_cast<int>(cell % static_cast<std::size_t>(grid.width));
      const int y = static_cast<int>(cell / static_cast<std::size_t>(grid.width));
      full_[block(x / kBlock, y / kBlock)] = 0;
    }
  }

  void run() {
    for (int by = 0; by < rows_; ++by) {
      for (int bx = 0; bx < columns_; ++bx) {
        if (is_inner(bx, by)) {
          add_square(bx * kBlock, by * kBlock, kBlock);
        } else {
          add_pieces(bx * kBlock, by * kBlock);
        }
      }
    }
  }

 private:
  [[nodiscard]] std::size_t block(int bx, int by) const {
    return static_cast<std::size_t>(by) * static_cast<std::size_t>(columns_) +
           static_cast<std::size_t>(bx);
  }
  [[nodiscard]] bool copper(int x, int y) const {
    return grid_.has(x, y) && layer_.copper[grid_.index(x, y)] != 0;
  }
  [[nodiscard]] bool is_full(int bx, int by) const {
    for (int y = by * kBlock; y < (by + 1) * kBlock; ++y) {
      for (int x = bx * kBlock; x < (bx + 1) * kBlock; ++x) {
        if (!copper(x, y)) return false;
      }
    }
    return true;
  }
  [[nodiscard]] bool is_inner(int bx, int by) const {
    if (bx == 0 || by == 0 || bx + 1 >= columns_ || by + 1 >= rows_) return false;
    for (int y = by - 1; y <= by + 1; ++y) {
      for (int x = bx - 1; x <= bx + 1; ++x) {
        if (full_[block(x, y)] == 0) return false;
      }
    }
    return true;
  }

  Node add_node(int x, int y, int size) {
    MeshNode n;
    n.x = static_cast<float>(x) + static_cast<float>(size) / 2;
    n.y = static_cast<float>(y) + static_cast<float>(size) / 2;
    n.size = static_cast<float>(size);
    nodes_.push_back(n);
    return static_cast<Node>(nodes_.size() - 1);
  }
  void claim(int x, int y, Node node) {
    layer_.node_of[grid_.index(x, y)] = node;
    ++nodes_[static_cast<std::size_t>(node)].cells;
  }
  void add_square(int x0, int y0, int size) {
    const Node node = add_node(x0, y0, size);
    for (int y = y0; y < y0 + size; ++y) {
      for (int x = x0; x < x0 + size; ++x) claim(x, y, node);
    }
  }
  void add_pieces(int x0, int y0) {
    for (int y = y0; y < std::min(y0 + kBlock, grid_.height); y += kPiece) {
      for (int x = x0; x < std::min(x0 + kBlock, grid_.width); x += kPiece) add_piece(x, y);
    }
  }
  // Two cells that meet at a corner alone are two pieces; any other copper in the square is one.
  void add_piece(int x, int y) {
    const bool a = copper(x, y), b = copper(x + 1, y), c = copper(x, y + 1),
               d = copper(x + 1, y + 1);
    if (!(a || b || c || d)) return;
    const bool corners = (a && d && !b && !c) || (b && c && !a && !d);
    const Node first = add_node(x, y, kPiece);
    const Node upper = corners ? add_node(x, y, kPiece) : first;
    if (a) claim(x, y, first);
    if (b) claim(x + 1, y, first);
    if (c) claim(x, y + 1, upper);
    if (d) claim(x + 1, y + 1, upper);
  }

  const Grid& grid_;
  LayerMesh& layer_;
  std::vector<MeshNode>& nodes_;
  int columns_{}, rows_{};
  std::vector<char> full_;
};

}  // namespace

void add_nodes(const Grid& grid, LayerMesh& layer, std::vector<MeshNode>& nodes) {
  NodeMaker(grid, layer, nodes).run();
  std::map<Node, double> sums;  // mean over the node's cells, whole copper counting 1
  for (const auto& [cell, factor] : layer.resistance) {
    const Node n = layer.node_of[cell];
    if (n >= 0) sums[n] += factor - 1;
  }
  for (const auto& [n, sum] : sums) {
    MeshNode& node = nodes[static_cast<std::size_t>(n)];
    node.resistance = static_cast<float>(1 + sum / node.cells);
  }
}

void add_edges(const Grid& grid, const LayerMesh& layer, const std::vector<MeshNode>& nodes,
               const std::function<double(double, double)>& sheet_siemens,
               std::vector<Edge>& edges) {
  const auto face = [&](Node a, Node b) {
    const MeshNode& m = nodes[static_cast<std::size_t>(a)];
    const MeshNode& n = nodes[static_cast<std::size_t>(b)];
    const double squares = 0.5 * (static_cast<double>(m.size) * static_cast<double>(m.resistance) +
                                  static_cast<double>(n.size) * static_cast<double>(n.resistance));
    return sheet_siemens(0.5 * static_cast<double>(m.x + n.x),
                         0.5 * static_cast<double>(m.y + n.y)) /
           squares;
  };
  struct Pair {
    Node a{-1}, b{-1};
    std::size_t edge{};
  };
  const auto join = [&](Node a, Node b, Pair& last) {  // faces of one pair follow each other
    if (a < 0 || b < 0 || a == b) return;
    if (last.a == a && last.b == b) {
      edges[last.edge].siemens += face(a, b);
      return;
    }
    last = {a, b, edges.size()};
    edges.push_back({a, b, face(a, b)});
  };
  std::vector<Pair> beside(static_cast<std::size_t>(grid.width));
  for (int y = 0; y < grid.height; ++y) {
    Pair above;
    for (int x = 0; x < grid.width; ++x) {
      const Node here = layer.node_of[grid.index(x, y)];
      if (here < 0) continue;
      if (x + 1 < grid.width) {
        join(here, layer.node_of[grid.index(x + 1, y)], beside[static_cast<std::size_t>(x)]);
      }
      if (y + 1 < grid.height) join(here, layer.node_of[grid.index(x, y + 1)], above);
    }
  }
}

}  // namespace isthmus::hostsim
