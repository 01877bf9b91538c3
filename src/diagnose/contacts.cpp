// SPDX-License-Identifier: Apache-2.0
#include "diagnose/contacts.hpp"

#include <algorithm>
#include <cmath>

namespace isthmus::diagnose {
namespace {

// Of one reading: what the meter scales by, what a contact changes by between two readings, and a
// floor. Common practice, no source.
constexpr double kShare = 0.002, kFloor = 0.001;
constexpr double kNoNoise = 3;

bool read_at_all(const Heard& h) { return h.highs == 0 && !(h.lows.empty() && h.dull.empty()); }

const Heard* found(const HeardPairs& read, Channel a, Channel b) {
  const auto it = read.find(std::minmax(a, b));
  return it == read.end() || !read_at_all(it->second) ? nullptr : &it->second;
}

class Placed {
 public:
  Placed(const plan::Placement& placement, const HeardPairs& read,
         const std::map<Channel, std::vector<double>>& twins)
      : read_(read), twins_(twins) {
    for (const plan::Probe& p : placement.probes) twin_of_[p.channel] = p.twin;
  }

  [[nodiscard]] bool has_probe(Channel c) const { return twin_of_.contains(c); }

  [[nodiscard]] std::optional<Bare> bare(Channel a, Channel b, const Heard& h) const {
    if (auto exact = by_twins(a, b, h)) return exact;
    std::optional<Bare> most;
    for (const auto& [hub, far] : {std::pair{a, b}, std::pair{b, a}}) {
      const auto least = by_fellows(hub, far, h);
      if (least && (!most || least->ohms > most->ohms)) most = least;
    }
    return most;
  }

 private:
  [[nodiscard]] std::optional<Bare> by_twins(Channel a, Channel b, const Heard& h) const {
    const auto ta = twin_of_.at(a), tb = twin_of_.at(b);
    const auto ca = twins_.find(a), cb = twins_.find(b);
    if (!ta || !tb || ca == twins_.end() || cb == twins_.end()) return std::nullopt;
    const Heard* other = found(read_, *ta, *tb);
    if (!other) return std::nullopt;
    const double parts[] = {h.least(), other->least(), middle_of(ca->second),
                            middle_of(cb->second)};
    Bare out{(parts[0] + parts[1] - parts[2] - parts[3]) / 2, 0, false};
    double square = 0;
    for (const double p : parts) square += std::pow(kShare * p + kFloor, 2);
    // A contact that changes from one reading to the next says less.
    for (const auto* twin : {&ca->second, &cb->second}) {
      const auto [least, most] = std::ranges::minmax(*twin);
      square += std::pow((most - least) / 2, 2);
    }
    out.sd = std::sqrt(square) / 2;
    if (out.ohms < -kNoNoise * out.sd) return std::nullopt;  // something moved meanwhile
    return out;
  }

  // The least resistance of any other tip to the hub bounds the hub's own contact.
  [[nodiscard]] std::optional<Bare> by_fellows(Channel hub, Channel far, const Heard& h) const {
    double hubs_own = INFINITY;
    std::vector<std::pair<Channel, double>> others;
    for (const auto& [pair, other] : read_) {
      if ((pair.first != hub && pair.second != hub) || !read_at_all(other)) continue;
      const Channel end = pair.first == hub ? pair.second : pair.first;
      if (end == far || !has_probe(end)) continue;
      hubs_own = std::min(hubs_own, other.least());
      others.emplace_back(end, other.least());
    }
    std::optional<Bare> most;
    for (const auto& [end, ohms] : others) {
      const Heard* across = found(read_, far, end);
      if (!across) continue;
      const double sum = h.least() + ohms + across->least();
      const Bare bare{(h.least() + ohms - across->least()) / 2 - hubs_own, kShare * sum + kFloor,
                      true};
      if (!most || bare.ohms > most->ohms) most = bare;
    }
    return most;
  }

  const HeardPairs& read_;
  const std::map<Channel, std::vector<double>>& twins_;
  std::map<Channel, std::optional<Channel>> twin_of_;
};

// A reading beyond the limit: by its copper, or by its contacts.
void settle_dull(Heard& h) {
  if (!h.dull_only() || !h.bare) return;
  if (h.bare->ohms - kGuard * h.bare->sd > h.limit) {
    h.highs += h.dull.size();
    h.dull.clear();
  } else if (!h.bare->at_least && h.bare->ohms + kGuard * h.bare->sd < h.limit) {
    h.lows = std::move(h.dull);
    h.dull.clear();
  }
}

}  // namespace

HeardPairs between_probes(const plan::Placement& placement, const HeardPairs& read,
                          const std::map<Channel, std::vector<double>>& twins) {
  const Placed placed(placement, read, twins);
  HeardPairs out;
  for (const auto& [pair, h] : read) {
    if (!placed.has_probe(pair.first) || !placed.has_probe(pair.second)) continue;
    Heard& heard = out[pair] = h;
    if (!read_at_all(h) || h.least() < kLeastToTell) continue;
    heard.bare = placed.bare(pair.first, pair.second, h);
    settle_dull(heard);
  }
  return out;
}

double middle_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::ranges::nth_element(values, middle);
  return *middle;
}

}  // namespace isthmus::diagnose
