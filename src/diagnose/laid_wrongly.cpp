// SPDX-License-Identifier: Apache-2.0
#include "diagnose/laid_wrongly.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "isthmus/base/sets.hpp"
#include "isthmus/plan/laying.hpp"

namespace isthmus::diagnose {
namespace {

constexpr std::size_t kFewest = 4;  // fewer faults than that are taken for what they look like
constexpr std::size_t kMostToSwap = 48;

// On which piece of copper each probe of a placement comes down.
using Under = std::vector<std::optional<plan::Piece>>;

// What one placement's readings say, whatever lies under the tips.
class Placed {
 public:
  Placed(const Study& s, std::size_t placement)
      : s_(s), placement_(placement), probes_(s.plan.placements[placement].probes) {
    for (std::size_t i = 0; i < probes_.size(); ++i) {
      at_[probes_[i].channel] = i;
      touch_.push_back(s.evidence.touch(placement, probes_[i].channel));
    }
    gather();
    note_apart();
  }

  // As it should lie: one piece a group.
  [[nodiscard]] Under as_meant() const {
    Under under;
    for (const plan::Probe& probe : probes_) {
      const auto& group = s_.board.expectation.point(probe.point).group;
      under.push_back(group ? std::optional<plan::Piece>(index(*group)) : std::nullopt);
    }
    return under;
  }

  // Of the plate's tips: how many there are, and how many of them touch nothing.
  [[nodiscard]] std::pair<std::size_t, std::size_t> pins_and_missing() const {
    std::size_t pins = 0, missing = 0;
    for (std::size_t i = 0; i < probes_.size(); ++i) {
      if (probes_[i].clip) continue;
      ++pins;
      missing += touch_[i] == Touch::missing ? 1u : 0u;
    }
    return {pins, missing};
  }

  // With `swapped`, those two tips were laid on each other's pad and their twins were not.
  [[nodiscard]] std::size_t faults(
      const Under& under, std::optional<std::pair<std::size_t, std::size_t>> swapped = {}) const {
    std::size_t n = 0;
    std::map<std::size_t, std::set<plan::Piece>> pieces_of;    // by cluster
    std::map<plan::Piece, std::set<std::size_t>> clusters_of;  // by piece
    for (std::size_t i = 0; i < probes_.size(); ++i) {
      const bool of_swap = swapped && (i == swapped->first || i == swapped->second);
      const bool touches = under[i] && !(of_swap && probes_[i].twin);
      if (touch_[i] == (touches ? Touch::missing : Touch::proven)) ++n;
      if (!under[i]) continue;
      pieces_of[cluster_[i]].insert(*under[i]);
      if (touch_[i] == Touch::proven) clusters_of[*under[i]].insert(cluster_[i]);
    }
    for (const auto& [cluster, pieces] : pieces_of) n += pieces.size() - 1;
    for (const auto& [piece, clusters] : clusters_of) n += cuts(clusters);
    return n;
  }

  // Probes that one swap could put right: those of conducting clusters of several groups, and of
  // groups that fell apart.
  [[nodiscard]] std::vector<std::size_t> involved(const Under& under) const {
    std::map<std::size_t, std::set<plan::Piece>> pieces_of;
    std::map<plan::Piece, std::set<std::size_t>> clusters_of;
    for (std::size_t i = 0; i < probes_.size(); ++i) {
      if (!under[i]) continue;
      pieces_of[cluster_[i]].insert(*under[i]);
      clusters_of[*under[i]].insert(cluster_[i]);
    }
    std::vector<std::size_t> list;
    for (std::size_t i = 0; i < probes_.size(); ++i) {
      if (under[i] && (pieces_of[cluster_[i]].size() > 1 || clusters_of[*under[i]].size() > 1))
        list.push_back(i);
    }
    return list;
  }

  [[nodiscard]] const std::vector<plan::Probe>& probes() const { return probes_; }

