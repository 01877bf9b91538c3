// SPDX-License-Identifier: Apache-2.0
#include "diagnose/excess.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "diagnose/foil_fit.hpp"

namespace isthmus::diagnose {

namespace {

bool sees_copper(const plan::Plan& plan, const Heard& heard) {
  return (plan.wires == 4 || plan.zeroed) && heard.predicted && !heard.lows.empty();
}

constexpr double kLeastSigma = 1e-3;  // ohms

}  // namespace

Band band_of(const plan::Plan& plan, const copper::Predicted& predicted,
             const std::optional<FoilFit>& foil) {
  const copper::Predicted own = foil ? as_fitted(predicted, *foil) : predicted;
  const double contact = plan.contact.value;
  const double scatter = contact * plan.contact_spread;  // the widest one tip may be off
  return {own.ohms.value + 2 * contact,
          std::hypot(2 * own.uncertainty.value, std::numbers::sqrt2 * scatter)};
}

bool exceeds(const expect::Board& board, const plan::Plan& plan, const Heard& heard,
             const std::optional<FoilFit>& foil) {
  if (!sees_copper(plan, heard)) return false;
  const Band band = band_of(plan, *heard.predicted, foil);
  const double lowest = std::ranges::min(heard.lows);
  return lowest > band.expected + band.uncertainty + board.design.board.limits.excess.value;
}

std::optional<FoilFit> foil_of(const expect::Board& board, const plan::Plan& plan,
                               const Evidence& evidence) {
  // Two tips, each off by up to the spread, evenly.
  const double sigma = plan.contact.value * plan.contact_spread * std::sqrt(2.0 / 3);
  std::vector<FoilSample> samples;
  for (std::size_t p = 0; p < plan.placements.size(); ++p) {
    for (const auto& [pair, heard] : evidence.heard(p)) {
      if (!heard.conducts() || !sees_copper(plan, heard)) continue;
      samples.push_back(
          {*heard.predicted, std::ranges::min(heard.lows), std::max(sigma, kLeastSigma)});
    }
  }
  return fit_foil(samples, expect::foil_of(board), plan.contact);
}

}  // namespace isthmus::diagnose
