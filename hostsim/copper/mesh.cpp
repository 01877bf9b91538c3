// SPDX-License-Identifier: Apache-2.0
#include "hostsim/copper/mesh.hpp"

namespace isthmus::hostsim {
namespace {

constexpr int kNodeBudget = 30000;  // nodes a piece of copper may have
constexpr int kMaxSquare = 8;       // cells; pours

class NodeMaker {
 public:
  NodeMaker(const Grid& grid, LayerMesh& layer, std::vector<MeshNode>& nodes)
      : grid_(grid), layer_(layer), nodes_(nodes), piece_(grid.cells(), -1) {
    layer_.node_of.assign(grid.cells(), -1);
  }

  void run() {
    for (std::size_t cell = 0; cell < grid_.cells(); ++cell) {
      if (layer_.copper[cell] != 0 && piece_[cell] < 0) squares_.push_back(flood_piece(cell));
    }
    for (std::size_t cell = 0; cell < grid_.cells(); ++cell) {
      if (layer_.copper[cell] != 0 && layer_.node_of[cell] < 0) flood_node(cell);
    }
  }

 private:
  [[nodiscard]] int x_of(std::size_t cell) const {
    return static_cast<int>(cell % static_cast<std::size_t>(grid_.width));
  }
  [[nodiscard]] int y_of(std::size_t cell) const {
    return static_cast<int>(cell / static_cast<std::size_t>(grid_.width));
  }

  // Calls take(cell) for each neighbour of copper; the grid's margin is bare, so all neighbours
  // exist.
  template <class Take>
  void for_neighbours(std::size_t cell, const Take& take) const {
    const auto width = static_cast<std::size_t>(grid_.width);
    const int x = x_of(cell), y = y_of(cell);
    if (x > 0 && layer_.copper[cell - 1] != 0) take(cell - 1);
    if (x + 1 < grid_.width && layer_.copper[cell + 1] != 0) take(cell + 1);
    if (y > 0 && layer_.copper[cell - width] != 0) take(cell - width);
    if (y + 1 < grid_.height && layer_.copper[cell + width] != 0) take(cell + width);
  }

  // Marks a whole piece of copper and returns the side of its squares.
  int flood_piece(std::size_t start) {
    const auto number = static_cast<int>(squares_.size());
    std::size_t count = 0;
    stack_.assign(1, start);
    piece_[start] = number;
    while (!stack_.empty()) {
      const std::size_t cell = stack_.back();
      stack_.pop_back();
      ++count;
      for_neighbours(cell, [&](std::size_t next) {
        if (piece_[next] >= 0) return;
        piece_[next] = number;
        stack_.push_back(next);
      });
    }
    int side = 1;
    while (side < kMaxSquare && count / static_cast<std::size_t>(side * side) > kNodeBudget) ++side;
    return side;
  }

  // Gives a node to what is connected to this cell within its square.
  void flood_node(std::size_t start) {
    const int side = squares_[static_cast<std::size_t>(piece_[start])];
    const int column = x_of(start) / side, row = y_of(start) / side;
    const auto node = static_cast<Node>(nodes_.size());
    MeshNode made;
    made.size = static_cast<float>(side);
    made.x = (static_cast<float>(column) + 0.5F) * made.size;
    made.y = (static_cast<float>(row) + 0.5F) * made.size;
    stack_.assign(1, start);
    layer_.node_of[start] = node;
    while (!stack_.empty()) {
      const std::size_t cell = stack_.back();
      stack_.pop_back();
      ++made.cells;
      for_neighbours(cell, [&](std::size_t next) {
        if (layer_.node_of[next] >= 0 || x_of(next) / side != column || y_of(next) / side != row)
          return;
        layer_.node_of[next] = node;
        stack_.push_back(next);
      });
    }
    nodes_.push_back(made);
  }

  const Grid& grid_;
  LayerMesh& layer_;
  std::vector<MeshNode>& nodes_;
  std::vector<int> piece_;    // per cell
  std::vector<int> squares_;  // per piece: side
  std::vector<std::size_t> stack_;
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