 private:
  void gather() {
    Sets sets(probes_.size());
    const auto unite = [&](Channel a, Channel b) {
      const auto one = at_.find(a), other = at_.find(b);
      if (one != at_.end() && other != at_.end()) sets.unite(one->second, other->second);
    };
    for (const auto& [pair, heard] : s_.evidence.heard(placement_)) {
      if (heard.conducts()) unite(pair.first, pair.second);
    }
    for (const BadPair& bad : s_.isolation[placement_].bad()) {
      if (bad.ohms < s_.board.design.board.limits.bridge.value) unite(bad.a, bad.b);
    }
    for (std::size_t i = 0; i < probes_.size(); ++i) cluster_.push_back(sets.find(i));
  }

  void note_apart() {
    for (const auto& [pair, heard] : s_.evidence.heard(placement_)) {
      const auto a = at_.find(pair.first), b = at_.find(pair.second);
      if (a == at_.end() || b == at_.end() || !heard.apart()) continue;
      if (touch_[a->second] == Touch::proven && touch_[b->second] == Touch::proven)
        part(a->second, b->second);
    }
    const Isolation& isolation = s_.isolation[placement_];
    for (std::size_t i = 0; i < probes_.size(); ++i) {
      for (std::size_t j = i + 1; j < probes_.size(); ++j) {
        if (cluster_[i] != cluster_[j] &&
            isolation.isolated(probes_[i].channel, probes_[j].channel))
          part(i, j);
      }
    }
  }

  void part(std::size_t i, std::size_t j) { apart_.insert(std::minmax(cluster_[i], cluster_[j])); }

  // Clusters of one piece that were found apart, less the one they should be.
  [[nodiscard]] std::size_t cuts(const std::set<std::size_t>& clusters) const {
    const auto n = std::ranges::count_if(clusters, [&](std::size_t a) {
      return std::ranges::any_of(clusters,
                                 [&](std::size_t b) { return apart_.contains(std::minmax(a, b)); });
    });
    return n > 1 ? static_cast<std::size_t>(n) - 1 : 0;
  }

