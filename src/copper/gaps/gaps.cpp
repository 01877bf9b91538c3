// SPDX-License-Identifier: Apache-2.0
#include "isthmus/copper/gaps.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

#include "copper/gaps/sample.hpp"
#include "copper/gaps/stretch.hpp"
#include "copper/index/layer.hpp"

namespace isthmus::copper {
namespace {

constexpr std::int64_t kCell = 250'000;
constexpr double kStep = 50'000;      // nm
constexpr double kOwnStep = 400'000;  // nm

Gap gap_of(std::uint32_t looking, std::uint32_t seen, std::vector<Facing> facings) {
  Gap gap;
  gap.a = IslandId{std::min(looking, seen)};
  gap.b = IslandId{std::max(looking, seen)};
  gap.facings = std::move(facings);
  for (Facing& f : gap.facings) {
    if (looking > seen) std::swap(f.on_a, f.on_b);
    gap.weight += f.weight;
  }
  const Facing& first = gap.facings.front();
  gap.distance_nm = first.distance_nm;
  gap.on_a = first.on_a;
  gap.on_b = first.on_b;
  return gap;
}

}  // namespace

std::vector<Gap> find_gaps(const Copper& copper, Nanometres window,
                           const std::vector<WideWindow>& wide) {
  std::vector<Gap> gaps;
  const std::vector<std::size_t> starts = layer_starts(copper);
  for (std::size_t l = 0; l < copper.layers; ++l) {
    const LayerEdges edges = layer_edges(copper.islands, starts[l], starts[l + 1], kCell);
    const bool outer = l == 0 || l + 1 == copper.layers;
    const Looking how{static_cast<double>(window.value), kStep,
                      outer ? std::span(wide) : std::span<const WideWindow>()};
    const Seen seen = look_across(copper.islands, edges, how);
    for (const auto& [pair, sight] : seen.sights) {
      if (!std::isfinite(sight.nearest.distance_nm)) continue;
      Gap gap = gap_of(pair.first, pair.second, facings_of(sight, seen.steps));
      gap.layer = static_cast<LayerId>(l);
      gaps.push_back(std::move(gap));
    }
  }
  sort_gaps(gaps);
  return gaps;
}

std::vector<OwnFacing> find_own_facings(const Copper& copper, Nanometres window,
                                        const std::vector<bool>& of) {
  std::vector<OwnFacing> facings;
  const std::vector<std::size_t> starts = layer_starts(copper);
  const Looking how{static_cast<double>(window.value), kOwnStep, {}, &of};
  for (std::size_t l = 0; l < copper.layers; ++l) {
    const LayerEdges edges = layer_edges(copper.islands, starts[l], starts[l + 1], kCell);
    for (const auto& [pair, sight] : look_across(copper.islands, edges, how).sights) {
      for (const View& v : sight.views) {
        if (v.shielded) continue;
        facings.push_back({IslandId{pair.first}, v.nearest.distance_nm, rounded(v.nearest.here),
                           rounded(v.nearest.there)});
      }
    }
  }
  return facings;
}

void sort_gaps(std::vector<Gap>& gaps) {
  std::ranges::stable_sort(gaps, [](const Gap& x, const Gap& y) {
    return std::tie(x.distance_nm, x.a, x.b) < std::tie(y.distance_nm, y.a, y.b);
  });
}

}  // namespace isthmus::copper
