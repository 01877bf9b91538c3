// SPDX-License-Identifier: Apache-2.0
#include "copper/gaps/stretch.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <tuple>

namespace isthmus::copper {
namespace {

constexpr double kShieldedShare =
    0.1;                           // of the weight, behind a third island; our judgement, no source
constexpr double kRise = 1.5;      // between two minima, that parts them
constexpr double kJump = 150'000;  // nm; the middle line does not leap farther in one step
constexpr double kPathTolerance = 2'000;  // nm
constexpr double kSamePlace = 200'000;    // nm
constexpr double kStep = 50'000;          // nm; length given to a place without a stretch

using Stretch = std::vector<View>;

Spot middle(const Across& a) { return {(a.here.x + a.there.x) / 2, (a.here.y + a.there.y) / 2}; }
double apart(Spot a, Spot b) { return std::hypot(a.x - b.x, a.y - b.y); }

bool follows(const View& before, const View& after, std::uint32_t steps) {
  return before.contour == after.contour && (before.step + 1) % steps == after.step &&
         before.shielded == after.shielded &&
         apart(middle(before.from_middle), middle(after.from_middle)) <= kJump;
}

// Runs of views that follow each other, also across the place where a contour begins.
std::vector<Stretch> runs_of(const std::vector<View>& views, std::span<const std::uint32_t> steps) {
  std::vector<Stretch> runs;
  for (std::size_t i = 0; i < views.size();) {
    const std::uint32_t contour = views[i].contour;
    const std::size_t first_run = runs.size();
    for (; i < views.size() && views[i].contour == contour; ++i) {
      const bool joins =
          runs.size() > first_run && follows(runs.back().back(), views[i], steps[contour]);
      if (!joins) runs.emplace_back();
      runs.back().push_back(views[i]);
    }
    const bool wraps = runs.size() > first_run + 1 &&
                       follows(runs.back().back(), runs[first_run].front(), steps[contour]);
    if (!wraps) continue;
    Stretch& last = runs.back();
    last.insert(last.end(), runs[first_run].begin(), runs[first_run].end());
    runs[first_run] = std::move(last);
    runs.pop_back();
  }
  return runs;
}

// The place to part a stretch: where the gap is widest against the narrower places on both sides.
// 0: nowhere.
std::size_t parting(std::span<const View> s) {
  std::vector<double> least_after(s.size() + 1, std::numeric_limits<double>::infinity());
  for (std::size_t i = s.size(); i-- > 0;) {
    least_after[i] = std::min(least_after[i + 1], s[i].from_middle.distance_nm);
  }
  double least_before = std::numeric_limits<double>::infinity(), best = kRise;
  std::size_t at = 0;
  for (std::size_t i = 0; i < s.size(); ++i) {
    const double d = s[i].from_middle.distance_nm;
    const double ratio = d / std::max({least_before, least_after[i + 1], 1.0});
    if (ratio > best) best = ratio, at = i;
    least_before = std::min(least_before, d);
  }
  return at;
}

void part(std::span<const View> s, std::vector<std::span<const View>>& out) {
  while (const std::size_t at = parting(s)) {
    part(s.first(at), out);
    s = s.subspan(at);
  }
  out.push_back(s);
}

// Keeps the places that the polyline needs to stay within the tolerance.
void simplify(const std::vector<Spot>& line, std::size_t first, std::size_t last,
              std::vector<Position>& out) {
  const Spot a = line[first], b = line[last];
  const double length = apart(a, b);
  double worst = kPathTolerance;
  std::size_t at = 0;
  for (std::size_t i = first + 1; i < last; ++i) {
    const Spot p = line[i];
    const double t = length > 0
                         ? std::clamp(((p.x - a.x) * (b.x - a.x) + (p.y - a.y) * (b.y - a.y)) /
                                          (length * length),
                                      0.0, 1.0)
                         : 0.0;
    const double off = apart(p, {a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t});
    if (off > worst) worst = off, at = i;
  }
  if (at == 0) {
    out.push_back(rounded(b));
    return;
  }
  simplify(line, first, at, out);
  simplify(line, at, last, out);
}

Facing facing_of(std::span<const View> s) {
  Facing facing;
  const View* best = &s.front();
  std::vector<Spot> line;
  for (const View& v : s) {
    if (v.nearest.distance_nm < best->nearest.distance_nm) best = &v;
    line.push_back(middle(v.from_middle));
  }
  facing.distance_nm = best->nearest.distance_nm;
  facing.on_a = rounded(best->nearest.here);
  facing.on_b = rounded(best->nearest.there);
  facing.shielded = s.front().shielded;
  for (std::size_t i = 0; i < s.size(); ++i) {
    const double before = i == 0 ? s[i].length_nm : apart(line[i - 1], line[i]);
    const double after = i + 1 == s.size() ? s[i].length_nm : apart(line[i], line[i + 1]);
    const double length = (before + after) / 2;
    facing.length_nm += length;
    facing.weight +=
        length * s[i].squareness / std::max(s[i].from_middle.distance_nm, kLeastGapOfWeight);
  }
  if (facing.shielded) facing.weight *= kShieldedShare;
  facing.path.push_back(rounded(line.front()));
  if (line.size() > 1) simplify(line, 0, line.size() - 1, facing.path);
  facing.path.erase(std::unique(facing.path.begin(), facing.path.end()), facing.path.end());
  return facing;
}

// The closest approach may lie where no stretch looks, at the tip of a needle: it must be there all
// the same.
void keep_nearest(const Across& nearest, std::vector<Facing>& facings) {
  Facing* beside = nullptr;
  double least = kSamePlace;
  for (Facing& f : facings) {
    if (f.distance_nm <= nearest.distance_nm + 0.5) return;
    const double off =
        apart(nearest.here, {static_cast<double>(f.on_a.x), static_cast<double>(f.on_a.y)});
    if (off < least) least = off, beside = &f;
  }
  if (beside == nullptr) {
    beside = &facings.emplace_back();
    beside->path.push_back(rounded(middle(nearest)));
    beside->weight = kStep / std::max(nearest.distance_nm, kLeastGapOfWeight);
  }
  beside->distance_nm = nearest.distance_nm;
  beside->on_a = rounded(nearest.here);
  beside->on_b = rounded(nearest.there);
}

}  // namespace

std::vector<Facing> facings_of(const Sight& sight, std::span<const std::uint32_t> steps) {
  std::vector<Facing> facings;
  for (const Stretch& run : runs_of(sight.views, steps)) {
    std::vector<std::span<const View>> parts;
    part(run, parts);
    for (std::span<const View> p : parts) facings.push_back(facing_of(p));
  }
  keep_nearest(sight.nearest, facings);
  std::sort(facings.begin(), facings.end(), [](const Facing& a, const Facing& b) {
    return std::tie(a.distance_nm, a.on_a, a.on_b) < std::tie(b.distance_nm, b.on_a, b.on_b);
  });
  return facings;
}

}  // namespace isthmus::copper
