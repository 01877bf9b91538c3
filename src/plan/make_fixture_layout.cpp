// SPDX-License-Identifier: Apache-2.0
#include "plan/make_fixture_layout.hpp"

#include <algorithm>
#include <limits>
#include <map>
#include <optional>
#include <tuple>

namespace isthmus::plan {
namespace {

// Points of one group that are laid together.
struct Chunk {
  std::size_t group{};
  std::vector<SpotId> points;
};

enum class Seed { largest, leftmost, lowest, busiest };
enum class Grow { pairs_per_channel, pairs, size };
struct Strategy {
  Seed seed{};
  Grow grow{};
};

class Run {
 public:
  Run(const SideDemand& demand, const FixtureWish& wish, Strategy strategy)
      : demand_(demand),
        channels_(static_cast<std::size_t>(wish.channels)),
        visit_cost_(wish.contact_check ? 1 : 2),
        strategy_(strategy),
        neighbours_(demand.wanted.size()),
        met_(demand.pairs.size(), false),
        blocked_(demand.spots.at.size(), 0) {
    for (std::size_t p = 0; p < demand.pairs.size(); ++p) {
      const auto [a, b] = demand.pairs[p];
      neighbours_[a].push_back({b, p});
      neighbours_[b].push_back({a, p});
    }
    for (std::size_t g = 0; g < demand.wanted.size(); ++g) cut_into_chunks(g);
  }

  std::vector<Laid> lay() {
    while (lay_one()) {
    }
    return std::move(laid_);
  }

 private:
  struct Neighbour {
    std::size_t group{}, pair{};
  };

  // Chunks of a group larger than the channels share a point with an earlier one: its first, unless
  // that clashes. Points of a group that clash are in different chunks; where every point clashes
  // with every other, they cannot be.
  void cut_into_chunks(std::size_t group) {
    const auto& points = demand_.wanted[group];
    std::vector<SpotId> rest = points, cut;
    while (!rest.empty()) {
      Chunk chunk{group, {}};
      if (!cut.empty()) chunk.points.push_back(lead_of(cut, rest.front()));
      std::vector<SpotId> later;
      for (const SpotId p : rest) {
        const bool fits = chunk.points.size() < channels_ &&
                          (p == rest.front() || !clashes_with(p, chunk.points));
        (fits ? chunk.points : later).push_back(p);
      }
      cut.insert(cut.end(), chunk.points.begin(), chunk.points.end());
      chunks_.push_back(std::move(chunk));
      rest = std::move(later);
    }
  }

  [[nodiscard]] SpotId lead_of(const std::vector<SpotId>& cut, SpotId next) const {
    const auto lead = std::ranges::find_if(cut, [&](SpotId p) { return !clashes_with(next, {p}); });
    return lead == cut.end() ? cut.front() : *lead;
  }

  [[nodiscard]] bool clashes_with(SpotId p, const std::vector<SpotId>& others) const {
    const auto& clashes = demand_.spots.clashes[index(p)];
    return std::ranges::any_of(others,
                               [&](SpotId o) { return std::ranges::binary_search(clashes, o); });
  }

  [[nodiscard]] std::size_t cost(const Chunk& chunk) const {
    return std::max(chunk.points.size(), visit_cost_);
  }
  [[nodiscard]] std::size_t room() const { return channels_ - used_; }

  [[nodiscard]] std::size_t open_pairs(std::size_t group) const {
    return static_cast<std::size_t>(
        std::count_if(neighbours_[group].begin(), neighbours_[group].end(),
                      [&](const Neighbour& n) { return !met_[n.pair]; }));
  }

  bool lay_one() {
    here_.clear();
    used_ = 0;
    inside_.assign(neighbours_.size(), false);
    gain_.assign(neighbours_.size(), 0);
    std::ranges::fill(blocked_, 0);
    while (const auto chunk = next_chunk()) take_chunk(*chunk);
    if (here_.empty()) visit_together();
    while (const auto group = next_visit()) visit(*group);
    if (here_.empty()) return false;
    std::sort(here_.begin(), here_.end(),
              [](const LaidPoint& a, const LaidPoint& b) { return a.spot < b.spot; });
    laid_.push_back(here_);
    return true;
  }

