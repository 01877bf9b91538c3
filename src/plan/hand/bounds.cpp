// SPDX-License-Identifier: Apache-2.0
#include "plan/hand/bounds.hpp"

#include <algorithm>
#include <functional>
#include <map>

#include "isthmus/base/sets.hpp"

namespace isthmus::plan::hand {
namespace {

std::map<PieceId, std::size_t> places_by_piece(const Demand& demand) {
  std::map<PieceId, std::size_t> count;
  for (const Place& p : demand.places) ++count[p.piece];
  return count;
}

// Places that no clip holds in any round.
std::size_t free_places(const expect::Board& board, const Demand& demand,
                        const std::vector<Round>& rounds) {
  std::set<PointId> held;
  for (const Round& r : rounds) {
    for (const HandClip& c : r.clips) {
      for (const PointId p : under(board, c)) held.insert(p);
    }
  }
  return static_cast<std::size_t>(std::ranges::count_if(
      demand.places, [&](const Place& p) { return !held.contains(p.point); }));
}

// By what hangs together through pairs: its pairs, its further places, and the first landing.
std::size_t loose_landings(const Demand& demand, const std::set<PieceId>& clipped) {
  const auto count = places_by_piece(demand);
  std::map<PieceId, std::size_t> number;
  for (const auto& [piece, places] : count) {
    if (!clipped.contains(piece)) number.emplace(piece, number.size());
  }
  Sets sets(number.size());
  std::size_t sum = 0, sets_left = number.size();
  for (const auto& [piece, n] : number) sum += count.at(piece) - 1;
  for (const auto& [a, b] : demand.pairs) {
    if (!number.contains(a) || !number.contains(b)) continue;
    ++sum;
    if (sets.unite(number.at(a), number.at(b))) --sets_left;
  }
  return sum + sets_left;
}

// Seconds a landing takes, least and most. Common practice, no source.
struct Pace {
  double low{}, high{};
};
constexpr Pace kWide{3, 4}, kFine{8, 12}, kClip{15, 30};
constexpr double kTurnSeconds = 20, kRepeated = 1.1;
constexpr double kFinePitch = 800'000;  // nm

}  // namespace

std::set<PieceId> clipped_pieces(const expect::Board& board, const std::vector<HandClip>& clips) {
  std::set<PieceId> pieces;
  for (const HandClip& c : clips) {
    for (const std::uint32_t n : clip_nodes(board, c))
      pieces.insert(board.faults.wiring.nodes[n].piece);
  }
  return pieces;
}

std::size_t bound_with(const expect::Board& board, const Demand& demand, const HandMeans& means,
                       const std::vector<Round>& rounds) {
  const std::size_t places = free_places(board, demand, rounds);
  if (rounds.size() != 1 || !can_meet(means)) return places;
  const auto clipped = clipped_pieces(board, rounds[0].clips);
  Demand of_clipped;
  for (const Place& p : demand.places) {
    if (clipped.contains(p.piece)) of_clipped.places.push_back(p);
  }
  return free_places(board, of_clipped, rounds) + loose_landings(demand, clipped);
}

std::size_t bound_without(const Demand& demand, const HandMeans& means, std::size_t clips,
                          std::size_t rounds, std::size_t pieces_a_clip) {
  const std::size_t places = demand.places.size();
  const std::size_t least = places - std::min(places, clips * rounds);
  if (!can_meet(means) || rounds > 1) return least;
  const std::size_t pieces = places_by_piece(demand).size();
  std::map<PieceId, std::size_t> degree;
  for (const auto& [a, b] : demand.pairs) ++degree[a], ++degree[b];
  std::vector<std::size_t> degrees;
  for (const auto& [piece, d] : degree) degrees.push_back(d);
  std::ranges::sort(degrees, std::greater<>());
  // `spent` clips on pieces that others hold already save a landing each, and no pair.
  std::size_t best = SIZE_MAX;
  for (std::size_t spent = 0; spent <= clips; ++spent) {
    const std::size_t served = (clips - spent) * pieces_a_clip;
    std::size_t told = 0;
    for (std::size_t i = 0; i < std::min(served, degrees.size()); ++i) told += degrees[i];
    const std::size_t left = demand.pairs.size() - std::min(demand.pairs.size(), told);
    // Pieces without a clip: each lot that hangs together by pairs begins with a landing.
    const std::size_t loose = pieces - std::min(pieces, served);
    const std::size_t lots =
        loose == 0 ? 0 : std::max<std::size_t>(1, loose - std::min(loose, left));
    const std::size_t all = places - pieces + left + lots;
    best = std::min(best, all - std::min(all, spent));
  }
  return std::max(least, best);
}

Minutes minutes_of(const Demand& demand, const std::vector<Round>& rounds) {
  const auto fine = [&](const Touch& t) {
    return std::ranges::any_of(demand.places, [&](const Place& p) {
      return p.side == t.side && p.point != t.point && distance_nm(p.at, t.at) < kFinePitch;
    });
  };
  Minutes m;
  std::optional<Side> side;
  for (const Round& r : rounds) {
    m.low += kClip.low * static_cast<double>(r.clips.size());
    m.high += kClip.high * static_cast<double>(r.clips.size());
    for (const Touch& t : r.touches) {
      const Pace pace = fine(t) ? kFine : kWide;
      const double turn = side && *side != t.side ? kTurnSeconds : 0;
      m.low += pace.low * kRepeated + turn;
      m.high += pace.high * kRepeated + turn;
      side = t.side;
    }
  }
  m.low /= 60;
  m.high /= 60;
  return m;
}

}  // namespace isthmus::plan::hand
