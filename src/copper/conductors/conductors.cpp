// SPDX-License-Identifier: Apache-2.0
#include "isthmus/copper/conductors.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <queue>
#include <span>

#include "copper/conductors/axis.hpp"
#include "isthmus/base/ensure.hpp"
#include "isthmus/base/sets.hpp"

namespace isthmus::copper {
namespace {

constexpr double kMerge = 5000;  // nm: axis places closer than this are one
constexpr double kBranch =
    500'000;  // nm: longer branches are cut, so that every place has a near node
constexpr double kSameWidth = 1.02;    // widths within 2 % of the narrowest count as the narrowest
constexpr double kThreadSquares = 10;  // a thread: copper about ten times as long as wide

double apart(const AxisPlace& a, const AxisPlace& b) { return std::hypot(a.x - b.x, a.y - b.y); }
Position rounded(const AxisPlace& p) { return {std::llround(p.x), std::llround(p.y)}; }

// Length over width where the width runs linearly from a to b.
double squares_between(const AxisPlace& a, const AxisPlace& b) {
  const double length = apart(a, b), grows = b.width - a.width;
  if (std::abs(grows) < 1e-3 * a.width) return length / ((a.width + b.width) / 2);
  return length * std::log(b.width / a.width) / grows;
}

// The axis as a graph whose near places are merged and whose spurs into corners are cut off.
class Skeleton {
 public:
  explicit Skeleton(Axis axis) : axis_(std::move(axis)) {
    merge_near_places();
    ends_.resize(axis_.places.size());
    for (std::size_t e = 0; e < axis_.edges.size(); ++e) {
      if (!gone_[e]) link(e);
    }
    cut_spurs();
  }

  // Appends nodes and branches of this island.
  void append_to(IslandId island, ConductorGraph& graph) {
    island_ = island;
    graph_ = &graph;
    const std::size_t first = graph.nodes.size();
    node_.assign(axis_.places.size(), SIZE_MAX);
    threaded_.assign(axis_.places.size(), false);
    for (const Axis::Thread& t : axis_.threads) threaded_[live(t.a)] = threaded_[live(t.b)] = true;
    for (std::size_t i = 0; i < ends_.size(); ++i) {
      if (root_[i] == i && !ends_[i].empty() && (ends_[i].size() != 2 || threaded_[i]))
        walk_from(i);
    }
    for (std::size_t i = 0; i < ends_.size(); ++i) {  // rings without a junction
      if (root_[i] == i && !ends_[i].empty()) walk_from(i);
    }
    for (const Axis::Thread& t : axis_.threads) add_thread(t);
    if (graph.nodes.size() == first) {
      const std::size_t widest =
          static_cast<std::size_t>(std::max_element(axis_.places.begin(), axis_.places.end(),
                                                    [](const AxisPlace& a, const AxisPlace& b) {
                                                      return a.width < b.width;
                                                    }) -
                                   axis_.places.begin());
      node_of(widest);
    }
  }

 private:
  void merge_near_places() {
    Sets sets(axis_.places.size());
    root_.resize(axis_.places.size());  // of each set: its widest place, until all are merged
    std::iota(root_.begin(), root_.end(), 0u);
    gone_.assign(axis_.edges.size(), false);
    for (const AxisEdge& e : axis_.edges) {
      std::size_t a = root_[sets.find(e.a)], b = root_[sets.find(e.b)];
      if (a == b || apart(axis_.places[e.a], axis_.places[e.b]) > kMerge ||
          apart(axis_.places[a], axis_.places[b]) > kMerge) {
        continue;
      }
      if (axis_.places[b].width > axis_.places[a].width) std::swap(a, b);
      sets.unite(a, b);
      root_[sets.find(a)] = a;
    }
    const std::vector<std::size_t> widest = root_;
    for (std::size_t i = 0; i < root_.size(); ++i) root_[i] = widest[sets.find(i)];
    for (std::size_t e = 0; e < gone_.size(); ++e) {
      AxisEdge& edge = axis_.edges[e];
      edge.a = root_[edge.a];
      edge.b = root_[edge.b];
      gone_[e] = edge.a == edge.b && length(e) < 2 * kMerge;
    }
  }

  void link(std::size_t e) {
    ends_[axis_.edges[e].a].push_back(e);
    ends_[axis_.edges[e].b].push_back(e);
  }
  void unlink(std::size_t e) {
    for (std::size_t v : {axis_.edges[e].a, axis_.edges[e].b}) std::erase(ends_[v], e);
    gone_[e] = true;
  }
  [[nodiscard]] std::size_t other(std::size_t e, std::size_t v) const {
    return axis_.edges[e].a == v ? axis_.edges[e].b : axis_.edges[e].a;
  }
  [[nodiscard]] double length(std::size_t e) const {
    const AxisEdge& edge = axis_.edges[e];
    double sum = 0;
    const AxisPlace* last = &axis_.places[edge.a];
    for (const AxisPlace& p : edge.between) sum += apart(*last, p), last = &p;
    return sum + apart(*last, axis_.places[edge.b]);
  }

