// SPDX-License-Identifier: Apache-2.0
#include "tests/random_boards/faults.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

namespace isthmus::random_boards {
namespace {

constexpr double kWindow = 1.27;  // mm, the default of limits.window
constexpr double kRoom = 0.05;    // mm that a fault keeps from copper it is not about

class Drawer {
 public:
  Drawer(const RandomBoard& board, Rng& rng) : b_(board), rng_(rng) {
    for (std::size_t k = 0; k < b_.shapes.size(); ++k) {
      if (!b_.has_layer(b_.shapes[k].layer)) continue;
      shapes_.push_back(k);
      if (b_.shapes[k].edge != kNone) tracks_.push_back(k);
    }
  }
  std::vector<Fault> draw(std::size_t n);

 private:
  using Shapes = std::vector<std::size_t>;
  bool add_any(const Shapes& tracks, const Shapes& copper, bool joins);
  std::optional<Fault> open(const Shapes& among);
  std::optional<Fault> bridge(const Shapes& among);
  std::optional<Fault> no_join(const std::vector<std::size_t>& among);
  bool add(std::optional<Fault> f);
  void all_parallel();
  [[nodiscard]] std::set<std::size_t> disturbed() const;
  [[nodiscard]] Shapes of_pieces(const Shapes& among, const std::set<std::size_t>& pieces) const;
  [[nodiscard]] std::size_t piece(const Network& n, const Shape& s, Pt at) const;
  [[nodiscard]] Spot spot(const Shape& s, Pt at) const;
  [[nodiscard]] bool has_room(const Shape& disc, const Shape& track) const;
  [[nodiscard]] bool has_room(const Shape& line, const Shape& from, const Shape& to) const;
  [[nodiscard]] bool clear_of_faults(const Shape& shape) const;

