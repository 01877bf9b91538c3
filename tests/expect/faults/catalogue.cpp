// SPDX-License-Identifier: Apache-2.0
#include "tests/expect/faults/catalogue.hpp"

#include <numeric>

#include "tests/expect/faults/sketch.hpp"

namespace isthmus::test {
namespace {

using Node = Sketch::Node;
using Piece = Sketch::Piece;
using Nodes = std::vector<Node>;

// A net of two pads and a track; what faces it faces the first pad.
struct Neighbour {
  Piece piece;
  Node near, far;
};

Neighbour neighbour(Sketch& s) {
  const Piece p = s.piece();
  const Node near = s.pad(p), far = s.pad(p);
  s.track(near, far);
  return {p, near, far};
}

Nodes both(const Neighbour& n) { return {n.near, n.far}; }

Nodes operator+(Nodes a, const Nodes& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}

// A place left out, and the fewest faults that then hide.
struct LeftOut {
  Node place;
  std::size_t hide;
};

// Every place touched, and again with each of some left out.
void with_each_left_out(std::vector<Case>& out, const Case& all, const std::vector<LeftOut>& left) {
  out.push_back(all);
  out.back().name += ", all touched";
  for (const auto& [place, hide] : left) {
    Case c = all;
    c.name += ", without " + std::to_string(place);
    c.fewest.hide = c.fewest.in_window = hide;
    std::erase(c.touched, place);
    out.push_back(std::move(c));
  }
}

}  // namespace

std::vector<Node> Case::features() const {
  Nodes out;
  for (Node n = 0; n < wiring.nodes.size(); ++n) {
    if (wiring.nodes[n].feature) out.push_back(n);
  }
  return out;
}

std::vector<Node> Case::everything() const {
  Nodes out(wiring.nodes.size());
  std::iota(out.begin(), out.end(), Node{0});
  return out;
}

// A leaf left out is lost by the break of its track: 1.
std::vector<Case> trees() {
  std::vector<Case> out;
  for (int leaves = 3; leaves <= 5; ++leaves) {
    Sketch s;
    const Piece a = s.piece();
    const Node fork = s.spot(a);
    Nodes pads, middles;
    for (int i = 0; i < leaves; ++i) {
      middles.push_back(s.spot(a));
      pads.push_back(s.pad(a));
      s.stretch({fork, middles.back(), pads.back()});
    }
    const Neighbour b = neighbour(s), c = neighbour(s);
    s.face(pads[0], b.near).face(middles[1], b.far).face(middles[1], c.near).face(pads[2], c.far);
    with_each_left_out(
        out,
        {"tree", "tree of " + std::to_string(leaves), s.wiring(), pads + both(b) + both(c), {}},
        {{pads[0], 1}, {pads[1], 1}, {b.near, 1}, {c.far, 1}});
  }
  return out;
}

// Cut on both sides of `middle`, and both bridges: 4, beyond the window. A place left out: its two
// ways. Facing itself, a ring can be cut twice and joined again: 3.
std::vector<Case> rings() {
  std::vector<Case> out;
  for (std::size_t places = 2; places <= 4; ++places) {
    Sketch s;
    const Piece a = s.piece();
    Nodes pads;
    for (std::size_t i = 0; i < places; ++i) pads.push_back(s.pad(a));
    const Node middle = s.spot(a);
    s.track(pads[0], middle).track(middle, pads[1]);
    for (std::size_t i = 1; i < places; ++i) s.track(pads[i], pads[(i + 1) % places]);
    const Neighbour b = neighbour(s), c = neighbour(s);
    s.face(middle, b.near).face(middle, c.near);
    const std::string name = "ring of " + std::to_string(places);
    const Nodes touched = pads + both(b) + both(c);
    with_each_left_out(out, {"ring", name, s.wiring(), touched, {0, 4, 0}},
                       {{pads[0], 2}, {pads[1], 2}, {b.near, 1}});
    s.face(pads.back(), c.far).face(pads[0], pads[1]);
    with_each_left_out(out, {"ring", name + " facing itself", s.wiring(), touched, {0, 4, 3}},
                       {{pads.back(), 2}, {c.far, 1}});
  }
  return out;
}

// A stub broken off and bridged to two nets: 3, beyond the window.
std::vector<Case> stubs() {
  std::vector<Case> out;
  for (const bool pad_at_end : {false, true}) {
    Sketch s;
    const Piece a = s.piece();
    const Node p = s.pad(a), fork = s.spot(a), q = s.pad(a);
    const Node end = pad_at_end ? s.pad(a) : s.spot(a);
    s.track(p, fork).track(fork, q).track(fork, end);
    const Neighbour b = neighbour(s), c = neighbour(s);
    s.face(end, b.near).face(end, c.near).face(q, c.far);
    if (pad_at_end) {
      with_each_left_out(
          out, {"stub", "stub with a pad", s.wiring(), Nodes{p, q, end} + both(b) + both(c), {}},
          {{end, 1}, {p, 1}, {b.near, 1}});
    } else {
      with_each_left_out(out,
                         {"stub",
                          "stub ending in nothing",
                          s.wiring(),
                          Nodes{p, q} + both(b) + both(c),
                          {0, 3, 0}},
                         {{q, 1}, {b.near, 1}, {c.far, 1}});
    }
  }
  Sketch s;  // broken off, and bridged to one net, and through an island to another: 4
  const Piece a = s.piece();
  const Node p = s.pad(a), q = s.pad(a), end = s.spot(a), island = s.spot(s.piece());
  s.track(p, q).track(q, end);
  const Neighbour b = neighbour(s), c = neighbour(s);
  s.face(end, b.near).face(end, island).face(island, c.near);
  with_each_left_out(
      out,
      {"stub", "stub beside an island", s.wiring(), Nodes{p, q} + both(b) + both(c), {0, 4, 0}},
      {{p, 1}, {c.far, 1}});
  return out;
}

// The tie broken, and its nets bridged: 2. A pad in the middle left out needs two breaks; where
// the nets face each other, the bridge makes up for it: 3.
std::vector<Case> ties() {
  std::vector<Case> out;
  for (const bool facing : {false, true}) {
    Sketch s;
    const Piece a = s.piece();  // two nets: a1 and a2, then the tie, then g1 and g2
    const Node a1 = s.pad(a), a2 = s.pad(a), g1 = s.pad(a), g2 = s.pad(a);
    s.track(a1, a2).track(a2, g1).track(g1, g2);
    if (facing) s.face(a1, g2).face(a2, g2);
    const Neighbour b = neighbour(s);
    s.face(a1, b.near).face(g2, b.far);
    const Fewest fewest = facing ? Fewest{0, 0, 2} : Fewest{};
    with_each_left_out(out,
                       {"tie", facing ? "tie, its nets facing" : "tie", s.wiring(),
                        Nodes{a1, a2, g1, g2} + both(b), fewest},
                       {{a1, 1}, {g1, facing ? 3u : 0u}, {g2, 1}, {b.near, 1}});
  }
  Sketch s;  // broken between its pads, and bridged at both to the tied net: 3
  const Neighbour a = neighbour(s), g = neighbour(s), b = neighbour(s);
  s.tied(a.piece, g.piece).face(a.near, g.near).face(a.far, g.far).face(a.near, b.near);
  s.face(g.near, b.far);
  with_each_left_out(
      out, {"tie", "tied nets on two pieces", s.wiring(), both(a) + both(g) + both(b), {0, 0, 3}},
      {{a.near, 1}, {g.far, 1}, {b.near, 1}});
  return out;
}

// A net broken, and bridged to the island on both sides: 3; through two islands 4.
std::vector<Case> loose_islands() {
  std::vector<Case> out;
  for (int nets = 2; nets <= 3; ++nets) {
    Sketch s;
    const Piece island = s.piece();
    const Node left = s.spot(island), right = s.spot(island);
    s.track(left, right);
    Nodes places;
    std::vector<LeftOut> some;
    for (int i = 0; i < nets; ++i) {
      const Neighbour n = neighbour(s);
      s.face(i == 0 ? left : right, n.near);
      if (i == 0) s.face(right, n.far);
      places = places + both(n);
      some.push_back({n.near, 1});
    }
    some.push_back({places.back(), 1});
    with_each_left_out(out,
                       {"loose island",
                        "island between " + std::to_string(nets) + " nets",
                        s.wiring(),
                        places,
                        {0, 0, 3}},
                       some);
  }
  Sketch s;
  const Neighbour a = neighbour(s), b = neighbour(s), c = neighbour(s);
  const Node one = s.spot(s.piece()), two = s.spot(s.piece());
  s.face(a.near, one).face(one, two).face(two, b.near).face(a.far, two).face(two, c.near);
  with_each_left_out(
      out,
      {"loose island", "chain of two islands", s.wiring(), both(a) + both(b) + both(c), {0, 0, 4}},
      {{a.near, 1}, {b.near, 1}, {c.far, 1}});
  return out;
}

// Two pads above and two below, or bare copper there, and what hangs on the joins alone. No join
// made is one event: 1. A pad below left out beside one that is read: its joins and its track.
// Bare copper that nothing reads, all joins missing and bridged to two nets: 3, beyond the window.
std::vector<Case> parallel_joins() {
  std::vector<Case> out;
  for (std::size_t joins = 1; joins <= 3; ++joins) {
    for (const bool pads_below : {true, false}) {
      Sketch s;
      const Piece a = s.piece();
      const Node top1 = s.pad(a), top2 = s.pad(a), below1 = pads_below ? s.pad(a) : s.spot(a),
                 below2 = pads_below ? s.pad(a) : s.spot(a);
      s.track(top1, top2).track(below1, below2);
      for (std::size_t i = 0; i < joins; ++i) {
        s.join(i == 0 ? top1 : top2, i == 1 ? below2 : below1);
      }
      const Neighbour b = neighbour(s), c = neighbour(s);
      s.face(top1, b.near).face(below1, c.near).face(below2, b.far);
      const Nodes top = {top1, top2}, below = {below1, below2}, rest = both(b) + both(c);
      const auto add = [&](const char* what, const Nodes& touched, Fewest fewest) {
        out.push_back({"parallel joins",
                       std::to_string(joins) + (joins == 1 ? " join" : " joins") +
                           (pads_below ? "" : " to bare copper") + what,
                       s.wiring(), touched, fewest});
      };
      const std::size_t parted = pads_below && joins > 1 ? joins : 0, bare = pads_below ? 1 : 0;
      add(", both sides touched", top + below + rest, {});
      add(", one place below touched", top + Nodes{below2} + rest, {parted, parted, 0});
      add(", top touched", top + rest, {bare, pads_below ? 1u : 3u, 0});
      add(", neighbour below left out", top + Nodes{below2} + both(b), {1, 1, 0});
    }
  }
  return out;
}

// A pour is lost by both necks: 2; a pad in it by its own track.
std::vector<Case> pours_with_two_necks() {
  std::vector<Case> out;
  for (const bool pad_in_pour : {false, true}) {
    Sketch s;
    const Piece a = s.piece();
    const Node p = s.pad(a), q = s.pad(a), pour = s.pad(a);
    s.track(p, q).track(p, pour).track(q, pour);
    const Node inner = pad_in_pour ? s.pad(a) : s.spot(a);
    s.track(pour, inner);
    const Neighbour b = neighbour(s), c = neighbour(s);
    s.face(pour, b.near).face(inner, c.near).face(p, b.far);
    const Nodes places = Nodes{p, q, pour} + both(b) + both(c);
    if (pad_in_pour) {
      with_each_left_out(
          out, {"pour with two necks", "pour with a pad", s.wiring(), places + Nodes{inner}, {}},
          {{pour, 0}, {p, 2}, {b.near, 1}, {inner, 1}});
    } else {
      with_each_left_out(out, {"pour with two necks", "pour", s.wiring(), places, {}},
                         {{pour, 2}, {p, 2}, {b.near, 1}});
    }
  }
  return out;
}

// Broken, and joined again through the other piece of the net: 3.
std::vector<Case> unjoined_nets() {
  Sketch s;
  const Neighbour top = neighbour(s), below = neighbour(s), b = neighbour(s);
  s.one_net(top.piece, below.piece).face(top.near, below.near).face(top.far, below.far);
  s.face(top.near, b.near).face(below.far, b.far);
  const std::string kind = "net that nothing joins yet", name = "two pieces of one net";
  std::vector<Case> out;
  with_each_left_out(out, {kind, name, s.wiring(), both(top) + both(below) + both(b), {0, 0, 3}},
                     {{top.near, 1}, {below.far, 1}, {b.near, 1}});
  out.push_back({kind, name + ", one left out", s.wiring(), both(top) + both(b), {1, 1, 3}});
  Sketch t;  // a stub of one piece broken off, and bridged to the other and to a third net: 3
  const Neighbour stub = neighbour(t), other = neighbour(t), c = neighbour(t);
  const Node end = t.spot(stub.piece);
  t.one_net(stub.piece, other.piece).track(stub.near, end).face(end, other.near).face(end, c.near);
  with_each_left_out(out,
                     {kind,
                      "stub between two pieces of one net",
                      t.wiring(),
                      both(stub) + both(other) + both(c),
                      {0, 3, 0}},
                     {{other.far, 1}, {c.near, 1}});
  return out;
}

// One bridge to a net, or a pad, that nothing reads: 1.
std::vector<Case> untouched_nets() {
  std::vector<Case> out;
  Sketch s;
  const Neighbour u = neighbour(s), a = neighbour(s), b = neighbour(s);
  s.face(u.near, a.near).face(u.far, b.near).face(a.far, b.far);
  const Nodes rest = both(a) + both(b);
  out.push_back({"untouched net", "untouched net between two", s.wiring(), rest, {1, 1, 0}});
  with_each_left_out(out, {"untouched net", "the same net", s.wiring(), both(u) + rest, {}},
                     {{u.near, 1}, {u.far, 1}});
  Sketch r;  // a ring, cut on both sides of a pad, and the pad bridged to the ring through the net
  const Piece ring = r.piece();
  const Node p = r.pad(ring), q = r.pad(ring);
  r.track(p, q).track(p, q);
  const Neighbour unread = neighbour(r);
  r.face(p, unread.near).face(q, unread.far);
  out.push_back({"untouched net", "untouched net beside a ring", r.wiring(), {p, q}, {1, 1, 0}});
  Sketch t;
  const Node pad = t.pad(t.piece());
  const Neighbour c = neighbour(t), d = neighbour(t);
  t.face(pad, c.near).face(pad, d.near);
  with_each_left_out(out, {"lone pad", "lone pad", t.wiring(), Nodes{pad} + both(c) + both(d), {}},
                     {{pad, 1}, {c.near, 1}});
  return out;
}

// One net faces itself: a break and a bridge, 2.
std::vector<Case> several_facings() {
  Sketch s;
  const Piece a = s.piece(), b = s.piece();
  const Node a1 = s.pad(a), fork = s.spot(a), a2 = s.pad(a), a3 = s.pad(a);
  const Node b1 = s.pad(b), bend = s.spot(b), b2 = s.pad(b);
  s.track(a1, fork).track(fork, a2).track(fork, a3).stretch({b1, bend, b2});
  s.face(a1, b1).faces({{fork, bend}, {a2, bend}}).face(a3, b2).face(a2, b2).face(a2, a3);
  const std::string kind = "several facings", name = "two nets side by side";
  std::vector<Case> out;
  with_each_left_out(out, {kind, name, s.wiring(), {a1, a2, a3, b1, b2}, {0, 0, 2}},
                     {{a1, 1}, {a2, 1}, {a3, 1}, {b1, 1}, {b2, 1}});
  out.push_back({kind, name + ", one place each", s.wiring(), {a1, b2}, {1, 1, 2}});
  return out;
}

std::vector<Case> catalogue() {
  std::vector<Case> out;
  for (const auto make : {trees, rings, stubs, ties, loose_islands, parallel_joins,
                          pours_with_two_necks, unjoined_nets, untouched_nets, several_facings}) {
    for (Case& c : make()) out.push_back(std::move(c));
  }
  return out;
}

}  // namespace isthmus::test
