// SPDX-License-Identifier: Apache-2.0
#include "diagnose/foil_fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>

namespace isthmus::diagnose {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;

constexpr double kThin = 1 / 0.7, kThick = 1 / 1.3;                           // of s
constexpr double kScalePrior = 0.2, kLossPrior = 10'000, kMostLoss = 20'000;  // nm
constexpr double kHuber = 2, kTukey = 4.7;
constexpr double kOverOneBoard = 0.05;
constexpr int kHuberRounds = 10, kRounds = 40;

// s, u in um, c in milliohm: numbers of one size.
constexpr double kMicro = 1e3, kMilli = 1e-3;

struct System {
  Matrix3d normal = Matrix3d::Zero();
  Vector3d right = Vector3d::Zero();
  void add(const Vector3d& row, double value, double weight) {
    normal += weight * row * row.transpose();
    right += weight * value * row;
  }
};

Vector3d row_of(const FoilSample& s) {
  return {s.predicted.ohms.value, s.predicted.per_loss * kMicro, kMilli};
}

// Huber's weight finds the middle from anywhere; from there Tukey's leaves out what is far off.
double weight_of(double off, bool first) {
  if (first) return std::min(1.0, kHuber / std::max(off, 1e-9));
  const double inside = 1 - std::pow(off / kTukey, 2);
  return inside > 0 ? inside * inside : 0;
}

System system_of(std::span<const FoilSample> samples, const Vector3d& at, double contacts,
                 bool first) {
  System out;
  out.add({1, 0, 0}, 1, 1 / (kScalePrior * kScalePrior));
  out.add({0, 1, 0}, 0, std::pow(kMicro / kLossPrior, 2));
  out.add({0, 0, 1}, contacts / kMilli, std::pow(kMilli / contacts, 2));
  for (const FoilSample& s : samples) {
    const double sigma =
        std::hypot(s.sigma, s.predicted.mesh.value, kOverOneBoard * s.predicted.ohms.value);
    const Vector3d row = row_of(s);
    const double off = std::abs(s.measured - row.dot(at)) / sigma;
    out.add(row, s.measured, weight_of(off, first) / (sigma * sigma));
  }
  return out;
}

// The least of the quadratic form within the bounds of s and u (c is free): each bound alone, both,
// or neither.
Vector3d within(const System& system, const Vector3d& low, const Vector3d& high) {
  Vector3d best = Vector3d::Zero();
  double least = std::numeric_limits<double>::infinity();
  for (int choice = 0; choice < 9; ++choice) {
    const int held[] = {choice % 3, choice / 3};  // 0 free, 1 at the low bound, 2 at the high
    Matrix3d normal = system.normal;
    Vector3d right = system.right;
    for (int k = 0; k < 2; ++k) {
      if (held[k] == 0) continue;
      const double value = held[k] == 1 ? low[k] : high[k];
      right -= value * normal.col(k);
      normal.row(k).setZero();
      normal.col(k).setZero();
      normal(k, k) = 1;
      right[k] = value;
    }
    const Vector3d x = normal.ldlt().solve(right);
    if (x[0] < low[0] - 1e-9 || x[0] > high[0] + 1e-9) continue;
    if (x[1] < low[1] - 1e-9 || x[1] > high[1] + 1e-9) continue;
    const double cost = x.dot(system.normal * x) - 2 * x.dot(system.right);
    if (cost < least) least = cost, best = x;
  }
  return best;
}

}  // namespace

std::optional<FoilFit> fit_foil(std::span<const FoilSample> samples, const copper::Foil& declared,
                                Ohms contact) {
  if (samples.size() < kLeastSamples) return std::nullopt;
  const double contacts = 2 * std::max(contact.value, 1e-3);
  const double undercut = static_cast<double>(declared.undercut.value);
  const Vector3d low{kThick, -undercut / kMicro, 0};
  const Vector3d high{kThin, kMostLoss / kMicro, 0};
  Vector3d x{1, 0, contacts / kMilli};
  System system;
  for (int round = 0; round < kRounds; ++round) {
    system = system_of(samples, x, contacts, round < kHuberRounds);
    const Vector3d next = within(system, low, high);
    const bool settled = round > kHuberRounds && (next - x).norm() < 1e-9;
    x = next;
    if (settled) break;
  }
  const Matrix3d covariance = system.normal.inverse();
  const double thickness = static_cast<double>(declared.thickness.value) / x[0];
  FoilFit fit;
  fit.scale = x[0];
  fit.loss_nm = x[1] * kMicro;
  fit.scale_sd = std::sqrt(covariance(0, 0));
  fit.loss_sd_nm = std::sqrt(covariance(1, 1)) * kMicro;
  fit.covariance_nm = covariance(0, 1) * kMicro;
  fit.thickness = {std::llround(thickness)};
  fit.thickness_sd = {std::llround(thickness * fit.scale_sd / x[0])};
  fit.undercut = {std::llround(undercut + fit.loss_nm)};
  fit.undercut_sd = {std::llround(fit.loss_sd_nm)};
  fit.readings = samples.size();
  fit.at_bound = x[0] > high[0] - 1e-6 || x[0] < low[0] + 1e-6 || x[1] > high[1] - 1e-6;
  return fit;
}

copper::Predicted as_fitted(const copper::Predicted& p, const FoilFit& fit) {
  copper::Predicted out = p;
  out.ohms = {fit.scale * p.ohms.value + fit.loss_nm * p.per_loss};
  const double a = p.ohms.value, b = p.per_loss;
  const double variance = a * a * fit.scale_sd * fit.scale_sd + 2 * a * b * fit.covariance_nm +
                          b * b * fit.loss_sd_nm * fit.loss_sd_nm;
  out.uncertainty = {
      std::hypot(std::sqrt(std::max(variance, 0.0)), p.mesh.value, kOverOneBoard * out.ohms.value)};
  return out;
}

}  // namespace isthmus::diagnose
