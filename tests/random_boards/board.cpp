// SPDX-License-Identifier: Apache-2.0
#include "tests/random_boards/board.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numeric>
#include <set>

#include "isthmus/base/sets.hpp"
#include "tests/random_boards/router.hpp"

namespace isthmus::random_boards {
namespace {

constexpr double kLeastGap = 0.18;  // mm between copper that does not hang together

double rounded(double mm, double to = 0.01) { return std::round(mm / to) * to; }

// What a net ties together: its cells are where tracks may start or end.
struct Terminal {
  std::vector<Cell> cells;
  std::vector<std::size_t> nodes;
  std::vector<std::size_t> holes;
};

struct Draft {  // of an edge
  std::size_t a{}, b{}, layer{};
  Pt at_a, at_b;
  double width{};
  bool spoke{}, inside{};  // inside: copper within copper, nothing that could be cut
};

class Maker {
 public:
  Maker(std::uint64_t seed, std::uint64_t attempt)
      : rng_(seed * 1000003 + attempt), grid_(draw_grid()) {
    board_.seed = seed;
    board_.grid = pitch_;
  }
  RandomBoard make();

 private:
  Grid draw_grid();
  std::size_t add_node(NodeKind kind, Cell c, bool listed);
  void add_shape(Shape s, std::size_t node);
  std::size_t add_hole(Cell c, double ring, bool via, std::size_t top, std::size_t bottom);
  std::size_t new_hole(Cell c, bool via);
  void name(Terminal& t, std::size_t node, const std::string& ref, int pin);
  bool random_cell(Cell& c, int nx, int ny, bool both);
  void join(std::size_t a, std::size_t b, Cell ca, Cell cb, double width);

  void pour();
  void spokes(Cell at, std::size_t ring, std::size_t pour_node, double radius);
  void fine_row();
  void pin();
  void pad();
  void bar();
  void slot();

  void route_nets();
  bool connect(std::size_t net, std::vector<Cell>& tree, const Terminal& t);
  void lay(const std::vector<Cell>& path, std::size_t net, std::vector<Cell>& tree,
           double widest = 1);
  [[nodiscard]] double narrowest_at(std::size_t node) const;
  void make_via(Cell a, Cell b, std::size_t net);
  void own(const Terminal& t, std::size_t net);
  void loop(std::size_t net);
  void stub(std::size_t net);
  void tie();
  void loose();
  void text();
  void merge_runs();
  void merge_at(std::size_t node, std::vector<std::vector<std::size_t>>& at);
  void finish_edges();
  void choose_stage();
  void choose_joins();

