// SPDX-License-Identifier: Apache-2.0
// Potentials between places that become known one by one: a needle lands where nobody foresaw.
#pragma once

#include <map>
#include <memory>
#include <vector>

#include "hostsim/network/network.hpp"

namespace isthmus::hostsim {

class Solved {
 public:
  // Borrows the network for its lifetime.
  explicit Solved(const Network& network);
  ~Solved();
  Solved(const Solved&) = delete;
  Solved& operator=(const Solved&) = delete;

  // As Network::transfer. Cost: one factorization of the conductor, kept; a solve for each terminal
  // that was not asked for before.
  std::vector<double> transfer(int conductor, const std::vector<Node>& terminals);

 private:
  class Factored;
  const Network& network_;
  std::map<int, std::unique_ptr<Factored>> factored_;
};

}  // namespace isthmus::hostsim