  const Study& s_;
  std::size_t placement_;
  const std::vector<plan::Probe>& probes_;
  std::map<Channel, std::size_t> at_;
  std::vector<Touch> touch_;
  std::vector<std::size_t> cluster_;  // the least probe that conducts to it
  std::set<std::pair<std::size_t, std::size_t>> apart_;
};

Under pieces_under(const plan::Placement& p, const plan::Pieces& pieces,
                   const plan::Laying& laying) {
  Under under;
  for (const plan::Probe& probe : p.probes)
    under.push_back(pieces.at(plan::landing(laying, probe), probe.side));
  return under;
}

// Off the board nothing touches, which is no laying but a plate that hangs in the air.
bool hangs_in_the_air(const plan::Placement& p, const Under& laid) {
  std::size_t pins = 0, bare = 0;
  for (std::size_t i = 0; i < p.probes.size(); ++i) {
    if (p.probes[i].clip) continue;
    ++pins;
    bare += laid[i] ? 0u : 1u;
  }
  return 2 * bare > pins;
}

// The words of the wrong laying that leaves the fewest faults, if it leaves few enough. What the
// artwork itself explains where the netlist does not is no wrong laying.
std::string fitting_laying(const Study& s, const Placed& placed, std::size_t placement,
                           const plan::Pieces& pieces, std::size_t faults) {
  const plan::Placement& p = s.plan.placements[placement];
  const plan::Laying as_meant{"", [](Position q) { return q; }};
  faults = std::min(faults, placed.faults(pieces_under(p, pieces, as_meant)));
  if (faults < kFewest) return "";
  std::string words;
  std::size_t fewest = faults / 3 + 1;
  for (const plan::Laying& laying : plan::likely_layings(s.board, p)) {
    const Under laid = pieces_under(p, pieces, laying);
    if (hangs_in_the_air(p, laid)) continue;
    const std::size_t left = placed.faults(laid);
    if (left >= fewest) continue;
    fewest = left;
    words = laying.words;
  }
  return words;
}

// "channels 5 and 9", the swaps that explain most, one after the other, and `fewest` at least.
std::vector<std::string> swaps(const Placed& placed, std::size_t faults, std::size_t fewest) {
  std::vector<std::string> list;
  Under under = placed.as_meant();
  const std::vector<std::size_t> involved = placed.involved(under);
  if (involved.size() > kMostToSwap) return list;
  while (true) {
    std::size_t most = 0;
    std::pair<std::size_t, std::size_t> best;
    for (std::size_t a = 0; a < involved.size(); ++a) {
      for (std::size_t b = a + 1; b < involved.size(); ++b) {
        const std::pair pair{involved[a], involved[b]};
        if (under[pair.first] == under[pair.second]) continue;
        std::swap(under[pair.first], under[pair.second]);
        const std::size_t left = placed.faults(under, pair);
        std::swap(under[pair.first], under[pair.second]);
        if (left + most >= faults) continue;
        most = faults - left;
        best = pair;
      }
    }
    if (most < fewest) return list;
    list.push_back(fmt::format("channels {} and {}", placed.probes()[best.first].channel,
                               placed.probes()[best.second].channel));
    std::swap(under[best.first], under[best.second]);
    faults -= most;
  }
}

std::string suspicion(const Study& s, std::size_t placement, std::optional<plan::Pieces>& pieces) {
  const Placed placed(s, placement);
  const std::string& name = s.plan.placements[placement].name;
  const std::size_t faults = placed.faults(placed.as_meant());
  if (faults >= kFewest) {
    if (!pieces) pieces.emplace(s.board);
    const std::string laying = fitting_laying(s, placed, placement, *pieces, faults);
    if (!laying.empty()) {
      return fmt::format("placement {} seems to be laid wrongly: the readings fit it {}", name,
                         laying);
    }
  }
  const auto [tips, missing] = placed.pins_and_missing();
  if (missing >= kFewest && 3 * missing > tips) {
    return fmt::format(
        "placement {} seems to be laid wrongly or not seated: {} of its {} tips touch nothing",
        name, missing, tips);
  }
  if (faults < 2) return "";
  std::string words;
  for (const std::string& swap : swaps(placed, faults, kFewest))
    words += (words.empty() ? "" : ", ") + swap;
  return words.empty() ? "" : fmt::format("placement {}: {} seem swapped", name, words);
}

}  // namespace

std::vector<Suspicion> laid_wrongly(const Study& s) {
  std::vector<Suspicion> list;
  std::optional<plan::Pieces> pieces;
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    // A needle that stands on the wrong pad is noticed when it lands.
    if (!s.evidence.reached(p) || s.plan.placements[p].round) continue;
    std::string words = suspicion(s, p, pieces);
    if (!words.empty()) list.push_back({p, std::move(words)});
  }
  return list;
}

std::vector<std::string> perhaps_exchanged(const Study& s,
                                           const std::vector<Suspicion>& suspicions) {
  constexpr std::size_t kOpenAndBridge = 2;
  std::vector<std::string> list;
  for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
    if (!s.evidence.reached(p) ||
        std::ranges::find(suspicions, p, &Suspicion::placement) != suspicions.end())
      continue;
    const Placed placed(s, p);
    const std::size_t faults = placed.faults(placed.as_meant());
    if (faults < kOpenAndBridge) continue;
    for (const std::string& swap : swaps(placed, faults, kOpenAndBridge))
      list.push_back(
          fmt::format("placement {}: exchanged wires of {} would read like an open and a bridge of "
                      "the board, as "
                      "found here; check them before you touch the copper",
                      s.plan.placements[p].name, swap));
  }
  return list;
}

}  // namespace isthmus::diagnose
