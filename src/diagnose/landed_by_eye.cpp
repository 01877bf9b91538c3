// SPDX-License-Identifier: Apache-2.0
#include "diagnose/landed_by_eye.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "isthmus/plan/landing.hpp"

namespace isthmus::diagnose {
namespace {

constexpr double kNear = 1e6;       // nm between centres; common practice, no source
constexpr double kSurelyOther = 5;  // standard deviations

using Spot = std::pair<PointId, Side>;

struct Landed {
  std::size_t placement{};
  Channel needle{};
};

class Eye {
 public:
  explicit Eye(const Study& s) : s_(s) {
    for (std::size_t p = 0; p < s.plan.placements.size(); ++p) {
      if (!s.evidence.reached(p)) continue;
      for (const plan::Probe& probe : s.plan.placements[p].probes) {
        if (probe.clip) continue;
        if (!s.plan.placements[p].round)
          by_plate_.insert(probe.point);
        else if (s.evidence.touch(p, probe.channel) == Touch::proven)
          landings_[{probe.point, probe.side}].push_back({p, probe.channel});
      }
    }
  }

  [[nodiscard]] std::vector<ByEye> run() const {
    std::vector<ByEye> list;
    for (const auto& landed : landings_) {
      const auto& spot = landed.first;
      const auto& landings = landed.second;
      if (by_plate_.contains(spot.first)) continue;
      for (const PointId q : neighbours(spot)) {
        if (std::ranges::any_of(landings, [&](const Landed& l) { return tells(l, spot, q); }))
          continue;
        list.push_back({spot.first, q, group(spot.first) == group(q)});
        break;  // one is enough to say so
      }
    }
    return list;
  }

 private:
  [[nodiscard]] const expect::Point& point(PointId p) const {
    return s_.board.expectation.point(p);
  }
  [[nodiscard]] std::optional<GroupId> group(PointId p) const { return point(p).group; }

  // Copper of another node on that side, so that something may lie between.
  [[nodiscard]] std::vector<PointId> neighbours(const Spot& spot) const {
    std::vector<PointId> list;
    const auto& [p, side] = spot;
    const Position at = point(p).at;
    const std::uint32_t node = s_.board.faults.node_of(p, side);
    const auto& points = s_.board.expectation.points;
    for (std::size_t i = 0; i < points.size(); ++i) {
      const auto q = PointId{static_cast<std::uint32_t>(i)};
      if (q == p || !points[i].group || distance_nm(points[i].at, at) > kNear) continue;
      const std::uint32_t other = s_.board.faults.node_of(q, side);
      if (other != expect::Wiring::kNone && other != node) list.push_back(q);
    }
    return list;
  }

  [[nodiscard]] bool tells(const Landed& l, const Spot& spot, PointId q) const {
    if (group(spot.first) == group(q)) return resistance_tells(l, {q, spot.second});
    const plan::Placement& placement = s_.plan.placements[l.placement];
    const auto own = plan::own_channels(s_.board, placement, l.needle);
    if (std::ranges::any_of(own, [&](Channel c) {
          return s_.evidence.between(l.placement, l.needle, c).conducts();
        }))
      return true;
    return std::ranges::any_of(placement.probes, [&](const plan::Probe& x) {
      return x.channel != l.needle && group(x.point) == group(q) &&
             s_.isolation[l.placement].isolated(l.needle, x.channel);
    });
  }

  // Between the clip and either pad the copper differs by more than readings can be off.
  [[nodiscard]] bool resistance_tells(const Landed& l, const Spot& other) const {
    const auto there = landings_.find(other);
    if (s_.plan.wires != 4 || there == landings_.end()) return false;
    const plan::Placement& placement = s_.plan.placements[l.placement];
    for (const plan::Probe& clip : placement.probes) {
      const Heard here = s_.evidence.between(l.placement, l.needle, clip.channel);
      if (!clip.clip || !here.predicted || !here.conducts()) continue;
      for (const Landed& o : there->second) {
        const plan::Placement& of_other = s_.plan.placements[o.placement];
        const Heard h = s_.evidence.between(o.placement, o.needle, clip.channel);
        if (of_other.round != placement.round || !h.predicted) continue;
        if (differ(here, *h.predicted)) return true;
      }
    }
    return false;
  }

  [[nodiscard]] bool differ(const Heard& here, const copper::Predicted& other) const {
    const Band band = band_of(*here.predicted, s_.fitted), wrong = band_of(other, s_.fitted);
    const double sd = std::hypot(
        here.predicted->uncertainty.value, other.uncertainty.value,
        s_.fitted.contacts.reach);  // of two contacts: three deviations, so on the safe side
    const double apart = std::fabs(band.expected - wrong.expected);
    return apart > kSurelyOther * sd &&
           std::fabs(here.least() - wrong.expected) > kSurelyOther * sd;
  }

  const Study& s_;
  std::map<Spot, std::vector<Landed>> landings_;
  std::set<PointId> by_plate_;
};

std::string names(const Study& s, const std::vector<ByEye>& list, bool one_net) {
  constexpr std::size_t kShown = 8;
  std::vector<std::string> names;
  std::size_t count = 0;
  for (const ByEye& b : list) {
    if (b.one_net != one_net || ++count > kShown) continue;
    names.push_back(fmt::format("{} (or {})", s.board.expectation.point(b.at).id,
                                s.board.expectation.point(b.beside).id));
  }
  std::string text = fmt::format("{}", fmt::join(names, ", "));
  if (count > kShown) text += fmt::format(" and {} more", count - kShown);
  return text;
}

}  // namespace

std::vector<ByEye> landed_by_eye(const Study& s) { return Eye(s).run(); }

std::string in_words(const Study& s, const std::vector<ByEye>& list) {
  if (list.empty()) return "";
  const auto one_net = static_cast<std::size_t>(std::ranges::count(list, true, &ByEye::one_net));
  std::string text = fmt::format(
      "landed by eye: {} pad{} of which no reading says that the needle stood there and not on the "
      "pad beside, within 1 mm",
      list.size(), list.size() == 1 ? "" : "s");
  if (list.size() > one_net)
    text += fmt::format("; a clip on one of the two nets, and another touch, would tell {}",
                        names(s, list, false));
  if (one_net > 0)
    text += fmt::format("; on one net, where a break between the two could hide: {}",
                        names(s, list, true));
  return text;
}

}  // namespace isthmus::diagnose
