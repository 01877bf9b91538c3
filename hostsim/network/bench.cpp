// SPDX-License-Identifier: Apache-2.0
#include "hostsim/network/bench.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <map>

#include "hostsim/scenario/laying.hpp"
#include "hostsim/scenario/sides.hpp"

namespace isthmus::hostsim {
namespace {

constexpr double kNodeFarad = 20e-12;

// A point may be written by its ends, J1.1@top and J1.1@bottom; J1.1 is then the one on the side
// touched.
template <class Points>
std::optional<std::string> point_under(const Points& points,
                                       const formats::PlacementEntry& placement,
                                       const formats::ProbeEntry& probe) {
  if (points.contains(probe.point)) return probe.point;
  for (const Side side : sides_to_try(placement, probe)) {
    std::string end = fmt::format("{}@{}", probe.point, name(side));
    if (points.contains(end)) return end;
  }
  return std::nullopt;
}

class NetworkBench : public Bench {
 public:
  NetworkBench(const Scenario& scenario, std::optional<formats::FixtureFile> fixture)
      : contact_(scenario.contact),
        channels_(scenario.channels),
        seed_(scenario.seed),
        fixture_(std::move(fixture)),
        graph_{build(*scenario.network), {}, {}, {}} {
    for (const auto& [name, node] : scenario.network->points) points_[name] = node_of(node);
    for (const auto& [name, node] : scenario.network->points) order_.push_back(node_of(node));
    graph_.farad.assign(static_cast<std::size_t>(graph_.network.conductors()), kNodeFarad);
    for (const Defect& d : scenario.defects) {
      graph_.leaks.push_back(
          {nodes_.at(d.nets[0]), nodes_.at(d.nets[1]), d.ohm, d.volts_exponent, d.drift_per_s});
    }
    if (scenario.board_volts != 0) add_battery(scenario.board_volts);
  }

  Laid at_rest() override {
    Touched touched;
    const auto count = std::min(order_.size(), static_cast<std::size_t>(channels_));
    for (std::size_t k = 0; k < count && !fixture_; ++k)
      touched[static_cast<int>(k) + 1] = order_[k];
    Random random(seed_, "contact");
    return lay_on(graph_, touched, contact_, channels_, random);
  }

  Laid lifted() override {
    Random random(seed_, "contact");
    return lay_on(graph_, {}, contact_, channels_, random);
  }

  Result<Laid> lay(const std::string& name) override {
    if (!fixture_)
      return Problem{"", 0, 0, "SIM-024", "the simulator was started without --fixture", "", ""};
    const auto placement = find_placement(*fixture_, name);
    if (!placement) return placement.problem();
    Touched touched;
    for (const auto& [channel, probe] : (*placement)->probes) {
      if (probe.point.empty()) continue;  // a bare place: a network has none
      const Node node = points_.at(*point_under(points_, **placement, probe));
      touched[channel] = node;
      if (probe.twin) touched[*probe.twin] = node;
    }
    Random random(seed_, fmt::format("contact:{}:{}", name, ++laid_));
    return lay_on(graph_, touched, contact_, channels_, random);
  }

  [[nodiscard]] std::vector<std::string> hashes() const override { return {}; }

 private:
  Node node_of(const std::string& name) { return nodes_.at(name); }

  Network build(const NetworkBoard& board) {
    const auto number = [this](const std::string& name) {
      return nodes_.try_emplace(name, static_cast<Node>(nodes_.size())).first->second;
    };
    for (const auto& [point, node] : board.points) number(node);
    std::vector<Edge> edges;
    for (const auto& r : board.resistors) {
      const Node a = number(r.a), b = number(r.b);
      edges.push_back({a, b, 1 / r.ohm});
    }
    return {static_cast<Node>(nodes_.size()), edges};
  }

  // Between the two conductors with the most points; the first written on a tie.
  void add_battery(double volts) {
    std::map<int, int> counts;
    for (const Node n : order_) ++counts[graph_.network.conductor_of(n)];
    std::vector<std::pair<int, int>> ranked;
    for (const auto& [conductor, count] : counts) ranked.emplace_back(-count, conductor);
    std::sort(ranked.begin(), ranked.end());
    if (ranked.size() < 2) return;
    const auto first = [&](std::size_t k) {
      return graph_.network.members(ranked[k].second).front();
    };
    graph_.batteries.push_back({first(0), first(1), volts});
  }

  std::map<std::string, Node> nodes_;
  ContactDraw contact_;
  int channels_;
  std::uint64_t seed_;
  std::optional<formats::FixtureFile> fixture_;
  BoardGraph graph_;
  std::map<std::string, Node> points_;
  std::vector<Node> order_;
  int laid_{0};
};

Problem unknown_point(const formats::FixtureFile& fixture, const formats::ProbeEntry& probe) {
  return {fixture.path.string(),
          probe.line,
          probe.column,
          "SIM-022",
          fmt::format("the network has no point '{}'", probe.point),
          "add it to network: points",
          ""};
}

}  // namespace

Result<std::unique_ptr<Bench>> make_network_bench(const Scenario& scenario,
                                                  std::optional<formats::FixtureFile> fixture) {
  std::map<std::string, std::string> points(scenario.network->points.begin(),
                                            scenario.network->points.end());
  std::map<std::string, int> nodes;
  for (const auto& [name, node] : points) nodes[node] = 1;
  for (const auto& r : scenario.network->resistors) nodes[r.a] = nodes[r.b] = 1;
  for (const Defect& d : scenario.defects) {
    for (const std::string& net : d.nets) {
      if (nodes.contains(net)) continue;
      return Problem{scenario.path.string(),
                     d.line,
                     d.column,
                     "SIM-023",
                     fmt::format("the network has no node '{}'", net),
                     "",
                     ""};
    }
  }
  if (fixture) {
    const auto checked = check_channels(*fixture, scenario.channels);
    if (!checked) return checked.problem();
    for (const auto& placement : fixture->placements) {
      for (const auto& [channel, probe] : placement.probes) {
        if (!probe.point.empty() && !point_under(points, placement, probe))
          return unknown_point(*fixture, probe);
      }
    }
  }
  return std::unique_ptr<Bench>(std::make_unique<NetworkBench>(scenario, std::move(fixture)));
}

}  // namespace isthmus::hostsim
