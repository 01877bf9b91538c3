// SPDX-License-Identifier: Apache-2.0
#include "plan/hand/trail.hpp"

#include <algorithm>
#include <optional>
#include <tuple>

#include "plan/hand/route.hpp"

namespace isthmus::plan::hand {
namespace {

class Walk {
 public:
  explicit Walk(TrailWork work)
      : places_(std::move(work.places)), spare_(std::move(work.spare)), here_(work.from) {
    for (const auto& [a, b] : work.pairs) {
      next_[a].insert(b);
      next_[b].insert(a);
    }
  }

 protected:
  [[nodiscard]] std::size_t pairs_of(PieceId p) const {
    const auto at = next_.find(p);
    return at == next_.end() ? 0 : at->second.size();
  }
  // Landings still to be made while a needle stands on it.
  [[nodiscard]] std::size_t work_of(PieceId p) const {
    return pairs_of(p) + (places_.at(p).size() - (fixed_.contains(p) ? 0 : 1));
  }
  [[nodiscard]] bool untouched(PieceId p) const { return !fixed_.contains(p); }

  // Where its neighbours meet the piece, always the same: so it is tied once.
  const Place& meeting_place(PieceId p) {
    const auto known = fixed_.find(p);
    if (known != fixed_.end()) return known->second;
    auto& list = places_[p];
    const auto best = here_ ? std::ranges::min_element(
                                  list, {}, [&](const Place& q) { return travel(*here_, q); })
                            : list.begin();
    const Place place = *best;
    list.erase(best);
    return fixed_.emplace(p, place).first->second;
  }

  void land(std::size_t needle, const Place& place, bool other_stands) {
    legs_.push_back({needle, place, other_stands});
    here_ = place;
  }

  // Takes the nearest of those of the piece that are left.
  std::optional<Place> take_place(PieceId p) {
    auto& list = places_[p];
    if (list.empty()) return std::nullopt;
    const auto best = std::ranges::min_element(
        list, {}, [&](const Place& q) { return here_ ? travel(*here_, q) : 0.0; });
    const Place place = *best;
    list.erase(best);
    return place;
  }

  void meet(PieceId a, PieceId b) {
    next_[a].erase(b);
    next_[b].erase(a);
  }

  // The piece with most to do; near where a needle is.
  [[nodiscard]] std::optional<PieceId> busiest(bool by_pairs) const {
    std::optional<PieceId> best;
    std::tuple<std::size_t, std::size_t, double> best_rank;
    for (const auto& [p, list] : places_) {
      const bool fresh = untouched(p);
      if (work_of(p) == 0 && !fresh) continue;
      const double far = here_ ? travel(*here_, fresh ? list.front() : fixed_.at(p)) : 0;
      const std::tuple rank{by_pairs ? pairs_of(p) : work_of(p), list.size(), -far};
      if (best && rank <= best_rank) continue;
      best = p;
      best_rank = rank;
    }
    return best;
  }

  // Neighbours in a short way, the one with most left to do last.
  [[nodiscard]] std::vector<PieceId> round_of(PieceId u) const {
    std::vector<PieceId> rest(next_.at(u).begin(), next_.at(u).end()), way;
    const auto last = std::ranges::max_element(
        rest, {}, [&](PieceId v) { return work_of(v) + (untouched(v) ? 1 : 0); });
    const PieceId end = *last;
    rest.erase(last);
    std::optional<Place> at = here_;
    while (!rest.empty()) {
      const auto nearest = std::ranges::min_element(
          rest, {}, [&](PieceId v) { return at ? travel(*at, spot(v)) : 0.0; });
      at = spot(*nearest);
      way.push_back(*nearest);
      rest.erase(nearest);
    }
    way.push_back(end);
    return way;
  }
  [[nodiscard]] const Place& spot(PieceId p) const {
    return untouched(p) ? places_.at(p).front() : fixed_.at(p);
  }

  std::map<PieceId, std::vector<Place>> places_;  // not touched yet
  std::map<PieceId, std::vector<Place>> spare_;
  std::map<PieceId, std::set<PieceId>> next_;
  std::map<PieceId, Place> fixed_;  // touched, and met there
  std::optional<Place> here_;
  std::vector<Leg> legs_;
};

class TwoNeedles : public Walk {
 public:
  using Walk::Walk;

  std::vector<Leg> run() {
    std::size_t stands = 1;
    while (auto start = busiest(false)) {
      stands = 1 - stands;
      land(stands, meeting_place(*start), false);
      for (std::optional<PieceId> u = *start; u; u = go_round(*u, stands)) {
      }
    }
    return std::move(legs_);
  }

 private:
  // Where the other needle then stands, if there is something left to do from there.
  std::optional<PieceId> go_round(PieceId u, std::size_t& stands) {
    while (const auto place = take_place(u)) land(1 - stands, *place, true);
    if (pairs_of(u) == 0) return std::nullopt;
    PieceId last{};
    for (const PieceId v : round_of(u)) {
      land(1 - stands, meeting_place(v), true);
      meet(u, v);
      last = v;
    }
    stands = 1 - stands;
    if (work_of(last) > 0) return last;
    return std::nullopt;
  }
};

class ForkAndNeedle : public Walk {
 public:
  using Walk::Walk;

  std::vector<Leg> run() {
    while (auto u = busiest(true)) star(*u);
    return std::move(legs_);
  }

 private:
  static constexpr std::size_t kFork = 0, kSingle = 1;

  void star(PieceId u) {
    const Place first = meeting_place(u);
    land(kFork, first, false);
    if (work_of(u) == 0) return;
    const auto second = take_place(u);
    const auto& spare = spare_[u];
    land(kSingle, second ? *second : spare.empty() ? first : spare.front(), true);
    while (places_[u].size() > (pairs_of(u) > 0 ? 1 : 0)) land(kFork, *take_place(u), true);
    if (pairs_of(u) == 0) return;
    for (const PieceId v : round_of(u)) {
      land(kFork, meeting_place(v), true);
      meet(u, v);
    }
    const auto last = take_place(u);
    land(kFork, last ? *last : first, true);
  }
};

class TiesOfTwo : public Walk {
 public:
  using Walk::Walk;

  std::vector<Leg> run() {
    while (auto u = busiest(false)) {
      const Place first = meeting_place(*u);
      land(0, first, false);
      const auto& spare = spare_[*u];
      auto next = take_place(*u);
      if (!next) next = spare.empty() ? first : spare.front();
      for (; next; next = take_place(*u)) land(1, *next, true);
    }
    return std::move(legs_);
  }
};

}  // namespace

std::vector<Leg> walk_of_two(TrailWork work) { return TwoNeedles(std::move(work)).run(); }
std::vector<Leg> walk_of_fork(TrailWork work) { return ForkAndNeedle(std::move(work)).run(); }
std::vector<Leg> ties_of_two(TrailWork work) {
  work.pairs.clear();
  return TiesOfTwo(std::move(work)).run();
}

}  // namespace isthmus::plan::hand
