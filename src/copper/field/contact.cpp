// SPDX-License-Identifier: Apache-2.0
// How current enters a FieldGrid: an electrode is the rim of its disc, in sectors whose currents
// are found so that all of them lie at one potential. The system is factorised once; an electrode
// costs half a sparse solve a sector (field_half.cpp), a pair of electrodes half a solve.
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "copper/field/grid.hpp"
#include "isthmus/base/ensure.hpp"

namespace isthmus::copper {
namespace {

constexpr double kSamples = 3;  // of a rim to a cell
constexpr double kFewestSamples = 96, kMostSamples = 400'000;
constexpr std::size_t kContactMemory = 6'000'000;  // numbers kept of solved contacts
constexpr double kRest = 500'000;  // nm: a tip in a drilled hole rests on the copper round it
constexpr double kRidge = 1e-10;   // keeps the small system regular when sectors coincide

}  // namespace

// The cell that holds this place, if copper is there.
std::optional<std::size_t> FieldGrid::cell_at(std::size_t part, double x, double y) const {
  const Mesh& m = parts_[part].mesh;
  const auto [first, last] = m.square(m.columns.cell_of(x), m.rows.cell_of(y));
  if (first == last) return std::nullopt;
  if (m.cells[first].cut) {
    const Position p{std::llround(x), std::llround(y)};
    const auto& shape = parts_[part].shape;
    if (std::none_of(shape.begin(), shape.end(),
                     [p](const Polygon& s) { return locate(p, s) != Where::outside; })) {
      return std::nullopt;
    }
  }
  // A square crossed by a gap: the cell whose open sides lead the way the place lies.
  std::size_t best = first;
  double most = -INFINITY;
  for (std::size_t k = first; k < last && last - first > 1; ++k) {
    double leads = 0;
    for (std::size_t i = parts_[part].link_start[k]; i < parts_[part].link_start[k + 1]; ++i) {
      const MeshLink& l = m.links[parts_[part].at_cell[i]];
      const double side = l.a == k ? 0.5 : -0.5;
      const double dx = (x - m.x(k)) / m.width(k) - (l.upwards ? 0 : side);
      const double dy = (y - m.y(k)) / m.height(k) - (l.upwards ? side : 0);
      leads = std::max(leads, l.open / m.side(l) / (0.1 + std::hypot(dx, dy)));
    }
    if (leads > most) most = leads, best = k;
  }
  return best;
}

// Shares a place between its cell and the neighbours it lies towards, where copper leads there.
FieldGrid::Shares FieldGrid::spread(std::size_t part, double x, double y, std::size_t cell) const {
  const Part& p = parts_[part];
  const auto neighbour = [&](std::size_t of, bool upwards, bool ahead) {
    std::optional<std::size_t> best;
    double open = 0.5;  // the greater part of the side
    for (std::size_t i = p.link_start[of]; i < p.link_start[of + 1]; ++i) {
      const MeshLink& l = p.mesh.links[p.at_cell[i]];
      const double share = l.open / p.mesh.side(l);
      if (l.upwards != upwards || (l.a == of) != ahead || share < open) continue;
      open = share;
      best = ahead ? l.b : l.a;
    }
    return best;
  };
  Shares shares{{cell, 1.0}};
  for (const bool upwards : {false, true}) {
    const auto middle = [&](std::size_t of) { return upwards ? p.mesh.y(of) : p.mesh.x(of); };
    const double off = (upwards ? y : x) - middle(cell);
    const std::size_t count = shares.size();
    for (std::size_t i = 0; i < count; ++i) {
      const auto to = neighbour(shares[i].first, upwards, off > 0);
      if (!to) continue;
      const double by = off / (middle(*to) - middle(cell));
      shares.emplace_back(*to, shares[i].second * by);
      shares[i].second *= 1 - by;
    }
  }
  return shares;
}

// The rim of the disc as far as it lies in copper: arcs, cut into about sectors_ sectors of like
// length.
std::vector<FieldGrid::Sector> FieldGrid::rim(std::size_t part, Spot middle, double radius) const {
  struct Sample {
    int number;
    Shares shares;
  };
  const Mesh& m = parts_[part].mesh;
  const double spacing = std::min(m.columns.narrowest(middle.x - radius, middle.x + radius),
                                  m.rows.narrowest(middle.y - radius, middle.y + radius)) /
                         kSamples;
  const int count = static_cast<int>(
      std::clamp(std::ceil(2 * std::numbers::pi * radius / spacing), kFewestSamples, kMostSamples));
  std::vector<std::vector<Sample>> arcs;
  std::size_t samples = 0;
  for (int k = 0; k < count; ++k) {
    const double angle = 2 * std::numbers::pi * (k + 0.5) / count;
    const double x = middle.x + radius * std::cos(angle), y = middle.y + radius * std::sin(angle);
    const auto cell = cell_at(part, x, y);
    if (!cell) continue;
    if (arcs.empty() || arcs.back().back().number != k - 1) arcs.emplace_back();
    arcs.back().push_back({k, spread(part, x, y, *cell)});
    ++samples;
  }
  std::vector<Sector> sectors;
  for (const std::vector<Sample>& arc : arcs) {
    const std::size_t pieces =
        std::clamp<std::size_t>((arc.size() * sectors_ + samples / 2) / samples, 1, arc.size());
    for (std::size_t s = 0; s < pieces; ++s) {
      const std::size_t from = arc.size() * s / pieces, to = arc.size() * (s + 1) / pieces;
      std::map<std::size_t, double> cells;
      for (std::size_t k = from; k < to; ++k) {
        for (auto [cell, w] : arc[k].shares) cells[cell] += w / static_cast<double>(to - from);
      }
      const double length = 2 * std::numbers::pi * radius * static_cast<double>(to - from) / count;
      sectors.push_back(sector(part, {cells.begin(), cells.end()}, middle, length));
    }
  }
  return sectors;
}

// Current that leaves a rim of this length falls off outwards by (current / length) a nanometre. On
// the grid it enters, and is read, over a layer of cells: the mean over both lies below the rim's
// potential by current / length * (mean of max(rho_i - rho_j, 0)), rho being the cells' distances
// from the middle.
FieldGrid::Sector FieldGrid::sector(std::size_t part, const Shares& cells, Spot middle,
                                    double length) const {
  const Part& p = parts_[part];
  Sector s;
  std::map<std::uint32_t, double> sum;
  for (auto [cell, w] : cells) sum[unknown_[p.first + cell]] += w;
  s.shares.assign(sum.begin(), sum.end());
  for (std::size_t i = 0; i < cells.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const std::size_t a = cells[i].first, b = cells[j].first;
      if (unknown_[p.first + a] == unknown_[p.first + b]) continue;
      const double rho_a = std::hypot(p.mesh.x(a) - middle.x, p.mesh.y(a) - middle.y);
      const double rho_b = std::hypot(p.mesh.x(b) - middle.x, p.mesh.y(b) - middle.y);
      s.excess += cells[i].second * cells[j].second * std::abs(rho_a - rho_b) / length;
    }
  }
  return s;
}

