// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <array>
#include <cmath>
#include <deque>
#include <map>

#include "tests/audit/faults.hpp"
#include "tests/audit/skeleton.hpp"

namespace isthmus::audit {
namespace {

struct Way {
  double x{}, y{};  // unit
};

class Slitter {
 public:
  Slitter(const Raster& raster, const Wish& wish, std::int32_t layer)
      : raster_(raster),
        grid_(raster.grid),
        wish_(wish),
        layer_(layer),
        copper_(raster.copper[static_cast<std::size_t>(layer)]),
        lines_(skeleton_of(grid_, copper_)),
        depth_(depth_of(grid_, copper_)) {}
  void run(std::vector<Fault>& out);

 private:
  [[nodiscard]] Way direction(std::int32_t x, std::int32_t y) const;
  [[nodiscard]] Fault slit(std::int32_t x, std::int32_t y) const;
  [[nodiscard]] Side side() const;
  // False where a slit lies closer than that.
  bool claim(std::int32_t x, std::int32_t y, double apart);
  void walk(std::size_t start, std::vector<Fault>& out);

  const Raster& raster_;
  const Grid& grid_;
  const Wish& wish_;
  std::int32_t layer_;
  const Bitmap& copper_;
  Bitmap lines_;
  std::vector<std::uint16_t> depth_;
  std::vector<std::uint8_t> seen_;
  std::map<std::pair<std::int32_t, std::int32_t>, std::array<std::int32_t, 2>> taken_;
};

Side Slitter::side() const {
  if (layer_ == 0) return Side::top;
  return layer_ + 1 == raster_.layers() ? Side::bottom : Side::both;
}

// Main axis of the middle line within four cells of walk.
Way Slitter::direction(std::int32_t x, std::int32_t y) const {
  std::vector<std::array<std::int32_t, 3>> found{{x, y, 0}};
  for (std::size_t i = 0; i < found.size(); ++i) {
    const auto [cx, cy, far] = found[i];
    if (far == 4) continue;
    for (std::int32_t dy = -1; dy <= 1; ++dy) {
      for (std::int32_t dx = -1; dx <= 1; ++dx) {
        const std::int32_t nx = cx + dx, ny = cy + dy;
        if (!grid_.holds(nx, ny) || !lines_[grid_.at(nx, ny)]) continue;
        const bool known =
            std::ranges::any_of(found, [&](const auto& f) { return f[0] == nx && f[1] == ny; });
        if (!known) found.push_back({nx, ny, far + 1});
      }
    }
  }
  double mx = 0, my = 0, xx = 0, xy = 0, yy = 0;
  const double n = static_cast<double>(found.size());
  for (const auto& f : found) mx += f[0] / n, my += f[1] / n;
  for (const auto& f : found) {
    xx += (f[0] - mx) * (f[0] - mx), yy += (f[1] - my) * (f[1] - my);
    xy += (f[0] - mx) * (f[1] - my);
  }
  const double angle = 0.5 * std::atan2(2 * xy, xx - yy);
  return {std::cos(angle), std::sin(angle)};
}

Fault Slitter::slit(std::int32_t x, std::int32_t y) const {
  const Way way = direction(x, y);
  const double reach = depth_[grid_.at(x, y)] / 10.0 * 1.08 + 1;
  const double half =
      static_cast<double>(wish_.slit.value) / static_cast<double>(grid_.cell) / 2 + 0.01;
  const Label conductor = raster_.label_at({layer_, x, y});
  Fault fault;
  fault.kind = FaultKind::slit;
  fault.at = grid_.middle(x, y);
  fault.side = side();
  fault.layer = layer_;
  const auto far = static_cast<std::int32_t>(reach) + 1;
  for (std::int32_t dy = -far; dy <= far; ++dy) {
    for (std::int32_t dx = -far; dx <= far; ++dx) {
      if (std::hypot(dx, dy) > reach || std::fabs(dx * way.x + dy * way.y) > std::max(half, 0.75))
        continue;
      if (!grid_.holds(x + dx, y + dy) || !copper_[grid_.at(x + dx, y + dy)]) continue;
      const Cell c{layer_, x + dx, y + dy};
      if (raster_.label_at(c) == conductor) fault.removed.push_back(c);
    }
  }
  return fault;
}

bool Slitter::claim(std::int32_t x, std::int32_t y, double apart) {
  const auto gx = static_cast<std::int32_t>(x / apart), gy = static_cast<std::int32_t>(y / apart);
  for (std::int32_t dy = -1; dy <= 1; ++dy) {
    for (std::int32_t dx = -1; dx <= 1; ++dx) {
      const auto it = taken_.find({gx + dx, gy + dy});
      if (it == taken_.end()) continue;
      if (std::hypot(it->second[0] - x, it->second[1] - y) < apart) return false;
    }
  }
  taken_[{gx, gy}] = {x, y};
  return true;
}

// Along the line, a slit each time the last one on the way here is a step away.
void Slitter::walk(std::size_t start, std::vector<Fault>& out) {
  struct Here {
    std::size_t cell;
    double since;  // cells walked since the last slit
  };
  const double step = static_cast<double>(wish_.step.value) / static_cast<double>(grid_.cell);
  const double deepest =
      static_cast<double>(wish_.widest.value) / static_cast<double>(grid_.cell) / 2;
  std::deque<Here> queue{{start, step}};
  seen_[start] = 1;
  while (!queue.empty()) {
    auto [cell, since] = queue.front();
    queue.pop_front();
    const auto x = static_cast<std::int32_t>(cell % static_cast<std::size_t>(grid_.width));
    const auto y = static_cast<std::int32_t>(cell / static_cast<std::size_t>(grid_.width));
    if (since >= step - 0.5) {
      const bool first = claim(x, y, step / 2);  // lines are two cells wide at corners of stairs
      if (first && depth_[cell] / 10.0 <= deepest) out.push_back(slit(x, y));
      since = 0;
    }
    for (std::int32_t dy = -1; dy <= 1; ++dy) {
      for (std::int32_t dx = -1; dx <= 1; ++dx) {
        if (!grid_.holds(x + dx, y + dy)) continue;
        const std::size_t next = grid_.at(x + dx, y + dy);
        if (!lines_[next] || seen_[next]) continue;
        seen_[next] = 1;
        queue.push_back({next, since + std::hypot(dx, dy)});
      }
    }
  }
}

void Slitter::run(std::vector<Fault>& out) {
  seen_.assign(lines_.size(), 0);
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    if (lines_[i] && !seen_[i]) walk(i, out);
  }
}

}  // namespace

