// SPDX-License-Identifier: Apache-2.0
// Places of copper that no record names, as they are found one after the other.
#pragma once

#include <algorithm>
#include <vector>

#include "expect/points/points.hpp"
#include "expect/points/unlisted/drawn.hpp"

namespace isthmus::expect {

// Whether some side is in both.
inline bool meet(Side a, Side b) { return a == Side::both || b == Side::both || a == b; }

class Finds {
 public:
  Finds(const Ground& ground, const Holes& holes, const std::vector<Pad>& known);

  // Unless it lies on no copper, or on copper of a pad that is there already.
  void take(Pad pad);
  // A place that no pad lies round, on an outer layer.
  void take_bare(std::size_t layer, Position at, Nanometres size);

  [[nodiscard]] bool padded(IslandId island) const { return padded_[index(island)]; }
  [[nodiscard]] bool outer(std::size_t layer) const {
    return (layer == 0 || layer == ground_.last()) && ground_.counts(layer);
  }
  // A via that is joined serves its copper: it is no pad, and stands for none.
  [[nodiscard]] bool stands(const Pad& pad) const;
  // Whether a pad on this island, known or found, is such a one.
  template <class Test>
  [[nodiscard]] bool any_on(IslandId island, std::size_t layer, Test test) const {
    const auto suits = [&](const Pad& pad) {
      return layer < pad.islands.size() && pad.islands[layer] == island && test(pad);
    };
    return std::ranges::any_of(known_, suits) || std::ranges::any_of(placed_, suits);
  }

  template <class Take>
  void for_each_on(IslandId island, std::size_t layer, Take take) const {
    (void)any_on(island, layer, [&](const Pad& pad) {
      take(pad);
      return false;
    });
  }
  // What is drawn as this pad, and the radius of the copper round its place where nothing is.
  struct Body {
    Position at;
    std::vector<const formats::Object*> objects;
    double radius{};
  };
  [[nodiscard]] Body body_of(const Pad& pad, std::size_t layer) const;
  // Whether a shape is, or holds, copper round the pad's place.
  [[nodiscard]] bool meets(const Pad& pad, std::size_t layer, const Polygon& shape) const;

  [[nodiscard]] const Ground& ground() const { return ground_; }
  [[nodiscard]] const Holes& holes() const { return holes_; }
  std::vector<Pad> found;

 private:
  void note(const Pad& pad);
  [[nodiscard]] bool same_place(const Pad& a, const Pad& b) const;
  [[nodiscard]] bool one_pad(const Pad& a, const Pad& b) const;
  // As far as a lead spans, at most.
  [[nodiscard]] double copper_round(const Pad& pad, std::size_t layer) const;
  [[nodiscard]] bool at_end_of_slot(const Pad& pad) const;
  [[nodiscard]] bool named_by_sides(const Pad& pad) const;

  const Ground& ground_;
  const Holes& holes_;
  const std::vector<Pad>& known_;
  std::vector<DrawnPads> drawn_;  // by layer
  std::vector<Pad> placed_;       // what was found, with its islands
  std::vector<bool> padded_;      // by island
};

// Pads drawn as an area or as short broad strokes in which a narrower track ends, on copper of
// known nets.
void find_drawn_pads(Finds& finds);
// Copper laid bare by an opening of the mask that no pad lies in.
void find_bare_copper(Finds& finds);
// Copper that leads away from every pad, to where it ends: needs the conductors.
void find_dead_ends(Finds& finds);
// Copper wider than a track that no pad lies on, and copper that only joins lie on beside another
// way: needs the conductors.
void find_pours(Finds& finds);
void find_second_ways(Finds& finds);

}  // namespace isthmus::expect