std::vector<FieldGrid::Sector> FieldGrid::sectors_of(const Electrode& e) const {
  const auto part = part_of(e.island);
  if (!part) return {};
  const Spot middle{static_cast<double>(e.at.x), static_cast<double>(e.at.y)};
  const double radius = static_cast<double>(e.diameter.value) / 2;
  std::vector<Sector> sectors = rim(*part, middle, radius);
  if (!sectors.empty()) return sectors;
  // All copper lies under the disc, or none.
  const Mesh& m = parts_[*part].mesh;
  std::vector<std::size_t> under = disc(*part, e.at, radius);
  if (under.empty()) {
    const std::size_t nearest = nearest_cell(*part, middle.x, middle.y);
    const double off = std::hypot(m.x(nearest) - middle.x, m.y(nearest) - middle.y);
    if (off > radius + slack_ + 1.5 * m.size + kRest) return {};
    sectors = rim(*part, middle, off + m.size);
    if (!sectors.empty()) return sectors;
    under.push_back(nearest);
  }
  Sector whole;
  for (std::size_t k : under) {
    whole.shares.emplace_back(unknown_[parts_[*part].first + k],
                              1.0 / static_cast<double>(under.size()));
  }
  return {whole};
}

double FieldGrid::read(const Sparse& s, const Eigen::VectorXd& v) {
  double sum = 0;
  for (auto [i, w] : s) sum += w * v[i];
  return sum;
}

FieldGrid::Contact* FieldGrid::contact(const Electrode& e) {
  const Key key{index(e.island), e.at, e.diameter.value};
  const auto found = contacts_.find(key);
  if (found != contacts_.end()) {
    found->second.used = ++clock_;
    return &found->second;
  }
  Contact c;
  c.sectors = sectors_of(e);
  if (c.sectors.empty()) return nullptr;
  c.half = half_solve(c.sectors);
  c.used = ++clock_;
  std::size_t kept = static_cast<std::size_t>(c.half.values.size());
  for (const auto& [k, other] : contacts_)
    kept += static_cast<std::size_t>(other.half.values.size());
  while (kept > kContactMemory && contacts_.size() > 1) {
    const auto oldest = std::min_element(
        contacts_.begin(), contacts_.end(),
        [](const auto& l, const auto& r) { return l.second.used < r.second.used; });
    kept -= static_cast<std::size_t>(oldest->second.half.values.size());
    contacts_.erase(oldest);
  }
  return &(contacts_[key] = std::move(c));
}

