// SPDX-License-Identifier: Apache-2.0
#include "copper/gaps/sample.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

namespace isthmus::copper {
namespace {

constexpr double kGather = 400'000;  // nm; candidates are looked up once for this much of an edge
constexpr double kGrazing =
    0.02;  // cosine to the outward normal; flatter is looking along one's own edge
constexpr double kTrim =
    1.0 / 16;  // of the way across, at both ends, is not searched for other copper

Spot spot(Position p) { return {static_cast<double>(p.x), static_cast<double>(p.y)}; }
Spot between(Spot a, Spot b, double t) { return {a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t}; }
double dot(Spot a, Spot b) { return a.x * b.x + a.y * b.y; }
Spot minus(Spot a, Spot b) { return {a.x - b.x, a.y - b.y}; }
// Of lengths below 10 m in nm: no overflow to be careful of, as std::hypot is.
double length_of(Spot a) { return std::sqrt(dot(a, a)); }

struct Line {
  Spot a, b;
};

Across from_spot(Spot p, const Line& s) {
  const Spot along = minus(s.b, s.a);
  const double length2 = dot(along, along);
  const double t = length2 > 0 ? std::clamp(dot(minus(p, s.a), along) / length2, 0.0, 1.0) : 0.0;
  const Spot q = between(s.a, s.b, t);
  return {length_of(minus(q, p)), p, q};
}

// Whether the line's box is farther: cheaper than the distance, and most are.
bool beyond(Spot p, const Line& s, double far) {
  return std::min(s.a.x, s.b.x) > p.x + far || std::max(s.a.x, s.b.x) < p.x - far ||
         std::min(s.a.y, s.b.y) > p.y + far || std::max(s.a.y, s.b.y) < p.y - far;
}

// Of two lines that do not cross.
Across from_line(const Line& here, const Line& there) {
  Across best = from_spot(here.a, there);
  const auto take = [&best](const Across& c) {
    if (c.distance_nm < best.distance_nm) best = c;
  };
  take(from_spot(here.b, there));
  for (Spot p : {there.a, there.b}) {
    const Across back = from_spot(p, here);
    take({back.distance_nm, back.there, back.here});
  }
  return best;
}

// The part of a line on the outer side of an edge, whose outside is to the right of its direction.
std::optional<Line> outside_of(Spot origin, Spot normal, const Line& s) {
  const double ha = dot(minus(s.a, origin), normal), hb = dot(minus(s.b, origin), normal);
  if (ha <= 0 && hb <= 0) return std::nullopt;
  if (ha >= 0 && hb >= 0) return s;
  const Spot cut = between(s.a, s.b, ha / (ha - hb));
  return ha > 0 ? Line{s.a, cut} : Line{cut, s.b};
}

class Lookout {
 public:
  Lookout(std::span<const Island> islands, const LayerEdges& edges, const Looking& how)
      : edges_(edges), how_(how), stamp_(edges.owners.size(), 0), slot_(islands.size(), kNone) {
    perimeter_.assign(islands.size(), 0);
    for (std::size_t i = 0; i < edges.owners.size(); ++i) {
      const Segment& s = edges.grid.segments()[i];
      perimeter_[edges.owners[i].island] += distance_nm(s.a, s.b);
    }
  }

  Seen look() {
    seen_.steps.assign(edges_.contours.size(), 0);
    for (std::uint32_t e = 0; e < edges_.owners.size(); ++e) {
      if (!how_.own || (*how_.own)[edges_.owners[e].island]) look_from_edge(e);
    }
    return std::move(seen_);
  }

 private:
  static constexpr std::uint32_t kNone = UINT32_MAX;
  struct Candidate {
    std::uint32_t island;
    Line line;
  };
  struct Nearest {
    std::uint32_t island;
    Across from_middle;
    double reach;  // from_middle and half a stretch: nothing farther can be the nearest
  };

  // Whether `other` is seen from `mine`, not the other way round.
  [[nodiscard]] bool sees(std::uint32_t mine, std::uint32_t other) const {
    if (how_.own || mine == other) return how_.own && mine == other;
    return perimeter_[mine] != perimeter_[other] ? perimeter_[mine] < perimeter_[other]
                                                 : mine < other;
  }

  void look_from_edge(std::uint32_t edge) {
    const Segment& s = edges_.grid.segments()[edge];
    const double length = distance_nm(s.a, s.b);
    if (length == 0) return;
    const Line whole{spot(s.a), spot(s.b)};
    const int parts = static_cast<int>(std::ceil(length / kGather));
    for (int part = 0; part < parts; ++part) {
      const Line here{between(whole.a, whole.b, static_cast<double>(part) / parts),
                      between(whole.a, whole.b, static_cast<double>(part + 1) / parts)};
      gather(edge, here);
      const int steps = static_cast<int>(std::ceil(length / parts / how_.step_nm));
      for (int i = 0; i < steps; ++i) {
        look_from_stretch(edge, {between(here.a, here.b, static_cast<double>(i) / steps),
                                 between(here.a, here.b, static_cast<double>(i + 1) / steps)});
      }
    }
  }

  void gather(std::uint32_t edge, const Line& here) {
    candidates_.clear();
    ++now_;
    Box box;
    box.add(rounded(here.a));
    box.add(rounded(here.b));
    window_nm_ = window_round(box);
    box = box.grown(Nanometres{std::llround(window_nm_)});
    const std::uint32_t mine = edges_.owners[edge].island;
    edges_.grid.for_each(box, [&](std::uint32_t i) {
      if (stamp_[i] == now_) return true;
      stamp_[i] = now_;
      const std::uint32_t other = edges_.owners[i].island;
      const Segment& s = edges_.grid.segments()[i];
      if (sees(mine, other) && box.overlaps(box_of(s))) {
        candidates_.push_back({other, {spot(s.a), spot(s.b)}});
      }
      return true;
    });
  }