  // The best unlaid chunk that fits; the first of a placement by the strategy's seed.
  [[nodiscard]] std::optional<std::size_t> next_chunk() const {
    std::optional<std::size_t> best;
    std::tuple<double, double> best_score;
    for (std::size_t i = 0; i < chunks_.size(); ++i) {
      if (cost(chunks_[i]) > room() || inside_[chunks_[i].group]) continue;
      if (std::ranges::any_of(chunks_[i].points, [&](SpotId p) { return blocked(p); })) continue;
      const auto score = here_.empty() ? seed_score(chunks_[i]) : growth_score(chunks_[i]);
      if (best && score <= best_score) continue;
      best = i;
      best_score = score;
    }
    return best;
  }

  [[nodiscard]] std::tuple<double, double> seed_score(const Chunk& chunk) const {
    const Position at = demand_.spots.at[index(chunk.points.front())];
    const auto size = static_cast<double>(chunk.points.size());
    switch (strategy_.seed) {
      case Seed::leftmost:
        return {-static_cast<double>(at.x), size};
      case Seed::lowest:
        return {-static_cast<double>(at.y), size};
      case Seed::busiest:
        return {static_cast<double>(open_pairs(chunk.group)), size};
      case Seed::largest:
        break;
    }
    return {size, static_cast<double>(open_pairs(chunk.group))};
  }

  [[nodiscard]] std::tuple<double, double> growth_score(const Chunk& chunk) const {
    const auto gain = static_cast<double>(gain_[chunk.group]);
    const auto size = static_cast<double>(chunk.points.size());
    switch (strategy_.grow) {
      case Grow::pairs_per_channel:
        return {gain / static_cast<double>(cost(chunk)), size};
      case Grow::size:
        return {size, gain};
      case Grow::pairs:
        break;
    }
    return {gain, size};
  }

  void take_chunk(std::size_t i) {
    const Chunk chunk = std::move(chunks_[i]);
    chunks_.erase(chunks_.begin() + static_cast<std::ptrdiff_t>(i));
    for (const SpotId point : chunk.points) put(point);
    if (chunk.points.size() < visit_cost_) prove_contact(chunk.group, here_.size() - 1);
    enter(chunk.group);
  }

  [[nodiscard]] bool blocked(SpotId p) const { return blocked_[index(p)] > 0; }

  void put(SpotId p) {
    here_.push_back({p, false});
    ++used_;
    for (const SpotId other : demand_.spots.clashes[index(p)]) ++blocked_[index(other)];
  }

  // A lone probe needs a second point of its group, else a twin tip.
  void prove_contact(std::size_t group, std::size_t lone) {
    if (const auto other = farthest(demand_.usable[group], here_[lone].spot)) {
      put(*other);
    } else {
      here_[lone].twin = true;
      ++used_;
    }
  }

  // The point farthest from the probes that lie here, of those that clash with none.
  [[nodiscard]] std::optional<SpotId> farthest(const std::vector<SpotId>& candidates,
                                               std::optional<SpotId> but_not) const {
    std::optional<SpotId> best;
    double best_distance = -1;
    for (const SpotId candidate : candidates) {
      if (candidate == but_not || blocked(candidate)) continue;
      double nearest = std::numeric_limits<double>::max();
      for (const LaidPoint& laid : here_) {
        nearest = std::min(nearest, distance_nm(demand_.spots.at[index(candidate)],
                                                demand_.spots.at[index(laid.spot)]));
      }
      if (best && nearest <= best_distance) continue;
      best = candidate;
      best_distance = nearest;
    }
    return best;
  }

