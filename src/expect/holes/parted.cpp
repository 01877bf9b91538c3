// SPDX-License-Identifier: Apache-2.0
#include "expect/holes/parted.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace isthmus::expect {
namespace {

// Copper narrower than this beside a hole does not outlast the etch; a choice of ours.
constexpr double kRest = 10'000;    // nm
constexpr std::size_t kLooks = 72;  // round the rim

double nm(Nanometres n) { return static_cast<double>(n.value); }

// One round hole in one island: what of the island hangs together beside it.
class Cut {
 public:
  Cut(const Ground& ground, const Join& join, IslandId island)
      : graph_(*ground.conductors),
        middle_(join.at),
        radius_(nm(join.diameter) / 2 + kRest),
        first_(graph_.of_island[index(island)].first),
        nodes_(graph_.of_island[index(island)].second - first_),
        sets_(nodes_ + kLooks) {
    const LayerId layer = ground.copper.island(island).layer;
    for (std::size_t k = 0; k < kLooks; ++k) {
      const double turn = 2 * std::numbers::pi * static_cast<double>(k) / kLooks;
      copper_[k] =
          ground.index.at(layer, {middle_.x + std::llround(radius_ * std::cos(turn)),
                                  middle_.y + std::llround(radius_ * std::sin(turn))}) == island;
    }
  }

  // Whether copper leads on from the rim to two sides or more, with none between.
  [[nodiscard]] bool leads_two_ways() const {
    std::size_t ends = 0;
    for (std::size_t k = 0; k < kLooks; ++k) ends += copper_[k] && !copper_[(k + 1) % kLooks];
    return ends > 1;
  }

  void join_what_is_left() {
    for (std::size_t k = 0; k < kLooks; ++k) {
      if (copper_[k] && copper_[(k + 1) % kLooks])
        sets_.unite(nodes_ + k, nodes_ + (k + 1) % kLooks);
    }
    for (std::size_t n = first_; n < first_ + nodes_; ++n) {
      for (const std::size_t b : graph_.at_node[n]) {
        if (graph_.branches[b].a == n) follow(graph_.branches[b]);
      }
    }
  }

  // The set that a place belongs to; nothing within the hole.
  [[nodiscard]] std::optional<std::size_t> of(std::size_t node) {
    if (inside(graph_.nodes[node].at)) return std::nullopt;
    return sets_.find(node - first_);
  }

 private:
  [[nodiscard]] bool inside(Position p) const { return distance_nm(p, middle_) < radius_; }

  // Where a way meets the rim it hangs on the copper that leads on from there.
  [[nodiscard]] std::size_t rim_at(Position p) const {
    const double turn =
        std::atan2(static_cast<double>(p.y - middle_.y), static_cast<double>(p.x - middle_.x)) /
        (2 * std::numbers::pi);
    const auto look = static_cast<std::size_t>(std::llround((turn + 1) * kLooks));
    for (const std::size_t off : {0u, 1u, 2u}) {
      for (const std::size_t k : {(look + off) % kLooks, (look - off) % kLooks}) {
        if (copper_[k]) return nodes_ + k;
      }
    }
    return nodes_ + look % kLooks;
  }

  void follow(const copper::Branch& branch) {
    std::optional<std::size_t> last;  // what the way hangs on so far; nothing within the hole
    if (!inside(branch.path.front())) last = branch.a - first_;
    Position before = branch.path.front();
    for (const Position p : along(branch.path)) {
      if (inside(p)) {
        if (last) sets_.unite(*last, rim_at(before));
        last.reset();
      } else if (!last) {
        last = rim_at(p);
      }
      before = p;
    }
    if (last) sets_.unite(*last, branch.b - first_);
  }

  // Steps of a quarter of the radius at most, near the hole.
  [[nodiscard]] std::vector<Position> along(const std::vector<Position>& path) const {
    std::vector<Position> places;
    for (std::size_t i = 0; i + 1 < path.size(); ++i) {
      const Segment s{path[i], path[i + 1]};
      const bool near = closest(middle_, s).distance_nm < radius_;
      const auto steps =
          near ? static_cast<std::int64_t>(distance_nm(s.a, s.b) / (radius_ / 4)) + 1 : 1;
      for (std::int64_t k = 1; k <= steps; ++k)
        places.push_back(
            {s.a.x + (s.b.x - s.a.x) * k / steps, s.a.y + (s.b.y - s.a.y) * k / steps});
    }
    return places;
  }

  const copper::ConductorGraph& graph_;
  Position middle_;
  double radius_;
  std::size_t first_, nodes_;  // of the island
  Sets sets_;                  // nodes, then places round the rim
  std::array<bool, kLooks> copper_{};
};

class Finder {
 public:
  Finder(const Ground& ground, const Holes& holes, const std::vector<Point>& points)
      : ground_(ground), holes_(holes), points_(points) {}

  void warn(Diagnostics& notes) const {
    for (std::size_t j = 0; j < holes_.joins.size(); ++j) {
      const Join& join = holes_.joins[j];
      const auto legs = legs_of(ground_.design, join.hole);
      if (holes_.joined[j] || legs.size() > 1 || legs.front().from != legs.front().to) continue;
      for (const IslandId island : join.islands) {
        if (ground_.counts(index(ground_.copper.island(island).layer))) look(j, island, notes);
      }
    }
  }

 private:
  void look(std::size_t j, IslandId island, Diagnostics& notes) const {
    const Join& join = holes_.joins[j];
    Cut cut(ground_, join, island);
    if (!cut.leads_two_ways()) return;
    cut.join_what_is_left();
    const std::size_t layer = index(ground_.copper.island(island).layer);
    const Point* first = nullptr;
    std::optional<std::size_t> set;
    for (const Point& p : points_) {
      if (p.islands[layer] != island || p.join == j || p.waived) continue;
      const auto on = cut.of(copper::nearest_node(*ground_.conductors, island, p.at));
      if (!on) continue;
      if (first && on != set) return say(join, layer, *first, p, notes);
      first = &p;
      set = on;
    }
  }

  void say(const Join& join, std::size_t layer, const Point& a, const Point& b,
           Diagnostics& notes) const {
    notes.warn(problem(
        ground_.design, "EXP-026",
        fmt::format("the hole of {:.2f} mm at [{}, {}] is as wide as its copper on {} or wider: "
                    "drilled and not filled, it parts net {}, {} from {}",
                    to_mm(join.diameter), text_mm(join.at.x), text_mm(join.at.y),
                    layer_name(ground_.layer(layer), ground_.layers()), a.net, a.id, b.id),
        "give the hole a pad that is wider, or test before it is drilled with its drill file left "
        "out of holes"));
  }

  const Ground& ground_;
  const Holes& holes_;
  const std::vector<Point>& points_;
};

}  // namespace

void warn_of_parting_holes(const Ground& ground, const Holes& holes,
                           const std::vector<Point>& points, Diagnostics& notes) {
  if (ground.conductors) Finder(ground, holes, points).warn(notes);
}

}  // namespace isthmus::expect
