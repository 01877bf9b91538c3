// SPDX-License-Identifier: Apache-2.0
#include "plan/hand/route.hpp"

#include <algorithm>

namespace isthmus::plan::hand {
namespace {

using Way = std::vector<Place>;

double between(const Place& a, const Place& b) { return distance_nm(a.at, b.at); }

// Of an open way, place `i` follows place i - 1; place 0 is where it begins.
class Improver {
 public:
  explicit Improver(Way& way) : way_(way) {}

  void run() {
    constexpr int kMostPasses = 30;
    for (int pass = 0; pass < kMostPasses && (two_opt() || or_opt()); ++pass) {
    }
  }

 private:
  [[nodiscard]] double link(std::size_t i) const {
    return i + 1 < way_.size() ? between(way_[i], way_[i + 1]) : 0;
  }

  bool two_opt() {
    bool better = false;
    for (std::size_t i = 0; i + 2 < way_.size(); ++i) {
      for (std::size_t k = i + 2; k < way_.size(); ++k) {
        const double now = link(i) + link(k);
        const double then = between(way_[i], way_[k]) +
                            (k + 1 < way_.size() ? between(way_[i + 1], way_[k + 1]) : 0);
        if (then + 1 >= now) continue;
        std::reverse(at(i + 1), at(k + 1));
        better = true;
      }
    }
    return better;
  }

  // Moves up to three in a row to where they fit better.
  bool or_opt() {
    bool better = false;
    for (std::size_t length = 1; length <= 3; ++length) {
      for (std::size_t i = 1; i + length <= way_.size(); ++i) better |= move(i, length);
    }
    return better;
  }

  bool move(std::size_t i, std::size_t length) {
    const std::size_t last = i + length - 1;
    const bool end = last + 1 == way_.size();
    const double gain = link(i - 1) + link(last) - (end ? 0 : between(way_[i - 1], way_[last + 1]));
    for (std::size_t k = 0; k < way_.size(); ++k) {
      if (k + 1 >= i && k <= last) continue;
      const double cost = between(way_[k], way_[i]) +
                          (k + 1 < way_.size() ? between(way_[last], way_[k + 1]) : 0) - link(k);
      if (cost + 1 >= gain) continue;
      if (k < i)
        std::rotate(at(k + 1), at(i), at(last + 1));
      else
        std::rotate(at(i), at(last + 1), at(k + 1));
      return true;
    }
    return false;
  }

  [[nodiscard]] Way::iterator at(std::size_t i) {
    return way_.begin() + static_cast<std::ptrdiff_t>(i);
  }

  Way& way_;
};

void append_nearest(Way& way, Way places) {
  while (!places.empty()) {
    const auto next = way.empty()
                          ? std::ranges::min_element(
                                places, {}, [](const Place& p) { return std::pair(p.at, p.point); })
                          : std::ranges::min_element(places, {}, [&](const Place& p) {
                              return std::pair(between(way.back(), p), p.point);
                            });
    way.push_back(*next);
    places.erase(next);
  }
}

}  // namespace

double travel(const Place& a, const Place& b) {
  constexpr double kTurn = 100e6;
  return between(a, b) + (a.side == b.side ? 0 : kTurn);
}

std::vector<Place> route(std::vector<Place> places, const std::optional<Place>& from) {
  const Side first = from ? from->side : Side::top;
  Way out;
  std::optional<Place> start = from;
  for (const Side side : {first, first == Side::top ? Side::bottom : Side::top}) {
    Way here, way;
    for (const Place& p : places) {
      if (p.side == side) here.push_back(p);
    }
    if (start) way.push_back(*start);
    append_nearest(way, std::move(here));
    Improver(way).run();
    if (!way.empty()) out.insert(out.end(), way.begin() + (start ? 1 : 0), way.end());
    if (!out.empty()) start = out.back();
  }
  return out;
}

}  // namespace isthmus::plan::hand
