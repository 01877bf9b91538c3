// SPDX-License-Identifier: Apache-2.0
// Copper of known nets that no pad lies beyond: ends of tracks, whatever is drawn there, and rings
// and hatched pours on a neck.
#include <algorithm>
#include <limits>
#include <numeric>
#include <optional>

#include "expect/faults/pads.hpp"
#include "expect/points/unlisted/block_tree.hpp"
#include "expect/points/unlisted/finds.hpp"
#include "expect/sight.hpp"
#include "isthmus/expect/fault_list.hpp"

namespace isthmus::expect {
namespace {

using formats::Object;
using formats::ObjectKind;

constexpr Nanometres kLeastBlob = 400_um;  // of copper that nothing is known of
// Thinner copper is no pad, but a sliver at the rims of things drawn over each other.
constexpr Nanometres kLeastEnd = 100_um;

// Where a chain of single nodes leads from a dead end towards the pads of its copper.
struct Chain {
  std::size_t foot{};  // node where it meets a fork, a ring, or the block of a pad
  Nanometres narrowest{std::numeric_limits<std::int64_t>::max()};
  bool poured{false};  // on the way to the first pad lies copper as wide as a pour
};

// What hangs on no pad but through one branch, from the outside in.
struct Hanging {
  const BlockTree& tree;
  std::vector<bool> padded;  // by block
  std::vector<Finds::Body> pads;
  std::vector<std::size_t> degree;  // by block, without what was cut off as a nub
};

class DeadEnds {
 public:
  DeadEnds(Finds& finds, std::size_t layer)
      : finds_(finds),
        layer_(layer),
        ground_(finds.ground()),
        graph_(*finds.ground().conductors),
        drawn_(ground_.design.copper[layer]) {
    const auto& openings = layer == 0 ? ground_.design.mask_top : ground_.design.mask_bottom;
    if (openings) openings_.emplace(*openings);
  }

  void run() {
    for (std::size_t i = 0; i < ground_.copper.islands.size(); ++i) {
      const auto island = static_cast<IslandId>(i);
      if (index(ground_.copper.islands[i].layer) != layer_) continue;
      if (finds_.padded(island)) {
        look(island);
      } else {
        look_at_unknown(island);
      }
    }
  }

 private:
  void look(IslandId island) {
    std::vector<Finds::Body> pads;
    std::vector<std::size_t> feet;
    finds_.for_each_on(island, layer_, [&](const Pad& pad) {
      pads.push_back(finds_.body_of(pad, layer_));
      feet.push_back(nearest_in_sight(ground_.copper, graph_, island, pad.at));
    });
    const BlockTree tree(graph_, island, feet.front());
    Hanging on{tree, std::vector<bool>(tree.size(), false), std::move(pads), {}};
    for (const std::size_t foot : feet) on.padded[tree.of(foot)] = true;
    for (const std::size_t n : ends_of(on))  // in the end: that makes them pads
      finds_.take_bare(layer_, graph_.nodes[n].at, size_of(n));
  }

  std::vector<std::size_t> ends_of(Hanging& on) const {
    std::vector<std::size_t> ends, places;
    for (std::size_t k = 0; k < on.tree.size(); ++k) {
      on.degree.push_back(on.tree.degree(k));
      if (on.tree.top(k) && on.degree[k] == 1 && !on.padded[k]) ends.push_back(k);
    }
    for (std::size_t i = 0; i < ends.size(); ++i) look(on, ends[i], ends, places);
    return places;
  }

  // Copper without any pad: bodies at both ends of a slimmer way are two, and no letter.
  void look_at_unknown(IslandId island) {
    const auto [first, last] = graph_.of_island[index(island)];
    std::vector<std::size_t> nodes(last - first);
    std::iota(nodes.begin(), nodes.end(), first);
    const std::size_t root = middle(nodes);
    if (graph_.nodes[root].width < kLeastBlob) return;
    const BlockTree tree(graph_, island, root);
    Hanging on{tree, std::vector<bool>(tree.size(), false), {}, {}};
    on.padded[tree.of(root)] = true;
    std::vector<std::size_t> places = ends_of(on);
    if (places.empty()) return;
    places.push_back(root);
    for (const std::size_t n : places) finds_.take_bare(layer_, graph_.nodes[n].at, size_of(n));
  }

