// SPDX-License-Identifier: Apache-2.0
// Where the artwork contradicts the netlist, or is too tight to be sure.
#pragma once

#include <vector>

#include "expect/groups/pairs.hpp"
#include "isthmus/copper/conductors.hpp"

namespace isthmus::expect {

struct Case {
  const Ground& ground;
  const Holes& holes;
  const std::vector<Pad>& pads;
  const StagePoints& stage;
  const Pieces& pieces;    // at this stage
  const Pieces& promised;  // as they may become
  const Grouping& grouping;
  const Ties& ties;
  const std::vector<Link>& links;
};

// Each in order of nets (or of places); one per net, pair of nets, hole and layer.
std::vector<Disagreement> find_opens(const Case& c);
std::vector<Disagreement> find_bridges(const Case& c);
std::vector<Disagreement> find_missing_copper(const Case& c);
std::vector<Disagreement> find_missing_nets(const Case& c);
std::vector<Disagreement> find_breakouts(const Case& c);
std::vector<Disagreement> find_marginals(const Case& c);

// The narrowest copper on the widest way between two points of one piece: where to cut.
struct Narrowest {
  Position at;
  std::string side;
};
class Bottlenecks {
 public:
  explicit Bottlenecks(const Case& c);
  [[nodiscard]] Narrowest between(std::size_t piece, const Point& a, const Point& b) const;

 private:
  const Case& case_;
  copper::ConductorGraph graph_;
  std::vector<std::size_t> by_width_;  // branches, widest first
};

}  // namespace isthmus::expect
