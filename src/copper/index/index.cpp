// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <map>
#include <utility>

#include "copper/index/boxes.hpp"
#include "copper/index/layer.hpp"
#include "isthmus/copper/islands.hpp"

namespace isthmus::copper {
namespace {

constexpr std::int64_t kCell = 250'000;

struct LayerIndex {
  LayerIndex(const Copper& copper, std::size_t first, std::size_t last)
      : edges(layer_edges(copper.islands, first, last, kCell)),
        boxes(make_pieces(copper, first, last)) {}

  std::vector<Box> make_pieces(const Copper& copper, std::size_t first, std::size_t last) {
    std::vector<Box> all;
    for (std::size_t i = first; i < last; ++i) {
      for (std::size_t p = 0; p < copper.islands[i].pieces(); ++p) {
        pieces.emplace_back(copper.islands[i].piece(p));
        owners.push_back(static_cast<std::uint32_t>(i));
        all.push_back(pieces.back().box());
      }
    }
    return all;
  }

  std::vector<PolygonLocator> pieces;
  std::vector<std::uint32_t> owners;  // by piece, ascending
  LayerEdges edges;
  BoxIndex boxes;  // of pieces
};

}  // namespace

struct IslandIndex::Tree {
  std::vector<LayerIndex> layers;
};

IslandIndex::IslandIndex(const Copper& copper) : tree_(std::make_unique<Tree>()) {
  const std::vector<std::size_t> starts = layer_starts(copper);
  tree_->layers.reserve(copper.layers);
  for (std::size_t l = 0; l < copper.layers; ++l) {
    tree_->layers.emplace_back(copper, starts[l], starts[l + 1]);
  }
}
IslandIndex::~IslandIndex() = default;
IslandIndex::IslandIndex(IslandIndex&&) noexcept = default;
IslandIndex& IslandIndex::operator=(IslandIndex&&) noexcept = default;

std::optional<IslandId> IslandIndex::at(LayerId layer, Position p) const {
  if (index(layer) >= tree_->layers.size()) return std::nullopt;
  const LayerIndex& here = tree_->layers[index(layer)];
  for (std::size_t piece : here.boxes.overlapping({p, p})) {
    if (here.pieces[piece].locate(p) != Where::outside) return IslandId{here.owners[piece]};
  }
  return std::nullopt;
}

std::vector<IslandId> IslandIndex::near(LayerId layer, Position p, Nanometres reach) const {
  if (index(layer) >= tree_->layers.size() || reach.value < 0) return {};
  const LayerIndex& here = tree_->layers[index(layer)];
  std::map<std::uint32_t, double> distance;
  for (std::size_t piece : here.boxes.overlapping({p, p})) {
    if (here.pieces[piece].locate(p) != Where::outside) distance[here.owners[piece]] = 0;
  }
  here.edges.grid.for_each(Box{p, p}.grown(reach), [&](std::uint32_t i) {
    const double d = closest(p, here.edges.grid.segments()[i]).distance_nm;
    if (d > static_cast<double>(reach.value)) return true;
    const auto [it, fresh] = distance.try_emplace(here.edges.owners[i].island, d);
    if (!fresh) it->second = std::min(it->second, d);
    return true;
  });
  std::vector<std::pair<double, std::uint32_t>> order;
  for (const auto& [island, d] : distance) order.emplace_back(d, island);
  std::sort(order.begin(), order.end());
  std::vector<IslandId> out;
  for (const auto& [d, island] : order) out.push_back(IslandId{island});
  return out;
}

}  // namespace isthmus::copper