// Least power over all ways of sharing 1 A among the sectors of either electrode: equal potentials
// within each.
std::optional<FieldGrid::Solved> FieldGrid::solve(const Electrode& a, const Electrode& b) {
  const Contact* in = contact(a);
  if (in == nullptr) return std::nullopt;
  const Contact* out = contact(b);
  if (out == nullptr) return std::nullopt;
  const auto na = static_cast<Eigen::Index>(in->sectors.size()),
             nb = static_cast<Eigen::Index>(out->sectors.size());
  const Eigen::Index n = na + nb;
  Eigen::MatrixXd system = Eigen::MatrixXd::Zero(n + 2, n + 2);
  Eigen::MatrixXd potentials(n, n);  // of each sector, for 1 A into each
  potentials.topLeftCorner(na, na) = products(in->half, in->half);
  potentials.bottomRightCorner(nb, nb) = products(out->half, out->half);
  potentials.topRightCorner(na, nb) = -products(in->half, out->half);
  potentials.bottomLeftCorner(nb, na) = potentials.topRightCorner(na, nb).transpose();
  Eigen::MatrixXd power = potentials;
  for (Eigen::Index i = 0; i < n; ++i) {
    power(i, i) += i < na ? in->sectors[static_cast<std::size_t>(i)].excess
                          : out->sectors[static_cast<std::size_t>(i - na)].excess;
  }
  power.diagonal().array() += kRidge * power.diagonal().maxCoeff();
  system.topLeftCorner(n, n) = power;
  Eigen::VectorXd right = Eigen::VectorXd::Zero(n + 2);
  for (Eigen::Index i = 0; i < n; ++i)
    system(i, n + (i < na ? 0 : 1)) = system(n + (i < na ? 0 : 1), i) = 1;
  right[n] = right[n + 1] = 1;
  const Eigen::VectorXd share = system.fullPivLu().solve(right);
  Solved solved;
  solved.half = Eigen::VectorXd::Zero(matrix_.rows());
  const auto add = [&](const HalfSolved& half, const Eigen::VectorXd& by) {
    const Eigen::VectorXd sum = half.values * by;
    for (std::size_t r = 0; r < half.rows.size(); ++r)
      solved.half[half.rows[r]] += sum[static_cast<Eigen::Index>(r)];
  };
  add(in->half, share.head(na));
  add(out->half, -share.segment(na, nb));
  const Eigen::VectorXd at = potentials * share.head(n);
  for (Eigen::Index j = 0; j < n; ++j) {
    const auto k = static_cast<std::size_t>(j < na ? j : j - na);
    const Sector& s = j < na ? in->sectors[k] : out->sectors[k];
    const double own = at[j] + share[j] * s.excess;
    (j < na ? solved.at_a : solved.at_b) += share[j] * (j < na ? own : -own);
  }
  return solved;
}

std::optional<double> FieldGrid::squares(const Electrode& a, const Electrode& b) {
  const auto solved = solve(a, b);
  if (!solved) return std::nullopt;
  return std::max(solved->at_a - solved->at_b, 0.0);
}

std::optional<FieldGrid::Answer> FieldGrid::between(const Electrode& a, const Electrode& b) {
  const auto solved = solve(a, b);
  if (!solved) return std::nullopt;
  Answer answer{std::max(solved->at_a - solved->at_b, 0.0), 0};
  const Eigen::VectorXd potential = whole(solved->half);
  for (const Conductor& c : conductors_) {
    const double drop = potential[c.a] - potential[c.b];
    answer.per_offset -= c.growth * drop * drop;
  }
  return answer;
}

std::optional<std::vector<double>> FieldGrid::transfer(const Electrode& source,
                                                       const Electrode& sink,
                                                       std::span<const Electrode> places) {
  const auto solved = solve(source, sink);
  if (!solved) return std::nullopt;
  const Eigen::VectorXd potential = whole(solved->half);
  std::vector<double> volts;
  for (const Electrode& e : places) {
    const std::vector<Sector> sectors = sectors_of(e);
    if (sectors.empty()) {
      volts.push_back(std::nan(""));
      continue;
    }
    double mean = 0;
    for (const Sector& s : sectors)
      mean += read(s.shares, potential) / static_cast<double>(sectors.size());
    if (e.island == source.island && e.at == source.at) mean = solved->at_a;
    if (e.island == sink.island && e.at == sink.at) mean = solved->at_b;
    volts.push_back(mean - solved->at_b);
  }
  return volts;
}

}  // namespace isthmus::copper
