// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <map>

#include "tests/audit/faults.hpp"

namespace isthmus::audit {
namespace {

struct Facing {
  float distance;    // cells
  std::size_t a, b;  // cells of copper on its two ends
};

// Spreads every copper cell into the empty cells around; where two conductors' fronts meet lies a
// facing.
class Fronts {
 public:
  Fronts(const Raster& raster, std::int32_t layer, const Wish& wish)
      : raster_(raster),
        grid_(raster.grid),
        layer_(layer),
        window_(static_cast<double>(wish.window.value) / static_cast<double>(grid_.cell)),
        along_(static_cast<double>(wish.along.value) / static_cast<double>(grid_.cell)) {}
  void run(std::vector<Fault>& out);

 private:
  using Pairs = std::map<std::pair<Label, Label>, std::vector<Facing>>;
  void seed();
  void spread();
  Pairs meet() const;
  void choose(std::vector<Facing> facings, std::vector<Fault>& out) const;
  [[nodiscard]] Fault splash(const Facing& f) const;
  [[nodiscard]] double apart(std::size_t a, std::size_t b) const;
  [[nodiscard]] Cell cell(std::size_t i) const {
    const auto w = static_cast<std::size_t>(grid_.width);
    return {layer_, static_cast<std::int32_t>(i % w), static_cast<std::int32_t>(i / w)};
  }

