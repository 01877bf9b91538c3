// SPDX-License-Identifier: Apache-2.0
#include "isthmus/expect/resistances.hpp"

#include <algorithm>
#include <tuple>

namespace isthmus::expect {
namespace {

struct End {
  PointId point{};
  copper::Electrode electrode;
};

std::vector<End> ends_of(const Board& board, const Group& group, Nanometres tip) {
  std::vector<End> ends;
  for (const PointId id : group.points) {
    if (const auto electrode = electrode_of(board, id, tip)) ends.push_back({id, *electrode});
  }
  return ends;
}

struct Farthest {
  std::size_t end{};
  copper::Predicted predicted;
};

std::optional<Farthest> farthest_from(copper::Field& field, const std::vector<End>& ends,
                                      std::size_t from) {
  std::optional<Farthest> best;
  for (std::size_t i = 0; i < ends.size(); ++i) {
    if (i == from) continue;
    const auto predicted = field.between(ends[from].electrode, ends[i].electrode);
    if (predicted && (!best || predicted->ohms > best->predicted.ohms))
      best = Farthest{i, *predicted};
  }
  return best;
}

}  // namespace

std::vector<NetResistance> net_resistances(
    const Board& board, Nanometres tip,
    const std::function<void(std::size_t done, std::size_t of)>& progress) {
  copper::Field field(board.copper, conducting_barrels(board), foil_of(board));
  const std::vector<Group>& groups = board.expectation.groups;
  std::vector<NetResistance> out;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    if (progress) progress(g, groups.size());
    const std::vector<End> ends = ends_of(board, groups[g], tip);
    if (ends.size() < 2) continue;
    const auto first = farthest_from(field, ends, 0);
    if (!first) continue;
    std::size_t from = 0;
    Farthest best = *first;
    const auto second = farthest_from(field, ends, first->end);
    if (second && second->predicted.ohms > best.predicted.ohms) from = first->end, best = *second;
    const PointId a = ends[from].point, b = ends[best.end].point;
    out.push_back({static_cast<GroupId>(g), std::min(a, b), std::max(a, b), best.predicted});
    field.forget();  // no other group lies on this copper, but for ties
  }
  if (progress) progress(groups.size(), groups.size());
  std::ranges::stable_sort(out, {}, [](const NetResistance& r) {
    return std::tuple(-r.predicted.ohms.value, index(r.group));
  });
  return out;
}

}  // namespace isthmus::expect
