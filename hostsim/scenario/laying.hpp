// SPDX-License-Identifier: Apache-2.0
// From nodes that are touched to the circuit seen by the probes; the same for every kind of board.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "hostsim/network/network.hpp"
#include "hostsim/random.hpp"
#include "hostsim/scenario/laid.hpp"
#include "hostsim/scenario/scenario.hpp"
#include "isthmus/formats/fixture_file.hpp"

namespace isthmus::hostsim {

struct NodeLeak {
  Node a{}, b{};
  double ohm{}, exponent{1}, drift_per_s{0};
};
struct NodeBattery {
  Node plus{}, minus{};
  double volts{};
};

// The board as a resistor network, with what is not a resistor beside it.
struct BoardGraph {
  Network network;
  std::vector<NodeLeak> leaks;
  std::vector<NodeBattery> batteries;
  std::vector<double> farad;  // per conductor
};

class Terminals;
// Adds the board's own leaks and batteries.
void hang_on(const BoardGraph& graph, Terminals& terminals, Laid& laid);

// The node each channel touches; channels that touch nothing are absent.
using Touched = std::map<formats::Channel, Node>;

// Draws a contact for each touch and reduces the conductors to the touched nodes.
Laid lay_on(BoardGraph& graph, const Touched& touched, const ContactDraw& contact, int channels,
            Random& random);

// The placement of that name, or a Problem (SIM-020) that lists the names there are.
Result<const formats::PlacementEntry*> find_placement(const formats::FixtureFile& fixture,
                                                      const std::string& name);

// A channel beyond the scenario's is a Problem (SIM-021).
Result<Done> check_channels(const formats::FixtureFile& fixture, int channels);

}  // namespace isthmus::hostsim
