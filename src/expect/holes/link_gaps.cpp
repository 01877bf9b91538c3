// SPDX-License-Identifier: Apache-2.0
#include "expect/holes/link_gaps.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>

namespace isthmus::expect {
namespace {

constexpr double kWireRadius = 300'000;  // nm: bare wire of 0.6 mm. Common practice, no source
constexpr double kStep = 100'000;        // nm along the wire from one look to the next

// Where a wire comes near something: a look, and the nearest place there.
struct Look {
  std::size_t step{};
  double distance_nm{};  // from the wire's surface, at least kLeastGapOfWeight
  Position on_wire, there;
};

double from_surface(double from_axis) {
  return std::max(from_axis - kWireRadius, copper::kLeastGapOfWeight);
}

Closest nearest_of(const copper::Island& island, Position p) {
  Closest best{std::numeric_limits<double>::infinity(), p, p};
  for (std::size_t i = 0; i < island.pieces(); ++i) {
    const Polygon& piece = island.piece(i);
    if (locate(p, piece) != Where::outside) return {0, p, p};
    const auto look = [&](const Contour& c) {
      for (std::size_t k = 0, j = c.size() - 1; k < c.size(); j = k++) {
        const Closest to = closest(p, Segment{c[j], c[k]});
        if (to.distance_nm < best.distance_nm) best = to;
      }
    };
    look(piece.outer);
    for (const Contour& hole : piece.holes) look(hole);
  }
  return best;
}

std::vector<Position> places_along(const Link& link) {
  const auto steps = static_cast<std::int64_t>(distance_nm(link.from_at, link.to_at) / kStep) + 1;
  const Position way = link.to_at - link.from_at;
  std::vector<Position> places;
  for (std::int64_t k = 0; k <= steps; ++k)
    places.push_back({link.from_at.x + way.x * k / steps, link.from_at.y + way.y * k / steps});
  return places;
}

copper::Facing facing_of(const std::vector<Look>& run) {
  const Look& nearest = *std::ranges::min_element(run, {}, &Look::distance_nm);
  copper::Facing f;
  f.distance_nm = nearest.distance_nm;
  f.on_a = nearest.on_wire;
  f.on_b = nearest.there;
  for (const Look& look : run) {
    f.path.push_back({(look.on_wire.x + look.there.x) / 2, (look.on_wire.y + look.there.y) / 2});
    f.weight += kStep / look.distance_nm;
  }
  f.length_nm = kStep * static_cast<double>(run.size());
  return f;
}

// One facing for every stretch of the wire that is near without a break.
std::vector<copper::Facing> facings_of(const std::vector<Look>& looks) {
  std::vector<copper::Facing> facings;
  std::vector<Look> run;
  for (const Look& look : looks) {
    if (!run.empty() && look.step > run.back().step + 1) {
      facings.push_back(facing_of(run));
      run.clear();
    }
    run.push_back(look);
  }
  facings.push_back(facing_of(run));
  std::ranges::stable_sort(facings, {}, &copper::Facing::distance_nm);
  return facings;
}

class Lister {
 public:
  Lister(const Ground& ground, const std::vector<Link>& links)
      : ground_(ground),
        links_(links),
        reach_{ground.design.board.limits.window.value + std::llround(kWireRadius)} {}

  std::vector<copper::Gap> run() {
    for (std::size_t i = 0; i < links_.size(); ++i) {
      over_copper(links_[i]);
      for (std::size_t k = i + 1; k < links_.size(); ++k) over_wire(links_[i], links_[k]);
    }
    return std::move(gaps_);
  }

 private:
  [[nodiscard]] LayerId layer_of(const Link& link) const {
    return ground_.copper.island(link.from).layer;
  }

  void over_copper(const Link& link) {
    std::map<IslandId, std::vector<Look>> near;
    const std::vector<Position> places = places_along(link);
    for (std::size_t step = 0; step < places.size(); ++step) {
      for (const IslandId other : ground_.index.near(layer_of(link), places[step], reach_)) {
        const Closest c = nearest_of(ground_.copper.island(other), places[step]);
        near[other].push_back({step, from_surface(c.distance_nm), places[step], c.on_second});
      }
    }
    for (const auto& entry : near) {
      for (const auto& [island, foot] : feet(link)) {
        if (island != entry.first) add(link, island, foot, entry.first, {}, entry.second);
      }
    }
  }

  void over_wire(const Link& one, const Link& other) {
    if (layer_of(one) != layer_of(other)) return;
    std::vector<Look> near;
    const std::vector<Position> places = places_along(one);
    for (std::size_t step = 0; step < places.size(); ++step) {
      const Closest c = closest(places[step], Segment{other.from_at, other.to_at});
      const double apart = c.distance_nm - kWireRadius;
      if (apart > static_cast<double>(reach_.value)) continue;
      near.push_back({step, from_surface(apart), places[step], c.on_second});
    }
    if (near.empty()) return;
    for (const auto& a : feet(one)) {
      for (const auto& b : feet(other)) {
        if (a.first != b.first) add(one, a.first, a.second, b.first, b.second, near);
      }
    }
  }

  static std::array<std::pair<IslandId, Position>, 2> feet(const Link& link) {
    return {std::pair(link.from, link.from_at), std::pair(link.to, link.to_at)};
  }

  void add(const Link& link, IslandId wire, Position foot, IslandId other,
           std::optional<Position> other_foot, const std::vector<Look>& looks) {
    copper::Gap gap;
    gap.kind = copper::GapKind::wire;
    gap.layer = layer_of(link);
    gap.a = wire, gap.b = other;
    gap.foot_a = foot, gap.foot_b = other_foot;
    gap.facings = facings_of(looks);
    if (other < wire) turn(gap);
    gap.distance_nm = gap.facings.front().distance_nm;
    gap.on_a = gap.facings.front().on_a;
    gap.on_b = gap.facings.front().on_b;
    for (const copper::Facing& f : gap.facings) gap.weight += f.weight;
    gaps_.push_back(std::move(gap));
  }

  static void turn(copper::Gap& gap) {
    std::swap(gap.a, gap.b);
    std::swap(gap.foot_a, gap.foot_b);
    for (copper::Facing& f : gap.facings) std::swap(f.on_a, f.on_b);
  }

  const Ground& ground_;
  const std::vector<Link>& links_;
  Nanometres reach_;  // from the wire's middle
  std::vector<copper::Gap> gaps_;
};

}  // namespace

std::vector<copper::Gap> link_gaps(const Ground& ground, const std::vector<Link>& links) {
  return Lister(ground, links).run();
}

}  // namespace isthmus::expect
