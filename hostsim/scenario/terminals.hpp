// SPDX-License-Identifier: Apache-2.0
// Numbers the touched nodes of each conductor.
#pragma once

#include <algorithm>
#include <map>
#include <utility>
#include <vector>

#include "hostsim/network/network.hpp"
#include "hostsim/scenario/laid.hpp"

namespace isthmus::hostsim {

class Terminals {
 public:
  explicit Terminals(const Network& network) : network_(network) {}

  Terminal at(Node node) {
    const auto [conductor, fresh] =
        conductors_.try_emplace(network_.conductor_of(node), static_cast<int>(nodes_.size()));
    if (fresh) nodes_.emplace_back();
    std::vector<Node>& nodes = nodes_[static_cast<std::size_t>(conductor->second)];
    const auto found = std::find(nodes.begin(), nodes.end(), node);
    const auto terminal = static_cast<int>(found - nodes.begin());
    if (found == nodes.end()) nodes.push_back(node);
    return {conductor->second, terminal};
  }

  // `source` has a `transfer` as Network's.
  template <class Source>
  std::vector<Conductor> reduce(Source& source, const std::vector<double>& farad) const {
    std::vector<Conductor> reduced(nodes_.size());
    for (const auto& [conductor, number] : conductors_) {
      const std::vector<Node>& nodes = nodes_[static_cast<std::size_t>(number)];
      reduced[static_cast<std::size_t>(number)] = {static_cast<int>(nodes.size()),
                                                   source.transfer(conductor, nodes),
                                                   farad[static_cast<std::size_t>(conductor)]};
    }
    return reduced;
  }

 private:
  const Network& network_;
  std::map<int, int> conductors_;  // of the network, to ours
  std::vector<std::vector<Node>> nodes_;
};

}  // namespace isthmus::hostsim
