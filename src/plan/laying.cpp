// SPDX-License-Identifier: Apache-2.0
#include "isthmus/plan/laying.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <map>
#include <set>

#include "plan/steps.hpp"

namespace isthmus::plan {

Pieces::Pieces(const expect::Board& board)
    : board_(board), index_(board.copper), joined_(board.copper.islands.size()) {
  for (const copper::Barrel& barrel : expect::conducting_barrels(board)) {
    for (const auto& foot : barrel.feet)
      joined_.unite(index(foot.island), index(barrel.feet[0].island));
  }
}

Position landing(const Laying& laying, const Probe& probe) {
  return probe.clip ? probe.at : laying.map(probe.at);
}

std::optional<Piece> Pieces::at(Position p, Side side) const {
  const LayerId layer{
      static_cast<std::uint16_t>(side == Side::bottom ? board_.copper.layers - 1 : 0)};
  const auto island = index_.at(layer, p);
  if (!island) return std::nullopt;
  return joined_.find(index(*island));
}

namespace {

// The distances at which the plate's probes repeat along one axis: the smallest steps between neighbours.
std::vector<std::int64_t> pitches(const Placement& p, std::int64_t Position::*axis,
                                  std::int64_t Position::*other) {
  std::map<std::int64_t, std::size_t> count;
  for (const Probe& a : p.probes) {
    if (a.clip) continue;
    std::int64_t nearest = INT64_MAX;
    for (const Probe& b : p.probes) {
      if (b.clip || b.side != a.side) continue;
      const std::int64_t d = b.at.*axis - a.at.*axis;
      if (std::abs(b.at.*other - a.at.*other) < 100'000 && d > 200'000)
        nearest = std::min(nearest, d);
    }
    if (nearest < 10'000'000) ++count[(nearest + 5'000) / 10'000 * 10'000];
  }
  std::vector<std::pair<std::size_t, std::int64_t>> ranked;
  for (const auto& [d, n] : count) ranked.push_back({n, d});
  std::ranges::sort(ranked, [](const auto& x, const auto& y) {
    return x.first != y.first ? x.first > y.first : x.second < y.second;
  });
  std::vector<std::int64_t> list;
  for (std::size_t i = 0; i < std::min<std::size_t>(ranked.size(), 3); ++i)
    list.push_back(ranked[i].second);
  return list;
}

Box box_of(const Placement& p) {
  Box box;
  for (const Probe& probe : p.probes) {
    if (!probe.clip) box.add(probe.at);
  }
  return box;
}

Laying shifted(Position by) {
  return {fmt::format("shifted by {:.3f}, {:.3f} mm", to_mm(by.x), to_mm(by.y)),
          [by](Position q) { return q + by; }};
}

// About the place whose double is `sum`.
std::vector<Laying> turned(Position sum) {
  return {{"turned by 180 degrees", [sum](Position q) { return sum - q; }},
          {"flipped left to right",
           [sum](Position q) {
             return Position{sum.x - q.x, q.y};
           }},
          {"flipped top to bottom", [sum](Position q) {
             return Position{q.x, sum.y - q.y};
           }}};
}

std::vector<Laying> quarter_turned(Position centre) {
  return {{"turned by 90 degrees",
           [centre](Position q) {
             const Position d = q - centre;
             return Position{centre.x - d.y, centre.y + d.x};
           }},
          {"turned by 270 degrees", [centre](Position q) {
             const Position d = q - centre;
             return Position{centre.x + d.y, centre.y - d.x};
           }}};
}

std::vector<Laying> wrong_layings(const Placement& p) {
  std::vector<Laying> list;
  std::set<std::pair<std::int64_t, std::int64_t>> shifts;
  for (std::int64_t k : {1, 2, 3, -1, -2, -3}) {
    for (std::int64_t d : pitches(p, &Position::x, &Position::y)) shifts.insert({k * d, 0});
    for (std::int64_t d : pitches(p, &Position::y, &Position::x)) shifts.insert({0, k * d});
  }
  for (const auto& [dx, dy] : shifts) list.push_back(shifted({dx, dy}));
  const Box box = box_of(p);
  if (box.empty()) return list;
  for (Laying& laying : turned(box.lo + box.hi)) list.push_back(std::move(laying));
  return list;
}

bool looks_right(const expect::Board& board, const Placement& p, const Pieces& pieces,
                 const Laying& laying) {
  std::map<GroupId, Piece> piece_of;
  for (const Probe& probe : p.probes) {
    const auto& group = board.expectation.point(probe.point).group;
    if (!group) continue;
    const auto piece = pieces.at(landing(laying, probe), probe.side);
    if (!piece) return false;
    const auto [first, fresh] = piece_of.emplace(*group, *piece);
    if (!fresh && first->second != *piece) return false;
  }
  for (const expect::Pair& pair : board.expectation.pairs) {
    const auto a = piece_of.find(pair.a), b = piece_of.find(pair.b);
    if (a != piece_of.end() && b != piece_of.end() && a->second == b->second &&
        pair.distance_nm > 0)
      return false;
  }
  return true;
}

// A laying that puts every tip on the copper it belongs to anyway is no error.
bool is_harmless(const expect::Board& board, const Placement& p, const Pieces& pieces,
                 const Laying& laying) {
  return std::ranges::all_of(p.probes, [&](const Probe& probe) {
    return !board.expectation.point(probe.point).group ||
           pieces.at(landing(laying, probe), probe.side) == pieces.at(probe.at, probe.side);
  });
}

}  // namespace

std::vector<Laying> likely_layings(const expect::Board& board, const Placement& placement) {
  std::vector<Laying> list = wrong_layings(placement);
  for (const std::int64_t pitch : {500'000, 650'000, 800'000, 1'000'000, 1'270'000, 2'540'000}) {
    for (const std::int64_t k : {1, 2, 3, -1, -2, -3}) {
      list.push_back(shifted({k * pitch, 0}));
      list.push_back(shifted({0, k * pitch}));
    }
  }
  Box copper;
  for (const copper::Island& island : board.copper.islands) copper.add(island.box);
  std::vector<Box> boxes{copper, box_of(placement)};
  if (board.design.outline) boxes.push_back(board.design.outline->extent);
  for (const Box& box : boxes) {
    if (box.empty()) continue;
    for (Laying& laying : turned(box.lo + box.hi)) list.push_back(std::move(laying));
    for (Laying& laying : quarter_turned(box.centre())) list.push_back(std::move(laying));
  }
  return list;
}

std::vector<std::string> indistinguishable_layings(const expect::Board& board, const Pieces& pieces,
                                                   const Placement& placement) {
  std::vector<std::string> list;
  for (const Laying& laying : wrong_layings(placement)) {
    if (looks_right(board, placement, pieces, laying) &&
        !is_harmless(board, placement, pieces, laying)) {
      list.push_back(laying.words);
    }
  }
  return list;
}

std::vector<std::string> indistinguishable_layings(const expect::Board& board,
                                                   const Placement& placement) {
  return indistinguishable_layings(board, Pieces(board), placement);
}

}  // namespace isthmus::plan