  const Raster& raster_;
  const Grid& grid_;
  std::int32_t layer_;
  double window_, along_;
  std::vector<std::uint32_t> source_;            // nearest copper cell, by cell
  std::map<std::size_t, std::size_t> metal_at_;  // cells in holes that metal fills
  std::vector<Label> label_;
};

double Fronts::apart(std::size_t a, std::size_t b) const {
  const Cell p = cell(a), q = cell(b);
  return std::hypot(p.x - q.x, p.y - q.y);
}

void Fronts::seed() {
  source_.assign(grid_.size(), kNone);
  label_.assign(grid_.size(), kNone);
  const auto& first = raster_.first_run[static_cast<std::size_t>(layer_)];
  for (std::uint32_t r = first.front(); r < first.back(); ++r) {
    const Run& run = raster_.runs[r];
    for (std::int32_t x = run.x0; x <= run.x1; ++x) {
      const std::size_t i = grid_.at(x, run.y);
      source_[i] = static_cast<std::uint32_t>(i);
      label_[i] = raster_.label[r];
    }
  }
  if (layer_ != 0 && layer_ + 1 != raster_.layers()) return;
  for (const Drilled& hole : raster_.holes) {  // bent ends and solder of joins made by hand
    if (!hole.metal || !raster_.metals[*hole.metal].by_hand) continue;
    for (const Segment& axis : hole.axes) {
      const double radius = static_cast<double>(hole.diameter.value) / 2;
      for (const Cell& c : cells_near(grid_, layer_, axis, radius)) {
        const std::size_t i = grid_.at(c.x, c.y);
        source_[i] = static_cast<std::uint32_t>(i);
        label_[i] = raster_.label[raster_.metal_node(*hole.metal)];
        metal_at_[i] = *hole.metal;
      }
    }
  }
}

// Two sweeps of vector propagation, forth and back: nearest sources within a fraction of a cell.
void Fronts::spread() {
  const auto take = [&](std::size_t i, std::int32_t x, std::int32_t y) {
    if (!grid_.holds(x, y)) return;
    const std::uint32_t s = source_[grid_.at(x, y)];
    if (s == kNone) return;
    const double d = apart(i, s);
    if (d > window_ || (source_[i] != kNone && apart(i, source_[i]) <= d)) return;
    source_[i] = s;
  };
  const auto row = [&](std::int32_t y, std::int32_t from) {
    for (std::int32_t x = 0; x < grid_.width; ++x) {
      const std::size_t i = grid_.at(x, y);
      if (source_[i] == i) continue;
      take(i, x - 1, y), take(i, x - 1, y + from), take(i, x, y + from), take(i, x + 1, y + from);
    }
    for (std::int32_t x = grid_.width - 1; x >= 0; --x) {
      const std::size_t i = grid_.at(x, y);
      if (source_[i] != i) take(i, x + 1, y);
    }
  };
  for (std::int32_t y = 0; y < grid_.height; ++y) row(y, -1);
  for (std::int32_t y = grid_.height - 1; y >= 0; --y) row(y, 1);
}

Fronts::Pairs Fronts::meet() const {
  Pairs pairs;
  const auto look = [&](std::size_t i, std::size_t j) {
    std::size_t a = source_[i], b = source_[j];
    if (a == kNone || b == kNone || label_[a] == label_[b]) return;
    const double d = apart(a, b);  // from middle to middle: the gap itself is not wider
    if (d > window_) return;
    if (label_[a] > label_[b]) std::swap(a, b);
    pairs[{label_[a], label_[b]}].push_back({static_cast<float>(d), a, b});
  };
  for (std::int32_t y = 0; y + 1 < grid_.height; ++y) {
    for (std::int32_t x = 0; x + 1 < grid_.width; ++x) {
      look(grid_.at(x, y), grid_.at(x + 1, y));
      look(grid_.at(x, y), grid_.at(x, y + 1));
    }
  }
  return pairs;
}

Fault Fronts::splash(const Facing& f) const {
  const auto hold = [&](std::size_t i) {
    const auto metal = metal_at_.find(i);
    return metal == metal_at_.end() ? Hold{cell(i), {}} : Hold{cell(i), metal->second};
  };
  Fault fault;
  fault.kind = FaultKind::splash;
  fault.joined = {{hold(f.a), hold(f.b)}};
  const Position p = grid_.middle(cell(f.a).x, cell(f.a).y);
  const Position q = grid_.middle(cell(f.b).x, cell(f.b).y);
  fault.at = {(p.x + q.x) / 2, (p.y + q.y) / 2};
  fault.layer = layer_;
  fault.side = layer_ == 0 ? Side::top : layer_ + 1 == raster_.layers() ? Side::bottom : Side::both;
  return fault;
}

void Fronts::choose(std::vector<Facing> facings, std::vector<Fault>& out) const {
  std::ranges::sort(facings, [](const Facing& l, const Facing& r) {
    return std::tie(l.distance, l.a, l.b) < std::tie(r.distance, r.a, r.b);
  });
  std::map<std::pair<int, int>, std::vector<std::size_t>> chosen;  // by squares of `along`
  for (const Facing& f : facings) {
    const Cell c = cell(f.a);
    const int gx = static_cast<int>(c.x / along_), gy = static_cast<int>(c.y / along_);
    bool near = false;
    for (int dy = -1; dy <= 1 && !near; ++dy) {
      for (int dx = -1; dx <= 1 && !near; ++dx) {
        const auto it = chosen.find({gx + dx, gy + dy});
        near = it != chosen.end() && std::ranges::any_of(it->second, [&](std::size_t other) {
                 return apart(f.a, other) < along_;
               });
      }
    }
    if (near) continue;
    chosen[{gx, gy}].push_back(f.a);
    out.push_back(splash(f));
  }
}

void Fronts::run(std::vector<Fault>& out) {
  seed();
  spread();
  for (auto& [labels, facings] : meet()) choose(std::move(facings), out);
}

}  // namespace

std::vector<Fault> make_splashes(const Raster& raster, const Wish& wish) {
  std::vector<Fault> out;
  for (std::int32_t layer = 0; layer < raster.layers(); ++layer) {
    if (!raster.copper[static_cast<std::size_t>(layer)].empty())
      Fronts(raster, layer, wish).run(out);
  }
  return out;
}

std::vector<Fault> mask(const Fault& slit, const Raster& raster, const std::vector<Fault>& splashes,
                        Faulty& scratch) {
  constexpr double kNear = 4e6;  // nm
  constexpr std::size_t kMost = 4;
  Label cut = kNone;
  for (const Cell& c : slit.removed) cut = std::min(cut, raster.label_at(c));
  if (cut == kNone) return {};
  scratch.apply(slit);
  struct Two {
    std::map<Label, std::pair<double, const Fault*>> by_piece;  // nearest splash of each
  };
  std::map<Label, Two> others;
  for (const Fault& s : splashes) {
    const double d = distance_nm(s.at, slit.at);
    if (d > kNear) continue;
    const auto& [a, b] = s.joined.front();
    for (const auto& [mine, theirs] : {std::pair{a, b}, std::pair{b, a}}) {
      if (mine.metal || theirs.metal || raster.label_at(mine.cell) != cut) continue;
      const Label piece = scratch.at(mine.cell);
      if (piece == kNone) continue;
      auto& best = others[raster.label_at(theirs.cell)].by_piece;
      const auto it = best.find(piece);
      if (it == best.end() || d < it->second.first) best[piece] = {d, &s};
    }
  }
  std::vector<Fault> out;
  for (const auto& [other, two] : others) {
    if (two.by_piece.size() < 2 || out.size() == kMost) continue;
    Fault fault = slit;
    fault.kind = FaultKind::masked;
    for (const auto& [piece, splash] : two.by_piece)
      fault.joined.push_back(splash.second->joined.front());
    out.push_back(std::move(fault));
  }
  return out;
}

}  // namespace isthmus::audit