std::vector<Fault> make_slits(const Raster& raster, const Wish& wish) {
  std::vector<Fault> out;
  for (std::int32_t layer = 0; layer < raster.layers(); ++layer) {
    if (!raster.copper[static_cast<std::size_t>(layer)].empty())
      Slitter(raster, wish, layer).run(out);
  }
  return out;
}

std::vector<Fault> make_emptied(const Raster& raster) {
  std::vector<Fault> out;
  std::map<std::vector<Label>, std::vector<std::size_t>> sets;
  for (std::size_t m = 0; m < raster.metals.size(); ++m) {
    Fault fault;
    fault.kind = FaultKind::hole;
    fault.emptied = {m};
    fault.at = raster.metals[m].at;
    fault.side = Side::both;
    out.push_back(fault);
    std::vector<Label> islands;
    for (const Span& s : raster.metals[m].feet) islands.push_back(raster.island[s.run]);
    std::ranges::sort(islands);
    islands.erase(std::unique(islands.begin(), islands.end()), islands.end());
    if (islands.size() > 1) sets[islands].push_back(m);
  }
  for (const auto& [islands, metals] : sets) {
    if (metals.size() < 2) continue;
    Fault fault;
    fault.kind = FaultKind::ways;
    fault.emptied = metals;
    fault.at = raster.metals[metals.front()].at;
    fault.side = Side::both;
    out.push_back(fault);
  }
  return out;
}

}  // namespace isthmus::audit
