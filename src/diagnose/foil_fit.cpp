// SPDX-License-Identifier: Apache-2.0
#include "diagnose/foil_fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "diagnose/contacts.hpp"

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

double sigma_of(const FoilSample& s) {
  return std::hypot(s.sigma, s.predicted.mesh.value, kOverOneBoard * s.predicted.ohms.value);
}

// Tukey's, as squares of standard deviations.
double cost_of(double off) {
  const double inside = std::max(0.0, 1 - std::pow(off / kTukey, 2));
  return kTukey * kTukey / 3 * (1 - std::pow(inside, 3));
}

System system_of(std::span<const FoilSample> samples, const Vector3d& at, double contacts,
                 bool first) {
  System out;
  out.add({1, 0, 0}, 1, 1 / (kScalePrior * kScalePrior));
  out.add({0, 1, 0}, 0, std::pow(kMicro / kLossPrior, 2));
  out.add({0, 0, 1}, contacts / kMilli, std::pow(kMilli / contacts, 2));
  for (const FoilSample& s : samples) {
    const double sigma = sigma_of(s);
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
  for (const FoilSample& s : samples) {
    const double sigma = sigma_of(s);
    fit.cost += cost_of((s.measured - row_of(s).dot(x)) / sigma) + 2 * std::log(sigma);
  }
  fit.cost += std::pow((x[0] - 1) / kScalePrior, 2) + std::pow(fit.loss_nm / kLossPrior, 2);
  fit.at_bound = x[0] > high[0] - 1e-6 || x[0] < low[0] + 1e-6 || x[1] > high[1] - 1e-6;
  return fit;
}

namespace {

// Nominal thickness, um; foil lies within a third of it. Boards mostly have 18, 35 or 70.
constexpr std::array kUsual{9.0, 12.0, 18.0, 35.0, 70.0, 105.0, 140.0, 210.0};
constexpr std::array kCommon{18.0, 35.0, 70.0};
constexpr double kRare = 4;  // of twice the log likelihood; our judgement

bool can_be_foil(Nanometres thickness) {
  const double um = static_cast<double>(thickness.value) / kMicro;
  return um >= kUsual.front() * 0.7 && um <= kUsual.back() * 1.3;
}

// As the same board of that foil would have been predicted. Thin copper: resistance goes with the
// inverse of its thickness.
std::vector<FoilSample> predicted_for(std::span<const FoilSample> samples, double scale) {
  std::vector<FoilSample> out(samples.begin(), samples.end());
  for (FoilSample& s : out) {
    s.predicted.ohms.value *= scale;
    s.predicted.uncertainty.value *= scale;
    s.predicted.mesh.value *= scale;
    s.predicted.per_loss *= scale;
  }
  return out;
}

FoilFit against_declared(FoilFit fit, double scale) {
  fit.scale *= scale;
  fit.scale_sd *= scale;
  fit.loss_nm *= scale;
  fit.loss_sd_nm *= scale;
  fit.covariance_nm *= scale * scale;
  return fit;
}

struct Candidate {
  Nanometres thickness{};
  FoilFit fit;
};

std::vector<Candidate> candidates(std::span<const FoilSample> samples, const copper::Foil& declared,
                                  Ohms contact) {
  std::vector<Candidate> list;
  for (const double um : kUsual) {
    copper::Foil foil = declared;
    foil.thickness = {std::llround(um * kMicro)};
    const double scale =
        static_cast<double>(declared.thickness.value) / static_cast<double>(foil.thickness.value);
    const auto scaled = predicted_for(samples, scale);
    list.push_back({foil.thickness, against_declared(*fit_foil(scaled, foil, contact), scale)});
    if (std::ranges::find(kCommon, um) == kCommon.end()) list.back().fit.cost += kRare;
  }
  std::ranges::stable_sort(list, {}, [](const Candidate& c) { return c.fit.cost; });
  return list;
}

// Contacts may be steadier than the fixture says, or less; a few readings do not show that.
constexpr double kSteadiest = 0.25, kLeastSteady = 4;
constexpr std::size_t kManyReadings = 30;

// With what readings really lie off by, in the middle, when that fit is right.
std::vector<FoilSample> as_steady(std::span<const FoilSample> samples, const FoilFit& fit) {
  std::vector<FoilSample> out(samples.begin(), samples.end());
  if (out.size() < kManyReadings) return out;
  std::vector<double> off;
  for (const FoilSample& s : samples)
    off.push_back(s.measured - as_fitted(s.predicted, fit).ohms.value);
  const double contacts = middle_of(off);
  for (double& x : off) x = std::abs(x - contacts);
  const double sigma = kOfMad * middle_of(off);
  for (FoilSample& s : out)
    s.sigma = std::clamp(sigma, kSteadiest * s.sigma, kLeastSteady * s.sigma);
  return out;
}

// As wide as all foils reach that may be it.
FoilFit over(FoilFit fit, double declared_um, double thinnest_um, double thickest_um) {
  const double reach = declared_um / thinnest_um - declared_um / thickest_um;
  fit.scale_sd = std::max(fit.scale_sd, reach / 2);
  return fit;
}

double in_um(Nanometres x) { return static_cast<double>(x.value) / kMicro; }

bool usual(Nanometres thickness) {
  return std::ranges::any_of(
      kCommon, [&](double um) { return std::abs(in_um(thickness) / um - 1) <= kScalePrior; });
}

bool fits_as_well(const Candidate& c, const std::vector<Candidate>& list) {
  return c.fit.cost - list.front().fit.cost <= kNotAtAll;
}

void reach_of_others(FoilChoice& choice, const std::vector<Candidate>& list, Nanometres own) {
  choice.thinnest = choice.thickest = own;
  for (const Candidate& c : list) {
    if (!fits_as_well(c, list)) continue;
    choice.thinnest = std::min(*choice.thinnest, c.thickness);
    choice.thickest = std::max(*choice.thickest, c.thickness);
  }
}

// The declared one is not contradicted.
void stays(FoilChoice& choice, const std::vector<Candidate>& list, Nanometres declared) {
  for (const Candidate& c : list) {
    const bool more = !choice.thicker || c.thickness > choice.thicker->thickness;
    if (fits_as_well(c, list) && c.thickness > declared && more)
      choice.thicker = {c.thickness, c.fit};
  }
  if (usual(declared) || !choice.thicker) return;
  choice.best = declared;
  reach_of_others(choice, list, declared);
  const double stated = in_um(declared);
  choice.judge = over(*choice.fit, stated, in_um(*choice.thinnest), in_um(*choice.thickest));
}

}  // namespace

FoilChoice choose_foil(std::span<const FoilSample> given, const copper::Foil& declared,
                       Ohms contact) {
  FoilChoice choice;
  choice.no_foil = !can_be_foil(declared.thickness);
  choice.fit = fit_foil(given, declared, contact);
  choice.judge = choice.fit;
  const double stated = in_um(declared.thickness);
  if (!choice.fit) {
    if (!choice.no_foil) return choice;
    choice.best = {35'000}, choice.thinnest = {9'000}, choice.thickest = {105'000};
    FoilFit any;
    any.scale = stated / 35;
    choice.judge = over(any, stated, 9, 105);
    return choice;
  }
  const std::vector<FoilSample> samples =
      as_steady(given, candidates(given, declared, contact).front().fit);
  choice.judge = choice.fit = fit_foil(samples, declared, contact);
  const std::vector<Candidate> list = candidates(samples, declared, contact);
  const FoilFit& best = list.front().fit;
  const double enough = choice.fit->at_bound ? kNotAtAll : kSurelyBetter;
  if (!choice.no_foil && choice.fit->cost - best.cost <= enough) {
    stays(choice, list, declared.thickness);
    return choice;
  }
  choice.fit = best;
  choice.best = list.front().thickness;
  reach_of_others(choice, list, *choice.best);
  choice.judge = over(best, stated, in_um(*choice.thinnest), in_um(*choice.thickest));
  return choice;
}

copper::Predicted as_fitted(const copper::Predicted& p, const FoilFit& fit) {
  copper::Predicted out = p;
  out.ohms = {fit.scale * p.ohms.value + fit.loss_nm * p.per_loss};
  const double a = p.ohms.value, b = p.per_loss;
  const double variance = a * a * fit.scale_sd * fit.scale_sd + 2 * a * b * fit.covariance_nm +
                          b * b * fit.loss_sd_nm * fit.loss_sd_nm;
  out.uncertainty = {std::hypot(std::sqrt(std::max(variance, 0.0)), p.mesh.value * fit.scale,
                                kOverOneBoard * out.ohms.value)};
  return out;
}

}  // namespace isthmus::diagnose