  // The group that meets most groups here for the first time, if one of its points is free.
  [[nodiscard]] std::optional<std::size_t> next_visit() const {
    if (visit_cost_ > room() || here_.empty()) return std::nullopt;
    std::optional<std::size_t> best;
    std::size_t best_gain = 0;
    for (std::size_t g = 0; g < neighbours_.size(); ++g) {
      if (inside_[g] || gain_[g] <= best_gain) continue;
      if (std::ranges::all_of(demand_.wanted[g], [&](SpotId p) { return blocked(p); })) continue;
      best = g;
      best_gain = gain_[g];
    }
    return best;
  }

  // By a wanted point: what else lies in the group is not yet known to hang on it.
  void visit(std::size_t group) {
    std::vector<SpotId> from_plate;
    for (const SpotId s : demand_.wanted[group]) {
      if (!demand_.spots.behind(s)) from_plate.push_back(s);
    }
    auto point = farthest(from_plate, std::nullopt);
    if (!point) point = farthest(demand_.wanted[group], std::nullopt);
    ENSURE(point.has_value());
    put(*point);
    if (visit_cost_ > 1) prove_contact(group, here_.size() - 1);
    enter(group);
  }

  // An empty placement begins with the busiest group and the first it has yet to meet.
  void visit_together() {
    if (2 * visit_cost_ > room()) return;
    std::size_t a = neighbours_.size(), most = 0;
    for (std::size_t g = 0; g < neighbours_.size(); ++g) {
      if (open_pairs(g) > most) a = g, most = open_pairs(g);
    }
    if (most == 0) return;
    const auto open =
        std::ranges::find_if(neighbours_[a], [&](const Neighbour& n) { return !met_[n.pair]; });
    const auto [of_a, of_b] = apart(demand_.wanted[a], demand_.wanted[open->group]);
    put(of_a);
    put(of_b);
    if (visit_cost_ > 1) {
      prove_contact(a, 0);
      prove_contact(open->group, 1);
    }
    enter(a);
    enter(open->group);
  }

  // The first two points that do not clash; where all do, the first two.
  [[nodiscard]] std::pair<SpotId, SpotId> apart(const std::vector<SpotId>& as,
                                                const std::vector<SpotId>& bs) const {
    for (const SpotId a : as) {
      for (const SpotId b : bs) {
        if (!clashes_with(a, {b})) return {a, b};
      }
    }
    return {as.front(), bs.front()};
  }

  void enter(std::size_t group) {
    inside_[group] = true;
    for (const Neighbour& n : neighbours_[group]) {
      if (met_[n.pair]) continue;
      if (inside_[n.group]) {
        met_[n.pair] = true;
      } else {
        ++gain_[n.group];
      }
    }
  }

  const SideDemand& demand_;
  std::size_t channels_, visit_cost_;
  Strategy strategy_;
  std::vector<std::vector<Neighbour>> neighbours_;
  std::vector<bool> met_;
  std::vector<Chunk> chunks_;
  std::vector<Laid> laid_;
  // The placement being laid:
  Laid here_;
  std::size_t used_{};
  std::vector<bool> inside_;
  std::vector<std::size_t> gain_;
  std::vector<std::size_t> blocked_;  // by point: how many that lie here clash with it
};

std::size_t probes_in(const std::vector<Laid>& laid) {
  std::size_t n = 0;
  for (const Laid& one : laid) n += one.size();
  return n;
}

}  // namespace

std::vector<Laid> lay_out(const SideDemand& demand, const FixtureWish& wish) {
  std::optional<std::vector<Laid>> best;
  for (const Seed seed : {Seed::largest, Seed::leftmost, Seed::lowest, Seed::busiest}) {
    for (const Grow grow : {Grow::pairs_per_channel, Grow::pairs, Grow::size}) {
      std::vector<Laid> laid = Run(demand, wish, {seed, grow}).lay();
      const std::pair<std::size_t, std::size_t> size{laid.size(), probes_in(laid)};
      if (best && size >= std::pair(best->size(), probes_in(*best))) continue;
      best = std::move(laid);
    }
  }
  return std::move(*best);
}

}  // namespace isthmus::plan