  const RandomBoard& b_;
  Rng& rng_;
  Shapes shapes_, tracks_;
  std::vector<Fault> faults_;
};

Spot Drawer::spot(const Shape& s, Pt at) const {
  if (s.edge == kNone) return {s.node, kNone, 0};
  const Pt d = s.b - s.a, e = at - s.a;
  const double t = (d.x * e.x + d.y * e.y) / (d.x * d.x + d.y * d.y);
  return {kNone, s.edge, std::clamp(t, 0.0, 1.0)};
}

// The disc may nibble at what a spoke ends in, at nothing else.
bool Drawer::has_room(const Shape& hole, const Shape& track) const {
  for (const std::size_t k : shapes_) {
    const Shape& s = b_.shapes[k];
    if (&s == &track || s.layer != hole.layer) continue;
    const Edge& e = b_.edges[track.edge];
    if (e.spoke && (s.node == e.a || s.node == e.b)) continue;
    if (closest(hole, s).distance < kRoom) return false;
  }
  return true;
}

bool Drawer::has_room(const Shape& line, const Shape& from, const Shape& to) const {
  for (const std::size_t k : shapes_) {
    const Shape& s = b_.shapes[k];
    if (&s == &from || &s == &to || s.layer != line.layer) continue;
    if (closest(line, s).distance >= kRoom) continue;
    // Near its ends other copper of the same may lie, where a track meets its pad.
    const Network drawn(b_, {});
    const std::size_t p = piece(drawn, s, s.a);
    if (p != piece(drawn, from, from.a) && p != piece(drawn, to, to.a)) return false;
    if (s.kind != Shape::Kind::stroke || s.edge == kNone) return false;
    const Edge& e = b_.edges[s.edge];
    const auto meets = [&](const Shape& end) {
      if (end.edge == kNone) return e.a == end.node || e.b == end.node;
      const Edge& f = b_.edges[end.edge];
      return e.a == f.a || e.a == f.b || e.b == f.a || e.b == f.b;
    };
    if (!meets(from) && !meets(to)) return false;
  }
  for (const Slot& s : b_.slots) {
    if (closest(line, stroke(line.layer, s.from, s.to, s.width)).distance < kRoom) return false;
  }
  return true;
}

bool Drawer::clear_of_faults(const Shape& shape) const {
  return std::ranges::none_of(faults_, [&](const Fault& f) {
    if (f.kind == Fault::Kind::no_join || f.layer != shape.layer) return false;
    const Shape there = f.kind == Fault::Kind::open
                            ? disc(f.layer, f.from_place, f.size)
                            : stroke(f.layer, f.from_place, f.to_place, f.size);
    return closest(shape, there).distance < 3 * kRoom;
  });
}

std::optional<Fault> Drawer::open(const Shapes& among) {
  for (int tries = 0; tries < 60 && !among.empty(); ++tries) {
    const Shape& track = b_.shapes[rng_.pick(among)];
    if (track.edge == kNone) continue;
    Fault f;
    f.kind = Fault::Kind::open;
    f.layer = track.layer;
    f.size = track.width + 0.1;
    double t = rng_.real(0.02, 0.98);
    if (b_.edges[track.edge].spoke) {  // half way between the ring and the pour
      const double ring = b_.holes[b_.nodes[b_.edges[track.edge].a].hole].ring / 2;
      t = (ring + 0.15) / length(track.b - track.a);
    }
    f.from_place = track.a + t * (track.b - track.a);
    f.at = {kNone, track.edge, t};
    const Shape hole = disc(f.layer, f.from_place, f.size);
    if (has_room(hole, track) && clear_of_faults(hole)) return f;
  }
  return std::nullopt;
}

std::optional<Fault> Drawer::bridge(const Shapes& among) {
  const Network drawn(b_, {});
  const bool within = rng_.chance(0.1);  // also where it does no harm
  for (int tries = 0; tries < 150 && !among.empty(); ++tries) {
    const Shape& from = b_.shapes[rng_.pick(among)];
    const Shape& to = b_.shapes[rng_.pick(shapes_)];
    if (&from == &to || from.layer != to.layer) continue;
    if (!within && piece(drawn, from, from.a) == piece(drawn, to, to.a)) continue;
    const Closest c = closest(from, to);
    if (c.distance < 0.1 || c.distance > kWindow - 0.02) continue;
    const Pt way = (1 / c.distance) * (c.on_second - c.on_first);
    Fault f;
    f.kind = Fault::Kind::bridge;
    f.layer = from.layer;
    f.size = 0.1;
    f.from_place = c.on_first - kRoom * way;
    f.to_place = c.on_second + kRoom * way;
    f.at = spot(from, c.on_first);
    f.to = spot(to, c.on_second);
    const Shape line = stroke(f.layer, f.from_place, f.to_place, f.size);
    if (has_room(line, from, to) && clear_of_faults(line)) return f;
  }
  return std::nullopt;
}

std::optional<Fault> Drawer::no_join(const std::vector<std::size_t>& among) {
  std::vector<std::size_t> left;
  for (const std::size_t h : among) {
    const bool used = std::ranges::any_of(faults_, [h](const Fault& f) { return f.hole == h; });
    if (b_.holes[h].conducts && !used) left.push_back(h);
  }
  if (left.empty()) return std::nullopt;
  Fault f;
  f.kind = Fault::Kind::no_join;
  f.hole = rng_.pick(left);
  f.from_place = b_.holes[f.hole].at;
  if (rng_.chance(0.4)) f.side = rng_.below(2);
  return f;
}

bool Drawer::add(std::optional<Fault> f) {
  if (f) faults_.push_back(*f);
  return f.has_value();
}

bool Drawer::add_any(const Shapes& tracks, const Shapes& copper, bool joins) {
  std::vector<std::size_t> holes;
  for (std::size_t h = 0; h < b_.holes.size(); ++h) holes.push_back(h);
  const double r = rng_.real(0, 1);
  if (joins && r < 0.25 && add(no_join(holes))) return true;
  if (r < 0.6 && add(open(tracks))) return true;
  return add(bridge(copper)) || add(open(tracks));
}

// All joins of one set of parallel ones: those between the same copper above and below.
void Drawer::all_parallel() {
  RandomBoard without = b_;
  for (Hole& h : without.holes) h.conducts = false;
  const Network layers(without, {});
  const std::size_t one = faults_.back().hole;
  const auto same = [&](std::size_t h, std::size_t side) {
    return layers.piece_of_node(b_.holes[h].rings[side]) ==
           layers.piece_of_node(b_.holes[one].rings[side]);
  };
  for (std::size_t h = 0; h < b_.holes.size(); ++h) {
    if (h == one || !same(h, 0) || !same(h, 1)) continue;
    if (add(no_join({h})) && rng_.chance(0.5)) faults_.back().side = kNone;
  }
}

// The pieces that the faults so far parted from each other, or joined.
std::set<std::size_t> Drawer::disturbed() const {
  const Network right(b_, {}), real(b_, faults_);
  std::set<std::size_t> out;
  const auto look = [&](const Spot& s) {
    const std::size_t before = right.piece(s);
    for (std::size_t n = 0; n < b_.nodes.size(); ++n) {
      if (right.piece_of_node(n) == before) out.insert(real.piece_of_node(n));
    }
  };
  for (const Fault& f : faults_) {
    if (f.kind == Fault::Kind::no_join) {
      for (const std::size_t r : b_.holes[f.hole].rings) look({r, kNone, 0});
    } else {
      look(f.at);
      if (f.kind == Fault::Kind::bridge) look(f.to);
    }
  }
  return out;
}

std::size_t Drawer::piece(const Network& n, const Shape& s, Pt at) const {
  return n.piece(spot(s, at));
}

Drawer::Shapes Drawer::of_pieces(const Shapes& among, const std::set<std::size_t>& pieces) const {
  const Network real(b_, faults_);
  Shapes out;
  for (const std::size_t k : among) {
    const Shape& s = b_.shapes[k];
    if (pieces.contains(piece(real, s, s.a)) || pieces.contains(piece(real, s, s.b)))
      out.push_back(k);
  }
  return out;
}

std::vector<Fault> Drawer::draw(std::size_t n) {
  const bool linked = rng_.chance(0.5);
  if (n == 0 || !add_any(tracks_, shapes_, true)) return faults_;
  if (linked && n > 1 && faults_[0].kind == Fault::Kind::no_join && rng_.chance(0.7)) {
    all_parallel();
    return faults_;
  }
  while (faults_.size() < n) {
    const std::set<std::size_t> pieces = linked ? disturbed() : std::set<std::size_t>{};
    const bool added = linked
                           ? add_any(of_pieces(tracks_, pieces), of_pieces(shapes_, pieces), false)
                           : add_any(tracks_, shapes_, true);
    if (!added) break;
  }
  return faults_;
}

const char* side_name(std::size_t layer) { return layer == 0 ? "top" : "bottom"; }

}  // namespace

std::vector<Fault> draw_faults(const RandomBoard& board, Rng& rng, std::size_t n) {
  return Drawer(board, rng).draw(n);
}

std::vector<Fault> faults_of(const RandomBoard& board, std::uint64_t set) {
  Rng rng((board.seed ^ 0x5bd1e995U) + (set << 32U));
  const bool harmless = rng.chance(0.2);
  std::vector<Fault> faults = draw_faults(board, rng, 1 + rng.below(3));
  for (int tries = 0; harmless && tries < 50; ++tries) {
    if (truth_of(board, faults).truth == Truth::good) break;
    faults = draw_faults(board, rng, 1 + rng.below(3));
  }
  return faults;
}

std::vector<Blot> blots_of(const std::vector<Fault>& faults) {
  std::vector<Blot> out;
  for (const Fault& f : faults) {
    if (f.kind == Fault::Kind::open) out.push_back({disc(f.layer, f.from_place, f.size), false});
    if (f.kind == Fault::Kind::bridge)
      out.push_back({stroke(f.layer, f.from_place, f.to_place, f.size), true});
  }
  return out;
}

std::string in_words(const RandomBoard& b, const Fault& f) {
  const auto net = [&](const Spot& s) -> std::string {
    const std::size_t n = b.nodes[s.edge == kNone ? s.node : b.edges[s.edge].a].net;
    return n == kNone ? "no net" : b.nets[n];
  };
  if (f.kind == Fault::Kind::open)
    return fmt::format("open of {} at {:.3f},{:.3f} {}", net(f.at), f.from_place.x, f.from_place.y,
                       side_name(f.layer));
  if (f.kind == Fault::Kind::bridge)
    return fmt::format("bridge {} to {} at {:.3f},{:.3f} {}", net(f.at), net(f.to), f.from_place.x,
                       f.from_place.y, side_name(f.layer));
  const Hole& h = b.holes[f.hole];
  return fmt::format("no join of {} at {:.3f},{:.3f} {}", b.nets[h.net], h.at.x, h.at.y,
                     f.side == kNone ? "at all" : side_name(f.side));
}

std::string scenario_of(const RandomBoard& board, const std::vector<Fault>& faults) {
  std::string out = fmt::format("isthmus: 1\nboard: board.yaml\nchannels: {}\nseed: {}\n",
                                board.channels, board.seed);
  out += "clock: virtual\n";
  if (!faults.empty()) out += "defects:\n";
  for (const Fault& f : faults) {
    const std::string at = fmt::format("[{:.4f}, {:.4f}]", f.from_place.x, f.from_place.y);
    if (f.kind == Fault::Kind::open)
      out += fmt::format("  - {{kind: open, at: {}, side: {}, diameter: {:.3f}}}\n", at,
                         side_name(f.layer), f.size);
    else if (f.kind == Fault::Kind::bridge)
      out += fmt::format(
          "  - {{kind: bridge, from: {}, to: [{:.4f}, {:.4f}], side: {}, width: {:.3f}}}\n", at,
          f.to_place.x, f.to_place.y, side_name(f.layer), f.size);
    else
      out += fmt::format("  - {{kind: no-join, at: {}{}}}\n", at,
                         f.side == kNone ? "" : fmt::format(", side: {}", side_name(f.side)));
  }
  return out;
}

}  // namespace isthmus::random_boards