  // A dead end that tapers and stays within the widest circle at its root is a corner, not a way.
  void cut_spurs() {
    std::vector<double> trimmed(axis_.places.size(), 0);
    cut_into_.resize(axis_.places.size());
    std::iota(cut_into_.begin(), cut_into_.end(), 0u);
    std::queue<std::size_t> tips;
    for (std::size_t i = 0; i < ends_.size(); ++i) {
      if (ends_[i].size() == 1) tips.push(i);
    }
    while (!tips.empty()) {
      const std::size_t tip = tips.front();
      tips.pop();
      if (ends_[tip].size() != 1) continue;
      const std::size_t e = ends_[tip][0], base = other(e, tip);
      const double reach = trimmed[tip] + length(e);
      if (axis_.places[tip].width > axis_.places[base].width + 1 ||
          reach > axis_.places[base].width / 2) {
        continue;
      }
      unlink(e);
      cut_into_[tip] = base;
      trimmed[base] = std::max(trimmed[base], reach);
      if (ends_[base].size() == 1) tips.push(base);
    }
  }

  // The place that stands for this one after merging and cutting.
  std::size_t live(std::size_t place) {
    place = root_[place];
    while (cut_into_[place] != place) place = cut_into_[place];
    return place;
  }

  std::size_t node_of(std::size_t place) {
    if (node_[place] == SIZE_MAX) node_[place] = new_node(axis_.places[place]);
    return node_[place];
  }
  std::size_t new_node(const AxisPlace& p) {
    graph_->nodes.push_back({island_, rounded(p), {std::llround(p.width)}});
    return graph_->nodes.size() - 1;
  }

  // Follows every chain of plain places that starts here and lays it down as branches.
  void walk_from(std::size_t start) {
    while (!ends_[start].empty()) {
      std::vector<AxisPlace> chain{axis_.places[start]};
      std::size_t at = start;
      do {
        const std::size_t e = ends_[at][0];
        const AxisEdge& edge = axis_.edges[e];
        std::vector<AxisPlace> between = edge.between;
        if (edge.a != at) std::reverse(between.begin(), between.end());
        chain.insert(chain.end(), between.begin(), between.end());
        const std::size_t next = other(e, at);
        unlink(e);
        at = next;
        chain.push_back(axis_.places[at]);
      } while (ends_[at].size() == 1 && node_[at] == SIZE_MAX && at != start && !threaded_[at]);
      lay(chain, node_of(start), node_of(at));
    }
  }

  void lay(const std::vector<AxisPlace>& chain, std::size_t first, std::size_t last) {
    double total = 0;
    for (std::size_t i = 1; i < chain.size(); ++i) total += apart(chain[i - 1], chain[i]);
    const double parts = std::max(first == last ? 3.0 : 1.0, std::ceil(total / kBranch));
    const double part = total / parts;
    std::vector<AxisPlace> run{chain[0]};
    std::size_t from = first;
    double done = 0, left = parts;
    for (std::size_t i = 1; i < chain.size(); ++i) {
      AxisPlace here = chain[i - 1];
      while (left > 1 && done + apart(here, chain[i]) >= part) {
        const double t = (part - done) / std::max(apart(here, chain[i]), 1e-9);
        const AxisPlace& to = chain[i];
        here = {here.x + t * (to.x - here.x), here.y + t * (to.y - here.y),
                here.width + t * (to.width - here.width)};
        run.push_back(here);
        const std::size_t node = new_node(here);
        add_branch(run, from, node);
        run = {here};
        from = node;
        done = 0;
        left -= 1;
      }
      done += apart(here, chain[i]);
      run.push_back(chain[i]);
    }
    add_branch(run, from, last);
  }

