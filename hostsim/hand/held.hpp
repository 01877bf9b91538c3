// SPDX-License-Identifier: Apache-2.0
// From the copper that clips and needles stand on to the circuit seen by the adapter.
#pragma once

#include <vector>

#include "hostsim/network/solved.hpp"
#include "hostsim/scenario/laying.hpp"

namespace isthmus::hostsim {

struct Contact {
  Node node{};
  double ohm{};
};

// One tip: on nothing, on one piece of copper, or on several that it then joins.
struct HeldTip {
  formats::Channel channel{};
  std::vector<Contact> contacts;
  double hum_v{0}, farad{0};  // of the hand
};

// Fingers between a tip and other copper.
struct Skin {
  formats::Channel channel{};
  Node node{};
  double ohm{};
};

// Skin of a tip that touches nothing is left out.
Laid lay_held(const BoardGraph& graph, Solved& solved, const std::vector<HeldTip>& tips,
              const std::vector<Skin>& skins, int channels);

}  // namespace isthmus::hostsim
