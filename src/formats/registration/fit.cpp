// SPDX-License-Identifier: Apache-2.0
#include "formats/registration/fit.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

namespace isthmus::formats {
namespace {

constexpr std::int64_t kCell = 100'000;  // nm: shifts that fall into one cell vote together
constexpr std::int64_t kNear = 50'000;   // nm: a centre that far off is another pad's
constexpr std::size_t kAsked = 60;       // points that vote; all of them judge
constexpr std::array<double, 7> kFactors{1.0, 25.4, 1 / 25.4, 10.0, 0.1, 2.54, 1 / 2.54};

std::int64_t distance(Position a, Position b) {
  return std::max(std::abs(a.x - b.x), std::abs(a.y - b.y));
}

const FitPlace* nearest(const std::vector<FitPlace>& places, Position at, std::uint8_t wants,
                        std::int64_t within) {
  const FitPlace* best = nullptr;
  auto it = std::ranges::lower_bound(places, Position{at.x - within, INT64_MIN}, {}, &FitPlace::at);
  for (; it != places.end() && it->at.x <= at.x + within; ++it) {
    if ((it->has & wants) == 0 || distance(it->at, at) > within) continue;
    if (best == nullptr || distance(it->at, at) < distance(best->at, at)) best = &*it;
  }
  return best;
}

void add(std::vector<FitPlace>& places, const LayerImage& layer, std::uint8_t bit,
         bool with_strokes) {
  for (const Object& o : layer.objects) {
    if (!o.dark || o.shape.empty()) continue;
    if (o.kind == ObjectKind::stroke && !with_strokes) continue;
    const auto& nets = layer.attributes[o.attributes].nets;
    const std::string net = nets && nets->size() == 1 ? nets->front() : std::string();
    Box box;
    for (const Polygon& p : o.shape) box.add(box_of(p.outer));
    places.push_back({box.centre(), bit, net});
    if (!o.spine.empty() && o.spine.front() != box.centre()) {
      places.push_back({o.spine.front(), bit, net});
    }
    if (o.kind == ObjectKind::stroke) places.push_back({o.spine.back(), bit, net});
  }
}

// Sorted, one entry a place.
std::vector<FitPlace> merged(std::vector<FitPlace> all) {
  std::ranges::stable_sort(all, {}, &FitPlace::at);
  std::vector<FitPlace> out;
  for (FitPlace& p : all) {
    if (out.empty() || out.back().at != p.at) {
      out.push_back(std::move(p));
      continue;
    }
    out.back().has |= p.has;
    if (out.back().net.empty()) out.back().net = p.net;
  }
  return out;
}

// The middle nine tenths: a few strays do not stretch it.
double spread(std::vector<std::int64_t> v) {
  std::ranges::sort(v);
  const std::size_t cut = v.size() / 10;
  return static_cast<double>(v[v.size() - 1 - cut] - v[cut]);
}

template <class Items>
std::array<double, 2> spreads(const Items& items) {
  std::vector<std::int64_t> x, y;
  for (const auto& i : items) {
    x.push_back(i.at.x);
    y.push_back(i.at.y);
  }
  return {spread(std::move(x)), spread(std::move(y))};
}

template <class Items>
std::array<double, 2> extents(const Items& items) {
  Box box;
  for (const auto& i : items) box.add(i.at);
  return {static_cast<double>(box.hi.x - box.lo.x), static_cast<double>(box.hi.y - box.lo.y)};
}

std::int64_t median(std::vector<std::int64_t>& v) {
  const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
  std::nth_element(v.begin(), middle, v.end());
  return *middle;
}

struct Candidate {
  Frame frame;
  std::size_t landed{};
};

class Voting {
 public:
  Voting(const std::vector<FitPoint>& points, const std::vector<FitPlace>& places)
      : points_(points), places_(places) {}

  // The frames of this form (mirror, factor) that most points vote for.
  void collect(const Frame& form, std::vector<Candidate>& out) const {
    constexpr std::size_t kBest = 6;
    std::vector<std::pair<std::size_t, Position>> cells = vote(form);
    std::ranges::sort(cells, [](const auto& a, const auto& b) {
      return a.first != b.first ? a.first > b.first : a.second < b.second;
    });
    if (cells.size() > kBest) cells.resize(kBest);
    for (const auto& [count, cell] : cells) {
      Frame frame = form;
      frame.shift = {cell.x * kCell + kCell / 2, cell.y * kCell + kCell / 2};
      for (const std::int64_t within : {kCell, kNear}) refine(frame, within);
      out.push_back({frame, landed(points_, places_, frame)});
    }
  }

 private:
  [[nodiscard]] std::vector<std::pair<std::size_t, Position>> vote(const Frame& form) const {
    const std::size_t every = (points_.size() + kAsked - 1) / kAsked;
    std::vector<Position> votes;
    std::size_t asked = 0;
    for (std::size_t i = 0; i < points_.size(); i += every) {
      ++asked;
      const Position from = form.apply(points_[i].at);
      for (const FitPlace& place : places_) {
        if ((place.has & points_[i].wants) == 0) continue;
        votes.push_back({cell(place.at.x - from.x), cell(place.at.y - from.y)});
      }
    }
    std::ranges::sort(votes);
    std::vector<std::pair<std::size_t, Position>> cells;
    for (std::size_t i = 0; i < votes.size();) {
      std::size_t end = i;
      while (end < votes.size() && votes[end] == votes[i]) ++end;
      // Shifts on a corner of four cells leave each a quarter of the nine tenths.
      if (5 * (end - i) >= asked) cells.push_back({end - i, votes[i]});
      i = end;
    }
    return cells;
  }