  void add_branch(const std::vector<AxisPlace>& run, std::size_t a, std::size_t b) {
    Branch branch{a, b, {}, {}, {}, 0};
    double narrow = INFINITY, total = 0, along = 0, best = INFINITY;
    for (const AxisPlace& p : run) narrow = std::min(narrow, p.width);
    for (std::size_t i = 0; i < run.size(); ++i) {
      if (branch.path.empty() || branch.path.back() != rounded(run[i])) {
        branch.path.push_back(rounded(run[i]));
      }
      if (i == 0) continue;
      total += apart(run[i - 1], run[i]);
      branch.squares += squares_between(run[i - 1], run[i]);
    }
    // Of places about as narrow the one nearest the middle; between two such places, the middle
    // itself.
    for (std::size_t i = 0; i < run.size();
         along += i + 1 < run.size() ? apart(run[i], run[i + 1]) : 0, ++i) {
      if (run[i].width > kSameWidth * narrow) continue;
      AxisPlace p = run[i];
      double off = std::abs(along - total / 2);
      if (i + 1 < run.size() && run[i + 1].width <= kSameWidth * narrow) {
        const double step = apart(run[i], run[i + 1]);
        const double t = step > 0 ? std::clamp((total / 2 - along) / step, 0.0, 1.0) : 0;
        p.x += t * (run[i + 1].x - p.x);
        p.y += t * (run[i + 1].y - p.y);
        off = std::abs(along + t * step - total / 2);
      }
      if (off < best) best = off, branch.narrowest = rounded(p);
    }
    branch.width = {std::llround(narrow)};
    graph_->branches.push_back(std::move(branch));
  }

  void add_thread(const Axis::Thread& t) {
    const std::size_t a = node_of(live(t.a)), b = node_of(live(t.b));
    graph_->branches.push_back({a,
                                b,
                                {graph_->nodes[a].at, t.at, graph_->nodes[b].at},
                                {std::llround(kAxisThinnest / 2)},
                                t.at,
                                kThreadSquares});
  }

  Axis axis_;
  std::vector<std::size_t> root_, cut_into_, node_;
  std::vector<bool> gone_, threaded_;
  std::vector<std::vector<std::size_t>> ends_;  // edges at a place
  IslandId island_{};
  ConductorGraph* graph_{};
};

}  // namespace

namespace {

void sort_by_x(ConductorGraph& graph) {
  graph.by_x.resize(graph.nodes.size());
  std::iota(graph.by_x.begin(), graph.by_x.end(), 0u);
  for (const auto& [first, last] : graph.of_island) {
    const auto range = std::span(graph.by_x).subspan(first, last - first);
    std::ranges::stable_sort(range, {}, [&](std::size_t n) { return graph.nodes[n].at.x; });
  }
}

// Takes nodes until their x alone lies farther off than the nearest so far.
class Nearest {
 public:
  Nearest(const ConductorGraph& graph, Position p) : graph_(graph), p_(p) {}
  bool take(std::size_t node) {
    constexpr double kRounding = 1;  // nm
    const Position at = graph_.nodes[node].at;
    if (std::abs(static_cast<double>(at.x - p_.x)) > distance_ + kRounding) return false;
    const double d = distance_nm(at, p_);
    if (d < distance_ || (d == distance_ && node < best_)) distance_ = d, best_ = node;
    return true;
  }
  [[nodiscard]] std::size_t best() const { return best_; }

 private:
  const ConductorGraph& graph_;
  Position p_;
  double distance_{INFINITY};
  std::size_t best_{SIZE_MAX};
};

}  // namespace

ConductorGraph trace_conductors(const formats::Design& /*design*/, const Copper& copper) {
  ConductorGraph graph;
  for (std::size_t i = 0; i < copper.islands.size(); ++i) {
    const std::size_t first = graph.nodes.size();
    Skeleton(middle_axis(copper.islands[i])).append_to(static_cast<IslandId>(i), graph);
    graph.of_island.emplace_back(first, graph.nodes.size());
  }
  graph.at_node.resize(graph.nodes.size());
  for (std::size_t b = 0; b < graph.branches.size(); ++b) {
    graph.at_node[graph.branches[b].a].push_back(b);
    if (graph.branches[b].b != graph.branches[b].a) graph.at_node[graph.branches[b].b].push_back(b);
  }
  sort_by_x(graph);
  return graph;
}

std::size_t nearest_node(const ConductorGraph& graph, IslandId island, Position p) {
  const auto [first, last] = graph.of_island.at(index(island));
  ENSURE(first < last);
  Nearest nearest(graph, p);
  if (graph.by_x.empty()) {
    for (std::size_t i = first; i < last; ++i) nearest.take(i);
    return nearest.best();
  }
  const auto range = std::span(graph.by_x).subspan(first, last - first);
  const auto from =
      std::ranges::lower_bound(range, p.x, {}, [&](std::size_t n) { return graph.nodes[n].at.x; });
  for (auto it = from; it != range.end() && nearest.take(*it);) ++it;
  for (auto it = from; it != range.begin() && nearest.take(*std::prev(it));) --it;
  return nearest.best();
}

}  // namespace isthmus::copper