  Rng rng_;
  RandomBoard board_;
  double pitch_{}, track_{}, via_ring_{};
  int wanted_nets_{};
  bool vias_listed_{};
  Grid grid_;  // last of what is drawn first
  int next_ref_{1};
  std::vector<Terminal> terminals_;
  std::vector<Draft> drafts_;
  std::vector<bool> fine_;  // by node
  std::vector<std::vector<Cell>> cells_of_net_;
};

Grid Maker::draw_grid() {
  const double pitches[] = {0.8, 1.0, 1.0, 1.2, 1.6};
  pitch_ = pitches[rng_.below(5)];
  track_ = rounded(rng_.real(0.2, std::min(0.5, pitch_ - 0.3)));
  via_ring_ = rounded(rng_.real(0.55, std::min(1.3, pitch_ - 0.2)), 0.05);
  wanted_nets_ = rng_.between(6, 25);
  vias_listed_ = rng_.chance(0.7);
  const double cells = wanted_nets_ * rng_.real(14, 26);
  const int nx = std::max(9, static_cast<int>(std::sqrt(cells * rng_.real(0.7, 1.6))));
  return {nx, std::max(9, static_cast<int>(cells / nx)), pitch_};
}

std::size_t Maker::add_node(NodeKind kind, Cell c, bool listed) {
  Node n;
  n.kind = kind;
  n.layer = c.layer;
  n.at = grid_.place(c);
  n.listed = listed;
  board_.nodes.push_back(n);
  fine_.push_back(false);
  return board_.nodes.size() - 1;
}

void Maker::add_shape(Shape s, std::size_t node) {
  s.node = node;
  board_.shapes.push_back(std::move(s));
}

std::size_t Maker::add_hole(Cell c, double ring, bool via, std::size_t top, std::size_t bottom) {
  Hole h;
  h.at = grid_.place(c);
  h.ring = ring;
  h.drill = std::max(0.2, rounded(ring * 0.5, 0.05));
  h.via = via;
  h.listed = !via || vias_listed_;
  h.rings[0] = top;
  h.rings[1] = bottom;
  board_.holes.push_back(h);
  for (const std::size_t r : h.rings) {
    board_.nodes[r].kind = NodeKind::ring;
    board_.nodes[r].hole = board_.holes.size() - 1;
    add_shape(disc(board_.nodes[r].layer, h.at, ring), r);
  }
  return board_.holes.size() - 1;
}

std::size_t Maker::new_hole(Cell c, bool via) {
  const Cell top{c.i, c.j, 0}, bottom{c.i, c.j, 1};
  const std::size_t a = add_node(NodeKind::ring, top, false),
                    b = add_node(NodeKind::ring, bottom, false);
  grid_.take(top, a);
  grid_.take(bottom, b);
  const double ring = via ? via_ring_ : rounded(rng_.real(0.6, std::min(1.6, pitch_ - 0.2)), 0.05);
  return add_hole(c, ring, via, a, b);
}

void Maker::join(std::size_t a, std::size_t b, Cell ca, Cell cb, double width) {
  if (fine_[a] || fine_[b]) width = std::min(width, pitch_ / 4);
  drafts_.push_back({a, b, ca.layer, grid_.place(ca), grid_.place(cb), width, false, false});
}

bool Maker::random_cell(Cell& c, int nx, int ny, bool both) {
  for (int tries = 0; tries < 30; ++tries) {
    c = {rng_.between(0, grid_.nx() - nx), rng_.between(0, grid_.ny() - ny), rng_.below(2)};
    if (grid_.is_free(c, nx, ny, both)) return true;
  }
  return false;
}

void Maker::spokes(Cell at, std::size_t ring, std::size_t pour_node, double radius) {
  std::vector<Pt> ways{{1, 0}, {0, 1}, {-1, 0}, {0, -1}};
  rng_.shuffle(ways);
  ways.resize(1 + rng_.below(4));
  const Pt middle = grid_.place(at);
  for (const Pt way : ways)
    drafts_.push_back({ring, pour_node, at.layer, middle, middle + (radius + 0.15) * way,
                       rounded(rng_.real(0.2, 0.3)), true, false});
}

// How wide a pour is where it is widest: beside the clearing, if there is one.
double widest(const Shape& pour) {
  const Pt size = pour.b - pour.a;
  if (pour.clearings.empty()) return std::min(size.x, size.y);
  const auto& [at, radius] = pour.clearings[0];
  const double beside =
      std::max({at.x - pour.a.x, pour.b.x - at.x, at.y - pour.a.y, pour.b.y - at.y}) - radius;
  return std::min({size.x, size.y, beside});
}

// A box of copper on one side, perhaps with a pin in it: on spokes, or of another net in a clearing.
void Maker::pour() {
  const int nx = rng_.between(3, 5), ny = rng_.between(3, 5);
  Cell c;
  if (!random_cell(c, nx, ny, false)) return;
  const Cell inner{c.i + nx / 2, c.j + ny / 2, c.layer};
  const bool with_pin = grid_.is_free(other_side(inner)) && rng_.chance(0.8);
  const std::size_t node = add_node(NodeKind::pour, c, false);
  const double more = 0.3 * pitch_;
  Shape shape = box(c.layer, grid_.place(c) - Pt{more, more},
                    grid_.place({c.i + nx - 1, c.j + ny - 1, c.layer}) + Pt{more, more});
  Terminal t;
  t.nodes = {node};
  for (int i = c.i; i < c.i + nx; ++i) {
    for (int j = c.j; j < c.j + ny; ++j) {
      const Cell one{i, j, c.layer};
      if (!with_pin || !(one == inner)) grid_.take(one, node), t.cells.push_back(one);
    }
  }
  if (with_pin) {
    const std::size_t hole = new_hole(inner, false);
    Hole& h = board_.holes[hole];
    h.ref = fmt::format("J{}", next_ref_++);
    h.pin = "1";
    const double radius = h.ring / 2 + 0.3;
    shape.clearings.push_back({h.at, radius});
    Terminal own;
    own.holes = {hole};
    own.cells = {other_side(inner)};
    if (rng_.chance(0.6)) {
      spokes(inner, h.rings[inner.layer], node, radius);
      t.holes = own.holes;
      t.cells.push_back(other_side(inner));
    } else {
      terminals_.push_back(own);
    }
  }
  board_.nodes[node].size_x = board_.nodes[node].size_y = widest(shape);
  add_shape(std::move(shape), node);
  terminals_.push_back(std::move(t));
}

// Long narrow pads at half the pitch: even ones stand on the grid, odd ones lead down to it.
void Maker::fine_row() {
  const int gaps = rng_.between(2, 4);
  Cell c;
  if (pitch_ < 0.95 || pitch_ > 1.3 || !random_cell(c, gaps + 1, 3, false)) return;
  const double width = pitch_ / 4, more = 0.05;
  const std::string ref = fmt::format("U{}", next_ref_++);
  const double low = grid_.place({c.i, c.j + 1, c.layer}).y - more,
               high = grid_.place({c.i, c.j + 2, c.layer}).y + more;
  grid_.take(c, kNone);
  for (int k = 0; k <= 2 * gaps; ++k) {
    const Cell foot{c.i + (k + 1) / 2, c.j, c.layer};
    const double x = grid_.place(c).x + k * pitch_ / 2;
    const std::size_t node = add_node(NodeKind::pad, foot, true);
    Node& n = board_.nodes[node];
    n.at = {x, (low + high) / 2};
    n.size_x = width, n.size_y = high - low;
    n.ref = ref, n.pin = std::to_string(k + 1);
    add_shape(box(c.layer, {x - width / 2, low}, {x + width / 2, high}), node);
    Terminal t;
    t.nodes = {node};
    if (k % 2 == 0) {
      fine_[node] = true;
      for (const int j : {c.j + 1, c.j + 2}) {
        t.cells.push_back({foot.i, j, c.layer});
        grid_.take(t.cells.back(), node);
      }
    } else {
      const std::size_t end = add_node(NodeKind::bend, foot, false);
      grid_.take(foot, end);
      drafts_.push_back({node, end, c.layer, {x, low}, grid_.place(foot), 0.2, false, false});
      t.nodes.push_back(end);
      t.cells.push_back(foot);
    }
    terminals_.push_back(std::move(t));
  }
}

void Maker::pin() {
  Cell c;
  const int n = rng_.between(1, 4);
  if (!random_cell(c, n, 1, true)) return;
  const std::string ref = fmt::format("J{}", next_ref_++);
  for (int k = 0; k < n; ++k) {
    const Cell at{c.i + k, c.j, 0};
    Terminal t;
    t.holes = {new_hole(at, false)};
    board_.holes[t.holes[0]].ref = ref;
    board_.holes[t.holes[0]].pin = std::to_string(k + 1);
    t.cells = {at, other_side(at)};
    terminals_.push_back(std::move(t));
  }
}

void Maker::pad() {
  const bool upright = rng_.chance(0.5);
  const int k = rng_.chance(0.35) ? rng_.between(2, 3) : 1;
  Cell c;
  if (!random_cell(c, upright ? 1 : k, upright ? k : 1, false)) return;
  const double size = rounded(rng_.real(0.4, std::min(1.0, pitch_ - 0.2)));
  const bool round = k == 1 && rng_.chance(0.4);
  const std::size_t node = add_node(NodeKind::pad, c, true);
  Node& n = board_.nodes[node];
  const Pt far = grid_.place({c.i + (upright ? 0 : k - 1), c.j + (upright ? k - 1 : 0), c.layer});
  const Pt half{size / 2, size / 2}, lo = n.at - half, hi = far + half;
  n.at = 0.5 * (n.at + far);
  n.size_x = hi.x - lo.x, n.size_y = hi.y - lo.y;
  n.ref = fmt::format("R{}", next_ref_++), n.pin = "1";
  add_shape(round ? disc(c.layer, n.at, size) : box(c.layer, lo, hi), node);
  Terminal t;
  t.nodes = {node};
  for (int m = 0; m < k; ++m) {
    t.cells.push_back({c.i + (upright ? 0 : m), c.j + (upright ? m : 0), c.layer});
    grid_.take(t.cells.back(), node);
  }
  terminals_.push_back(std::move(t));
}

// The same line of copper on both sides (or a pour below), with several holes between: parallel ways.
void Maker::bar() {
  const int n = rng_.between(3, 5);
  const bool upright = rng_.chance(0.5), wide = rng_.chance(0.3);
  Cell c;
  if (!random_cell(c, upright ? 1 : n, upright ? n : 1, true)) return;
  const std::size_t poured = wide ? rng_.below(2) : 2;
  const bool vias = rng_.chance(0.6);
  std::vector<int> places;
  for (int m = 0; m < n; ++m) places.push_back(m);
  rng_.shuffle(places);
  places.resize(static_cast<std::size_t>(rng_.between(2, n)));
  const std::string ref = fmt::format("J{}", next_ref_++);
  Terminal t;
  std::size_t before[2] = {kNone, kNone};
  Cell last{};
  for (int m = 0; m < n; ++m) {
    const Cell at{c.i + (upright ? 0 : m), c.j + (upright ? m : 0), 0};
    const auto place = std::ranges::find(places, m);
    if (place != places.end()) {
      const std::size_t hole = new_hole(at, vias && place != places.begin());
      t.holes.push_back(hole);
      if (!board_.holes[hole].via)
        board_.holes[hole].ref = ref, board_.holes[hole].pin = std::to_string(t.holes.size());
    } else {
      for (const Cell one : {at, other_side(at)})
        grid_.take(one, add_node(NodeKind::bend, one, false)), t.nodes.push_back(grid_.node(one));
    }
    for (const Cell one : {at, other_side(at)}) {
      t.cells.push_back(one);
      if (before[one.layer] != kNone) {
        join(before[one.layer], grid_.node(one), {last.i, last.j, one.layer}, one, track_);
        drafts_.back().inside = poured == one.layer;
      }
      before[one.layer] = grid_.node(one);
    }
    last = at;
  }
  if (wide) {
    const std::size_t node = grid_.node({c.i, c.j, poured});
    const double more = 0.3 * pitch_;
    Shape whole = box(poured, grid_.place(c) - Pt{more, more}, grid_.place(last) + Pt{more, more});
    add_shape(std::move(whole), node);
  }
  terminals_.push_back(std::move(t));
}

void Maker::slot() {
  Cell c;
  if (!random_cell(c, 3, 1, true)) return;
  for (int i = c.i; i < c.i + 3; ++i)
    for (const std::size_t layer : {0U, 1U}) grid_.take({i, c.j, layer}, kNone);
  board_.slots.push_back({grid_.place(c), grid_.place({c.i + 2, c.j, 0}), 0.5});
}

void Maker::own(const Terminal& t, std::size_t net) {
  for (const std::size_t n : t.nodes) board_.nodes[n].net = net;
  for (const std::size_t h : t.holes) {
    board_.holes[h].net = net;
    for (const std::size_t r : board_.holes[h].rings) board_.nodes[r].net = net;
  }
}

void Maker::make_via(Cell a, Cell b, std::size_t net) {
  const Cell top = a.layer == 0 ? a : b, bottom = a.layer == 0 ? b : a;
  const std::size_t hole = add_hole(a, via_ring_, true, grid_.node(top), grid_.node(bottom));
  board_.holes[hole].net = net;
}

void Maker::lay(const std::vector<Cell>& path, std::size_t net, std::vector<Cell>& tree,
                double widest) {
  const double width = std::min(
      widest, rng_.chance(0.7) ? track_ : rounded(rng_.real(0.2, std::min(0.5, pitch_ - 0.3))));
  for (const Cell& c : path) {
    if (!grid_.is_free(c)) continue;
    grid_.take(c, add_node(NodeKind::bend, c, false));
    board_.nodes[grid_.node(c)].net = net;
    tree.push_back(c);
  }
  for (std::size_t k = 1; k < path.size(); ++k) {
    if (path[k].layer != path[k - 1].layer)
      make_via(path[k - 1], path[k], net);
    else
      join(grid_.node(path[k - 1]), grid_.node(path[k]), path[k - 1], path[k], width);
  }
}

bool Maker::connect(std::size_t net, std::vector<Cell>& tree, const Terminal& t) {
  const auto via_at = [this](Cell c) {
    return grid_.is_free(c) || board_.nodes[grid_.node(c)].kind == NodeKind::bend;
  };
  const auto path = grid_.way(rng_, tree, t.cells, via_at);
  if (!path) return false;
  lay(*path, net, tree);
  tree.insert(tree.end(), t.cells.begin(), t.cells.end());
  return true;
}

void Maker::route_nets() {
  rng_.shuffle(terminals_);
  const auto count = static_cast<std::size_t>(wanted_nets_);
  std::vector<std::vector<std::size_t>> of_net(count);
  for (std::size_t k = 0; k < terminals_.size(); ++k)
    of_net[k < 2 * count ? k % count : rng_.below(count)].push_back(k);
  std::vector<std::size_t> left;
  for (const auto& list : of_net) {
    if (list.empty()) continue;
    const std::size_t net = board_.nets.size();
    board_.nets.push_back(fmt::format("N{}", net + 1));
    cells_of_net_.push_back(terminals_[list[0]].cells);
    own(terminals_[list[0]], net);
    for (std::size_t k = 1; k < list.size(); ++k) {
      if (connect(net, cells_of_net_[net], terminals_[list[k]]))
        own(terminals_[list[k]], net);
      else
        left.push_back(list[k]);
    }
  }
  for (const std::size_t k : left) {
    const Terminal& t = terminals_[k];
    const bool points = !t.holes.empty() || board_.nodes[t.nodes[0]].kind == NodeKind::pad;
    if (!points) continue;  // a pour that nothing reached: copper without points
    const bool alone = t.holes.size() + (t.holes.empty() ? 1 : t.nodes.size()) == 1;
    const std::size_t net = board_.nets.size();
    board_.nets.push_back(alone ? "N/C" : fmt::format("N{}", net + 1));
    cells_of_net_.push_back(t.cells);
    own(t, net);
  }
}

// A second way between two places of a net.
void Maker::loop(std::size_t net) {
  const auto& cells = cells_of_net_[net];
  const Cell from = rng_.pick(cells), to = rng_.pick(cells);
  if (grid_.node(from) == grid_.node(to)) return;
  Terminal target;
  target.cells = {to};
  const auto via_at = [this](Cell c) { return grid_.is_free(c); };
  const auto path = grid_.way(rng_, {from}, target.cells, via_at);
  if (!path || path->size() < 4 || path->size() > 25) return;
  lay(*path, net, cells_of_net_[net]);
}

double Maker::narrowest_at(std::size_t node) const {
  double width = fine_[node] ? pitch_ / 4 : 1;
  for (const Draft& d : drafts_) {
    if (d.a == node || d.b == node) width = std::min(width, d.width);
  }
  return width;
}

// A track that ends in nothing, or in a pad that no record knows.
void Maker::stub(std::size_t net) {
  Cell c = rng_.pick(cells_of_net_[net]);
  std::vector<Cell> path{c};
  const int steps = rng_.between(1, 4);
  for (int k = 0; k < steps; ++k) {
    std::vector<Cell> next;
    for (const Cell one : {Cell{c.i + 1, c.j, c.layer},
                           {c.i - 1, c.j, c.layer},
                           {c.i, c.j + 1, c.layer},
                           {c.i, c.j - 1, c.layer}}) {
      if (grid_.is_free(one) && std::ranges::find(path, one) == path.end()) next.push_back(one);
    }
    if (next.empty()) break;
    path.push_back(c = rng_.pick(next));
  }
  if (path.size() < 2) return;
  // Nowhere broader than what it hangs on: a broader end is a pad, if nobody says otherwise.
  lay(path, net, cells_of_net_[net], narrowest_at(grid_.node(path.front())));
  cells_of_net_[net].pop_back();  // nothing is led on from its end
  Node& end = board_.nodes[grid_.node(path.back())];
  end.kind = NodeKind::end;
  if (!rng_.chance(0.4)) return;
  end.kind = NodeKind::pad;
  end.size_x = end.size_y = rounded(rng_.real(0.5, std::min(1.0, pitch_ - 0.2)));
  add_shape(disc(end.layer, end.at, end.size_x), grid_.node(path.back()));
}

// A track between two nets that lie side by side, declared as a tie.
void Maker::tie() {
  for (int tries = 0; tries < 200; ++tries) {
    const std::size_t net = rng_.below(cells_of_net_.size());
    const Cell c = rng_.pick(cells_of_net_[net]);
    const Cell d = rng_.chance(0.5) ? Cell{c.i + 1, c.j, c.layer} : Cell{c.i, c.j + 1, c.layer};
    if (!grid_.inside(d) || grid_.is_free(d) || grid_.node(d) == kNone) continue;
    const std::size_t a = grid_.node(c), b = grid_.node(d);
    const std::size_t other = board_.nodes[b].net;
    const auto plain = [&](std::size_t n) {
      return board_.nodes[n].kind != NodeKind::pour && board_.nodes[n].kind != NodeKind::end &&
             !fine_[n];
    };
    if (other == kNone || other == net || !plain(a) || !plain(b)) continue;
    if (board_.nets[net] == "N/C" || board_.nets[other] == "N/C") continue;
    join(a, b, c, d, rounded(rng_.real(0.2, 0.3)));
    board_.ties.insert(std::minmax(net, other));
    return;
  }
}

void Maker::loose() {
  Cell c;
  if (!random_cell(c, 1, 1, false)) return;
  const bool upright = rng_.chance(0.5);
  std::size_t before = add_node(NodeKind::end, c, false);
  grid_.take(c, before);
  const double width = rounded(rng_.real(0.2, 0.4));
  for (int k = rng_.between(0, 4); k > 0; --k) {
    const Cell next{c.i + (upright ? 0 : 1), c.j + (upright ? 1 : 0), c.layer};
    if (!grid_.is_free(next)) break;
    const std::size_t node = add_node(NodeKind::end, next, false);
    grid_.take(next, node);
    join(before, node, c, next, width);
    before = node, c = next;
  }
}

// Strokes of a letter within one cell.
void Maker::text() {
  Cell c;
  if (!random_cell(c, 1, 1, false)) return;
  const double r = 0.28 * pitch_;
  const std::vector<Pt> corners{{-r, -r}, {-r, r}, {r, r}, {r, -r}};
  std::size_t before = kNone;
  const std::size_t n = 2 + rng_.below(3);
  for (std::size_t k = 0; k < n; ++k) {
    const std::size_t node = add_node(NodeKind::end, c, false);
    grid_.take(c, kNone);
    board_.nodes[node].at = grid_.place(c) + corners[k];
    if (before != kNone)
      drafts_.push_back({before, node, c.layer, board_.nodes[before].at, board_.nodes[node].at,
                         0.15, false, false});
    before = node;
  }
}

void Maker::merge_at(std::size_t node, std::vector<std::vector<std::size_t>>& at) {
  if (board_.nodes[node].kind != NodeKind::bend || at[node].size() != 2) return;
  const std::size_t first = at[node][0], second = at[node][1];
  Draft &e = drafts_[first], &f = drafts_[second];
  if (e.width != f.width || e.inside || f.inside || e.spoke || f.spoke) return;
  if (e.a == node) std::swap(e.a, e.b), std::swap(e.at_a, e.at_b);
  if (f.b == node) std::swap(f.a, f.b), std::swap(f.at_a, f.at_b);
  const Pt d = e.at_b - e.at_a, g = f.at_b - f.at_a;
  if (std::fabs(d.x * g.y - d.y * g.x) > 1e-9 || d.x * g.x + d.y * g.y < 0) return;
  if (e.a == f.b) return;
  e.b = f.b;
  e.at_b = f.at_b;
  std::ranges::replace(at[e.b], second, first);
  at[node].clear();
  f.a = f.b = kNone;
}

void Maker::merge_runs() {
  std::vector<std::vector<std::size_t>> at(board_.nodes.size());
  for (std::size_t k = 0; k < drafts_.size(); ++k)
    at[drafts_[k].a].push_back(k), at[drafts_[k].b].push_back(k);
  for (std::size_t n = 0; n < board_.nodes.size(); ++n) merge_at(n, at);
}

void Maker::finish_edges() {
  for (const Draft& d : drafts_) {
    if (d.a == kNone) continue;
    Edge e{d.a, d.b, kNone, d.spoke};
    if (!d.inside) {
      e.shape = board_.shapes.size();
      board_.shapes.push_back(stroke(d.layer, d.at_a, d.at_b, d.width));
      board_.shapes.back().edge = board_.edges.size();
    }
    board_.edges.push_back(e);
  }
}

void Maker::choose_joins() {
  const double r = rng_.real(0, 1);
  board_.plated = r < 0.4 || rng_.chance(0.3);
  board_.joins = r < 0.2 ? "all" : r < 0.4 ? "plated" : "list";
  for (Hole& h : board_.holes) {
    h.conducts = joins_count(board_.stage);
    const std::vector<std::string> kinds = h.via ? std::vector<std::string>{"wire", "rivet"}
                                                 : std::vector<std::string>{"wire", "lead"};
    h.kind = rng_.pick(kinds);
  }
  if (board_.joins != "list" || board_.holes.empty() || !rng_.chance(0.4)) return;
  for (int k = rng_.between(1, 2); k > 0; --k) {
    Hole& h = board_.holes[rng_.below(board_.holes.size())];
    h.deferred = true;
    h.conducts = false;
  }
}

void Maker::choose_stage() {
  const double r = rng_.real(0, 1);
  board_.stage = r < 0.1    ? Stage::etched_top
                 : r < 0.17 ? Stage::etched_bottom
                 : r < 0.4  ? Stage::etched
                 : r < 0.8  ? Stage::joined
                            : Stage::finished;
  board_.x2 = rng_.chance(0.3);
  choose_joins();
  const int channels[] = {64, 64, 64, 64, 24, 16};
  board_.channels = channels[rng_.below(6)];
  board_.contact_check = rng_.chance(0.6);
}

RandomBoard Maker::make() {
  const auto some = [this](int least, int most, void (Maker::*what)()) {
    for (int n = rng_.between(least, most); n > 0; --n) (this->*what)();
  };
  some(0, 2, &Maker::pour);
  some(0, 2, &Maker::fine_row);
  some(0, rng_.chance(0.3) ? 1 : 0, &Maker::slot);
  some(0, 2, &Maker::bar);
  while (static_cast<double>(terminals_.size()) < 1.2 * wanted_nets_) {
    const std::size_t before = terminals_.size();
    some(1, 2, &Maker::pin);
    if (terminals_.size() == before) break;
  }
  for (int k = 0; k < 40 && static_cast<double>(terminals_.size()) < 2.8 * wanted_nets_; ++k) pad();
  route_nets();
  for (int k = rng_.between(0, 3); k > 0; --k) loop(rng_.below(cells_of_net_.size()));
  for (int k = rng_.between(0, 4); k > 0; --k) stub(rng_.below(cells_of_net_.size()));
  if (rng_.chance(0.3)) tie();
  some(0, 5, &Maker::loose);
  some(0, 3, &Maker::text);
  merge_runs();
  finish_edges();
  choose_stage();
  return std::move(board_);
}

// Copper that does not hang together keeps its distance.
bool is_right(const RandomBoard& b) {
  std::vector<std::size_t> piece(b.nodes.size());
  std::iota(piece.begin(), piece.end(), 0U);
  const auto root = [&piece](std::size_t n) {
    while (piece[n] != n) n = piece[n] = piece[piece[n]];
    return n;
  };
  for (const Edge& e : b.edges) piece[root(e.a)] = root(e.b);
  const auto of = [&](const Shape& s) {
    return root(s.edge == kNone ? s.node : b.edges[s.edge].a);
  };
  for (std::size_t k = 0; k < b.shapes.size(); ++k) {
    for (std::size_t m = 0; m < k; ++m) {
      const Shape &s = b.shapes[k], &t = b.shapes[m];
      if (s.layer == t.layer && of(s) != of(t) && closest(s, t).distance < kLeastGap) return false;
    }
  }
  return true;
}

// Some record names something on each copper of a net, once all holes are joined.
bool is_known(const RandomBoard& b) {
  Sets sets(b.nodes.size());
  for (const Edge& e : b.edges) sets.unite(e.a, e.b);
  for (const Hole& h : b.holes) {
    if (h.rings[0] != kNone && h.rings[1] != kNone) sets.unite(h.rings[0], h.rings[1]);
  }
  std::set<std::size_t> known;
  for (std::size_t n = 0; n < b.nodes.size(); ++n) {
    const Node& node = b.nodes[n];
    if (node.listed || (node.hole != kNone && b.holes[node.hole].listed))
      known.insert(sets.find(n));
  }
  for (std::size_t n = 0; n < b.nodes.size(); ++n) {
    const Node& node = b.nodes[n];
    if (node.kind == NodeKind::bend || node.kind == NodeKind::end) continue;  // may be left over
    if (node.net != kNone && !known.contains(sets.find(n))) return false;
  }
  return true;
}

}  // namespace

RandomBoard make_board(std::uint64_t seed) {
  for (std::uint64_t attempt = 0;; ++attempt) {
    RandomBoard board = Maker(seed, attempt).make();
    if (is_right(board) && is_known(board)) return board;
  }
}

}  // namespace isthmus::random_boards