  void refine(Frame& frame, std::int64_t within) const {
    std::vector<std::int64_t> x, y;
    for (const FitPoint& p : points_) {
      const Position at = frame.apply(p.at);
      const FitPlace* place = nearest(places_, at, p.wants, within);
      if (place == nullptr) continue;
      x.push_back(place->at.x - at.x);
      y.push_back(place->at.y - at.y);
    }
    if (!x.empty()) frame.shift = frame.shift + Position{median(x), median(y)};
  }

  static std::int64_t cell(std::int64_t v) {
    return v >= 0 ? v / kCell : -((kCell - 1 - v) / kCell);
  }

  const std::vector<FitPoint>& points_;
  const std::vector<FitPlace>& places_;
};

bool same(const Frame& a, const Frame& b) {
  return a.mirror_x == b.mirror_x && a.mirror_y == b.mirror_y && a.factor == b.factor &&
         distance(a.shift, b.shift) <= kCell;
}

std::vector<Candidate> candidates(const std::vector<FitPoint>& points,
                                  const std::vector<FitPlace>& places) {
  const Voting voting(points, places);
  const auto inner = spreads(points);
  const auto room = extents(places);
  std::vector<Candidate> all;
  for (const double factor : kFactors) {
    // Nine points in ten have to find room among the places.
    if (inner[0] * factor > room[0] + kCell || inner[1] * factor > room[1] + kCell) continue;
    // A frame that shrinks all points to a tenth of the board lands by crowding, not by fitting.
    const double size = std::max(inner[0], inner[1]) * factor;
    if (factor != 1.0 && 10 * size < std::max(room[0], room[1])) continue;
    for (const bool mx : {false, true}) {
      for (const bool my : {false, true}) voting.collect({{}, mx, my, factor}, all);
    }
  }
  return all;
}

std::string witness(const std::string& net) { return net == "N/C" ? std::string() : net; }

// For each first name the second that most often goes with it.
std::map<std::string, std::string> favourites(
    const std::map<std::pair<std::string, std::string>, std::size_t>& together, bool swap) {
  std::map<std::string, std::pair<std::size_t, std::string>> best;
  for (const auto& [names, count] : together) {
    const auto& [key, value] = swap ? std::pair(names.second, names.first) : names;
    auto& b = best[key];
    if (count > b.first) b = {count, value};
  }
  std::map<std::string, std::string> out;
  for (const auto& [key, b] : best) out[key] = b.second;
  return out;
}

}  // namespace

std::vector<FitPlace> places_of(const LayerImage& layer, std::uint8_t bit, bool with_strokes) {
  std::vector<FitPlace> all;
  add(all, layer, bit, with_strokes);
  return merged(std::move(all));
}

std::vector<FitPlace> places_of(const std::vector<LayerImage>& copper,
                                const std::vector<Hole>& holes, bool with_strokes) {
  std::vector<FitPlace> all;
  for (std::size_t i = 0; i < copper.size(); ++i) {
    const std::uint8_t bit = i == 0 ? kOnTop : i + 1 == copper.size() ? kOnBottom : kOnInner;
    add(all, copper[i], bit, with_strokes);
  }
  for (const Hole& h : holes) {
    all.push_back(
        {{h.from.x + (h.to.x - h.from.x) / 2, h.from.y + (h.to.y - h.from.y) / 2}, kInHole, ""});
    if (h.from != h.to) {
      all.push_back({h.from, kInHole, ""});
      all.push_back({h.to, kInHole, ""});
    }
  }
  return merged(std::move(all));
}

std::size_t landed(const std::vector<FitPoint>& points, const std::vector<FitPlace>& places,
                   const Frame& frame) {
  return static_cast<std::size_t>(std::ranges::count_if(points, [&](const FitPoint& p) {
    return nearest(places, frame.apply(p.at), p.wants, kNear) != nullptr;
  }));
}

bool nets_contradict(const std::vector<FitPoint>& points, const std::vector<FitPlace>& places,
                     const Frame& frame) {
  std::map<std::pair<std::string, std::string>, std::size_t> together;
  std::map<std::string, std::size_t> members;
  for (const FitPoint& p : points) {
    const FitPlace* place = nearest(places, frame.apply(p.at), p.wants, kNear);
    if (place == nullptr || witness(p.net).empty() || witness(place->net).empty()) continue;
    ++together[{p.net, place->net}];
    ++members[p.net];
  }
  const auto there = favourites(together, false), back = favourites(together, true);
  std::size_t agree = 0, all = 0;
  for (const auto& [names, count] : together) {
    if (members[names.first] < 2) continue;  // a net of one point agrees with anything
    all += count;
    if (there.at(names.first) == names.second && back.at(names.second) == names.first) {
      agree += count;
    }
  }
  return all >= 8 && 10 * agree < 9 * all;
}

FitResult find_frame(const std::vector<FitPoint>& points, const std::vector<FitPlace>& places) {
  std::vector<Candidate> all = candidates(points, places);
  std::ranges::stable_sort(all, [](const auto& a, const auto& b) { return a.landed > b.landed; });
  NoFit none;
  if (!all.empty()) none = {all[0].frame, all[0].landed, false};
  const std::size_t before = all.size();
  std::erase_if(all, [&](const Candidate& c) { return 10 * c.landed < 9 * points.size(); });
  const std::size_t fitting = all.size();
  std::erase_if(all, [&](const Candidate& c) { return nets_contradict(points, places, c.frame); });
  none.by_nets = before > 0 && fitting > 0;
  if (all.empty()) return none;
  const std::size_t slack = std::max<std::size_t>(1, points.size() / 50);
  for (const Candidate& c : all) {
    if (c.landed + slack >= all[0].landed && !same(c.frame, all[0].frame)) {
      return TwoFits{all[0].frame, c.frame, all[0].landed};
    }
  }
  return all[0].frame;
}

}  // namespace isthmus::formats
