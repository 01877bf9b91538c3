// SPDX-License-Identifier: Apache-2.0
#include <random>

#include "tests/expect/faults/catalogue.hpp"
#include "tests/expect/faults/sketch.hpp"

namespace isthmus::test {
namespace {

// Not std::uniform_int_distribution: its numbers differ between libraries.
class Dice {
 public:
  explicit Dice(std::uint32_t seed) : engine_(seed) {}
  std::uint32_t below(std::size_t n) { return static_cast<std::uint32_t>(engine_() % n); }
  bool once_in(std::size_t n) { return below(n) == 0; }

 private:
  std::mt19937 engine_;
};

using Nodes = std::vector<Sketch::Node>;

Nodes random_piece(Sketch& s, Dice& dice) {
  const auto piece = s.piece();
  const bool bare = dice.once_in(6);  // copper without a feature
  Nodes nodes;
  const std::size_t size = 3 + dice.below(5);
  for (std::size_t i = 0; i < size; ++i) {
    const bool feature = !bare && (i == 0 || dice.below(5) < 3);
    nodes.push_back(feature ? s.pad(piece) : s.spot(piece));
    if (i == 0) continue;
    const auto to = nodes[dice.below(i)];
    dice.once_in(6) ? s.join(to, nodes.back()) : s.track(to, nodes.back());
  }
  for (std::size_t extra = dice.below(3); extra > 0; --extra) {
    const auto a = nodes[dice.below(nodes.size())], b = nodes[dice.below(nodes.size())];
    if (a == b) continue;
    dice.once_in(3) ? s.join(a, b) : s.track(a, b);
  }
  return nodes;
}

}  // namespace

Case random_case(std::uint32_t seed) {
  Dice dice(seed);
  Sketch s;
  std::vector<Nodes> pieces;
  const std::size_t count = 2 + dice.below(3);
  for (std::size_t i = 0; i < count; ++i) pieces.push_back(random_piece(s, dice));
  for (std::size_t left = 3 + dice.below(5); left > 0; --left) {
    const Nodes &p = pieces[dice.below(count)], &q = pieces[dice.below(count)];
    const auto a = p[dice.below(p.size())], b = q[dice.below(q.size())];
    if (a != b) s.face(a, b);
  }
  const bool tied = dice.once_in(5), one_net = count > 2 && dice.once_in(5);
  if (tied) s.tied(0, 1);
  if (one_net) s.one_net(1, 2);
  if (tied && one_net) s.tied(0, 2);
  Case out{"random", "seed " + std::to_string(seed), s.wiring(), {}, {}};
  const std::size_t one_left_out_in = dice.once_in(3) ? 1000 : 2 + dice.below(5);
  for (const auto n : out.features()) {
    if (!dice.once_in(one_left_out_in)) out.touched.push_back(n);
  }
  const auto dead = dead_nodes(out.wiring);
  for (const auto n : out.everything()) {
    if (!out.wiring.nodes[n].feature && out.wiring.nodes[n].place && !dead[n] && dice.once_in(12))
      out.touched.push_back(n);
  }
  return out;
}

}  // namespace isthmus::test