  void look(Hanging& on, std::size_t block, std::vector<std::size_t>& ends,
            std::vector<std::size_t>& places) const {
    if (of_pad(on, block)) return;
    const std::size_t place = middle(on.tree.members(block));
    const Chain chain = chain_from(on, block);
    auto foot = stands_on(on, block, place, chain);
    if (!foot && is_stub(on, block, place, chain)) foot = fork_above(on.tree, block, chain);
    if (foot) {
      // Without it, what it stood on may be an end.
      if (--on.degree[*foot] == 1 && !on.padded[*foot]) ends.push_back(*foot);
    } else if (is_place(on, block, place, chain)) {
      places.push_back(place);
    }
  }

  // A place of a pour is all of it, and no pad of that size.
  [[nodiscard]] Nanometres size_of(std::size_t node) const {
    const Nanometres width = graph_.nodes[node].width;
    return width > kTrackWidth ? Nanometres{0} : width;
  }

  // The widest node, of such the nearest to the middle of all.
  [[nodiscard]] std::size_t middle(const std::vector<std::size_t>& nodes) const {
    Box box;
    for (const std::size_t n : nodes) box.add(graph_.nodes[n].at);
    return *std::ranges::min_element(nodes, {}, [&](std::size_t n) {
      return std::pair(-graph_.nodes[n].width.value, distance_nm(graph_.nodes[n].at, box.centre()));
    });
  }

  [[nodiscard]] Chain chain_from(const Hanging& on, std::size_t block) const {
    const BlockTree& tree = on.tree;
    Chain chain;
    bool plain = true;
    for (std::size_t k = block; !on.padded[k]; k = tree.above(k)) {
      if (k != block) {
        plain = plain && on.degree[k] == 2 && tree.members(k).size() == 1;
        chain.poured = chain.poured || std::ranges::any_of(tree.members(k), [&](std::size_t n) {
                         return graph_.nodes[n].width > kTrackWidth;
                       });
      }
      if (!plain) continue;
      chain.foot = tree.node_above(k);
      chain.narrowest = std::min(chain.narrowest, graph_.branches[tree.branch_above(k)].width);
    }
    return chain;
  }

  [[nodiscard]] bool of_pad(const Hanging& on, std::size_t block) const {
    return std::ranges::any_of(on.tree.members(block), [&](std::size_t n) {
      return std::ranges::any_of(on.pads,
                                 [&](const auto& pad) { return meet(pad, graph_.nodes[n]); });
    });
  }

  // The block that it is a nub of: no wider than that copper, and by no more out of it than it is
  // wide. Other nubs may have been cut off there before.
  [[nodiscard]] std::optional<std::size_t> stands_on(const Hanging& on, std::size_t block,
                                                     std::size_t place, const Chain& chain) const {
    if (on.tree.members(block).size() > 1) return std::nullopt;
    const Nanometres width = graph_.nodes[place].width;
    const std::size_t last = on.tree.of(chain.foot);
    for (std::size_t k = block; k != last;) {
      const copper::Node& foot = graph_.nodes[on.tree.node_above(k)];
      k = on.tree.above(k);
      const bool wider = k == last
                             ? foot.width >= width
                             : on.tree.degree(k) > 2 && 4 * foot.width.value >= 5 * width.value;
      if (wider && distance_nm(graph_.nodes[place].at, foot.at) <=
                       static_cast<double>((width + foot.width).value) / 2)
        return k;
    }
    return std::nullopt;
  }

  // Where it meets other copper, though all else there may have been cut off.
  [[nodiscard]] static std::size_t fork_above(const BlockTree& tree, std::size_t block,
                                              const Chain& chain) {
    const std::size_t last = tree.of(chain.foot);
    std::size_t k = tree.above(block);
    while (k != last && tree.degree(k) == 2) k = tree.above(k);
    return k;
  }

  // A track that just ends, or a sliver.
  [[nodiscard]] bool is_stub(const Hanging& on, std::size_t block, std::size_t place,
                             const Chain& chain) const {
    const copper::Node& end = graph_.nodes[place];
    return on.tree.members(block).size() == 1 && !bared(end.at) &&
           (end.width < kLeastEnd || (!broader(end.width, chain.narrowest) && is_track(end)));
  }