  // The window of what is seen from this box, and the places that widen it there.
  double window_round(const Box& box) {
    wide_here_.clear();
    double window = how_.window_nm;
    for (const WideWindow& w : how_.wide) {
      const double wide = static_cast<double>(w.window.value);
      if (wide <= how_.window_nm) continue;
      // The middle of a gap lies half of it from the box at most.
      if (!box.grown(w.reach + w.window / 2).contains(w.at)) continue;
      wide_here_.push_back(w);
      window = std::max(window, wide);
    }
    return window;
  }

  [[nodiscard]] bool counts(const Across& a) const {
    if (a.distance_nm <= how_.window_nm) return true;
    const Spot m = between(a.here, a.there, 0.5);
    return std::ranges::any_of(wide_here_, [&](const WideWindow& w) {
      return a.distance_nm <= static_cast<double>(w.window.value) &&
             length_of(minus(m, spot(w.at))) <= static_cast<double>(w.reach.value);
    });
  }

  void look_from_stretch(std::uint32_t edge, const Line& here) {
    const EdgeOwner mine = edges_.owners[edge];
    const std::uint32_t step = seen_.steps[mine.contour]++;
    if (candidates_.empty()) return;
    const Spot along = minus(here.b, here.a);
    const double length = length_of(along);
    const Spot normal{along.y / length, -along.x / length};
    const Spot middle = between(here.a, here.b, 0.5);
    nearest_.clear();
    const double far = window_nm_ + length;
    for (const Candidate& c : candidates_) {
      if (beyond(middle, c.line, far)) continue;
      const Across any = from_spot(middle, c.line);
      if (any.distance_nm > far) continue;
      note_nearest(mine.island, c, here, any.distance_nm - length / 2);
      if (const auto outer = outside_of(here.a, normal, c.line)) {
        note_view(c.island, from_spot(middle, *outer), length / 2);
      }
    }
    for (const Nearest& n : nearest_) {
      slot_[n.island] = kNone;
      const Spot way = minus(n.from_middle.there, middle);
      if (!counts(n.from_middle)) continue;
      const double squareness = dot(way, normal) / std::max(n.from_middle.distance_nm, 1.0);
      if (squareness < kGrazing) continue;
      View view{step, mine.contour, false, length, squareness, n.from_middle, n.from_middle};
      const auto shielded = way_is_shielded(n.from_middle, mine.island, n.island);
      if (!shielded) continue;
      view.shielded = *shielded;
      for (const Candidate& c : candidates_) {
        if (c.island != n.island || from_spot(middle, c.line).distance_nm > n.reach) continue;
        const auto outer = outside_of(here.a, normal, c.line);
        if (!outer) continue;
        const Across close = from_line(here, *outer);
        if (close.distance_nm < view.nearest.distance_nm) view.nearest = close;
      }
      seen_.sights.at({mine.island, n.island}).views.push_back(view);
    }
  }

  void note_nearest(std::uint32_t mine, const Candidate& c, const Line& here, double at_least) {
    const auto [it, fresh] = seen_.sights.try_emplace({mine, c.island});
    Across& best = it->second.nearest;
    if (fresh) best.distance_nm = std::numeric_limits<double>::infinity();
    if (at_least > best.distance_nm) return;
    const Across close = from_line(here, c.line);
    if (close.distance_nm < best.distance_nm && counts(close)) best = close;
  }

  void note_view(std::uint32_t island, const Across& seen, double half) {
    if (slot_[island] == kNone) {
      slot_[island] = static_cast<std::uint32_t>(nearest_.size());
      nearest_.push_back({island, seen, seen.distance_nm + half});
      return;
    }
    Nearest& n = nearest_[slot_[island]];
    if (seen.distance_nm < n.from_middle.distance_nm) n = {island, seen, seen.distance_nm + half};
  }

  // Nothing where the looking island's own copper lies in the way.
  [[nodiscard]] std::optional<bool> way_is_shielded(const Across& way, std::uint32_t mine,
                                                    std::uint32_t other) const {
    const Segment middle{rounded(between(way.here, way.there, kTrim)),
                         rounded(between(way.here, way.there, 1 - kTrim))};
    const Box box = box_of(middle);
    bool own = false, third = false;
    edges_.grid.for_each_along(middle, [&](std::uint32_t i) {
      const std::uint32_t owner = edges_.owners[i].island;
      if (owner == other) return true;
      const Segment& s = edges_.grid.segments()[i];
      if (!box.overlaps(box_of(s)) || !crosses_or_touches(middle, s)) return true;
      (owner == mine ? own : third) = true;
      return !own;
    });
    if (own) return std::nullopt;
    return third;
  }

  const LayerEdges& edges_;
  Looking how_;
  std::vector<double> perimeter_;     // by island
  std::vector<std::uint32_t> stamp_;  // by edge: the gathering that met it last
  std::uint32_t now_{0};
  std::vector<WideWindow> wide_here_;
  double window_nm_{};
  std::vector<Candidate> candidates_;
  std::vector<Nearest> nearest_;
  std::vector<std::uint32_t> slot_;  // by island: its place in nearest_
  Seen seen_;
};

}  // namespace

Position rounded(Spot s) { return {std::llround(s.x), std::llround(s.y)}; }

Seen look_across(std::span<const Island> islands, const LayerEdges& edges, const Looking& how) {
  return Lookout(islands, edges, how).look();
}

}  // namespace isthmus::copper
