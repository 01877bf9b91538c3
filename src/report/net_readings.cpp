// SPDX-License-Identifier: Apache-2.0
#include "report/net_readings.hpp"

#include <algorithm>
#include <limits>
#include <map>

namespace isthmus::report {
namespace {

struct Read {
  const plan::Step* step{};
  const plan::Reading* reading{};
  // Over range is above everything.
  [[nodiscard]] double excess() const {
    const auto* m = std::get_if<plan::Measured>(&reading->outcome);
    if (m == nullptr) return std::numeric_limits<double>::infinity();
    return m->value - (step->predicted ? step->predicted->ohms.value : 0);
  }
};

// Between two of its points, sensed where the current goes in and out.
bool speaks_of_one_net(const plan::Plan& plan, const plan::Step& s) {
  if (!s.is_resistance() || s.groups.size() != 1) return false;
  if (s.source.size() != 1 || s.ret.size() != 1) return false;
  return (s.sense_high == 0 || s.sense_high == s.source[0]) &&
         (s.sense_low == 0 || s.sense_low == s.ret[0]) &&
         plan.placements.at(s.placement).taken_back.empty();
}

// Of a repeated step the last reading counts.
std::map<StepId, const plan::Reading*> last_readings(const std::vector<plan::Reading>& readings) {
  std::map<StepId, const plan::Reading*> last;
  for (const plan::Reading& r : readings) {
    if (!plan::usable(r)) continue;
    const plan::Reading*& kept = last[r.step];
    if (kept == nullptr || kept->sequence < r.sequence) kept = &r;
  }
  return last;
}

std::string point_of(const expect::Board& board, const plan::Plan& plan, const plan::Step& s,
                     plan::Channel channel) {
  return board.expectation.point(plan.placements.at(s.placement).probe(channel).point).id;
}

}  // namespace

std::vector<NetReading> net_readings(const expect::Board& board, const plan::Plan& plan,
                                     const std::vector<plan::Reading>& readings) {
  const auto last = last_readings(readings);
  std::vector<std::optional<Read>> worst(board.expectation.groups.size());
  std::vector<std::size_t> counts(worst.size());
  for (const plan::Step& s : plan.steps) {
    const auto reading = last.find(s.id);
    if (!speaks_of_one_net(plan, s) || reading == last.end()) continue;
    const std::size_t g = index(s.groups[0]);
    if (g >= worst.size()) continue;
    const Read read{&s, reading->second};
    ++counts[g];
    if (!worst[g] || read.excess() > worst[g]->excess()) worst[g] = read;
  }
  std::vector<NetReading> list;
  for (std::size_t g = 0; g < worst.size(); ++g) {
    const expect::Group& group = board.expectation.groups[g];
    NetReading& n = list.emplace_back();
    n.net = group.net;
    for (PointId p : group.points) n.points.push_back(board.expectation.point(p).id);
    n.readings = counts[g];
    if (!worst[g]) continue;
    const plan::Step& s = *worst[g]->step;
    n.from = point_of(board, plan, s, s.source[0]);
    n.to = point_of(board, plan, s, s.ret[0]);
    n.predicted = s.predicted;
    if (const auto* m = std::get_if<plan::Measured>(&worst[g]->reading->outcome)) {
      n.measured = Ohms{m->value};
      n.uncertainty = Ohms{m->uncertainty};
    }
  }
  std::ranges::stable_sort(list, {}, &NetReading::net);
  return list;
}

}  // namespace isthmus::report