  // Between their clearances pours have ends of many shapes. What is drawn for something is wider than
  // the way to it, and not painted as the pour is.
  [[nodiscard]] bool is_place(const Hanging& on, std::size_t block, std::size_t place,
                              const Chain& chain) const {
    const copper::Node &end = graph_.nodes[place], &foot = graph_.nodes[chain.foot];
    if (on.pads.empty())
      return end.width >= kLeastBlob && broader(end.width, chain.narrowest) && !chain.poured;
    if (on.tree.members(block).size() > 1 || bared(end.at)) return true;
    if (chain.poured || painted(foot))
      return (half_again(end.width, chain.narrowest) && !painted(end)) || is_small_area(end);
    return half_again(end.width, chain.narrowest) || is_small_area(end) || !poured(end, foot);
  }

  static bool broader(Nanometres end, Nanometres way) { return end.value * 4 > way.value * 5; }
  static bool half_again(Nanometres end, Nanometres way) { return end.value * 2 >= way.value * 3; }

  // Whether the circle of copper round the node meets the pad, with copper straight to its place:
  // then it is that pad's own.
  [[nodiscard]] bool meet(const Finds::Body& pad, const copper::Node& node) const {
    const double reach = static_cast<double>(node.width.value) / 2;
    if (pad.objects.empty()) return distance_nm(pad.at, node.at) <= reach + pad.radius;
    const auto span = static_cast<double>(kPadSpan.value);  // of a lead
    return std::ranges::any_of(pad.objects,
                               [&](const Object* o) {
                                 return distance_to(*o, node.at) <= reach &&
                                        (o->kind == ObjectKind::flash ||
                                         distance_nm(pad.at, node.at) <= span + reach);
                               }) &&
           sees(ground_.copper.island(node.island), pad.at, node.at);
  }

  [[nodiscard]] bool bared(Position p) const {
    return openings_ && openings_->any_over(p, [](const Object&) { return true; });
  }

  // Whether an area smaller than a pour is drawn there that is no slimmer than the copper, and at most
  // twice as long as wide.
  [[nodiscard]] bool is_small_area(const copper::Node& node) const {
    return drawn_.any_over(node.at, [&](const Object& o) {
      return o.kind == ObjectKind::region && extent_of(o) < kLeastArea &&
             length_of(o) <= 2 * extent_of(o) && !broader(node.width, extent_of(o));
    });
  }

  static Nanometres length_of(const Object& o) {
    Box box;
    for (const Polygon& p : o.shape) box.add(box_of(p.outer));
    return {std::max(box.hi.x - box.lo.x, box.hi.y - box.lo.y)};
  }

  [[nodiscard]] const Object* smallest(Position p) const {
    const Object* best = nullptr;
    for (const Object* o : drawn_.over(p)) {
      if (!best || extent_of(*o) < extent_of(*best)) best = o;
    }
    return best;
  }

  // Whether the smallest drawn thing there is an area whose copper is as wide as a pour somewhere,
  // or twice as wide as the end where that leaves it.
  [[nodiscard]] bool poured(const copper::Node& end, const copper::Node& foot) const {
    const Object* best = smallest(end.at);
    if (!best || best->kind != ObjectKind::region || extent_of(*best) < kLeastArea) return false;
    if (foot.width > 2 * end.width) return true;
    const auto [first, last] = graph_.of_island[index(end.island)];
    for (std::size_t n = first; n < last; ++n) {
      if (graph_.nodes[n].width > kTrackWidth && holds(*best, graph_.nodes[n].at)) return true;
    }
    return false;
  }

  // Whether nothing but strokes of its own width, and what rounds them, is drawn there.
  [[nodiscard]] bool is_track(const copper::Node& node) const {
    bool stroked = false;
    for (const Object* o : drawn_.over(node.at)) {
      const Nanometres extent = extent_of(*o);
      if (o->kind == ObjectKind::region || broader(extent, node.width)) return false;
      stroked = stroked || (o->kind == ObjectKind::stroke && !broader(node.width, extent));
    }
    return stroked;
  }

  // Whether strokes thinner than half the copper there fill it.
  [[nodiscard]] bool painted(const copper::Node& node) const {
    return !drawn_.any_over(node.at,
                            [&](const Object& o) { return 2 * extent_of(o) >= node.width; });
  }

  Finds& finds_;
  std::size_t layer_;
  const Ground& ground_;
  const copper::ConductorGraph& graph_;
  Drawn drawn_;
  std::optional<Drawn> openings_;
};

}  // namespace

void find_dead_ends(Finds& finds) {
  if (!finds.ground().conductors) return;
  for (std::size_t l = 0; l < finds.ground().layers(); ++l) {
    if (finds.outer(l)) DeadEnds(finds, l).run();
  }
}

}  // namespace isthmus::expect
