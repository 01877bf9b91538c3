// SPDX-License-Identifier: Apache-2.0
#include "diagnose/excess.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace isthmus::diagnose {

namespace {

constexpr double kLeastSigma = 1e-3;   // ohms
constexpr double kMostDeclared = 0.1;  // ohms a tip: a fixture cannot switch the judgement off
constexpr double kReach = 3;

bool sees_copper(const plan::Plan& plan, const Heard& heard) {
  return (plan.wires == 4 || plan.zeroed) && heard.predicted && heard.conducts();
}

copper::Predicted own(const copper::Predicted& predicted, const Fitted& fitted) {
  return fitted.foil.judge ? as_fitted(predicted, *fitted.foil.judge) : predicted;
}

struct Declared {
  double pair{}, reach{};  // ohms: two tips, each off by up to the spread
};

Declared declared(const plan::Plan& plan) {
  const double contact = std::min(plan.contact.value, kMostDeclared);
  return {2 * contact, std::numbers::sqrt2 * contact * std::min(plan.contact_spread, 1.0)};
}

FoilChoice foil_of(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence) {
  // Evenly within the reach.
  const double sigma = declared(plan).reach / std::sqrt(3.0);
  std::vector<FoilSample> samples;
  for (std::size_t p = 0; p < plan.placements.size(); ++p) {
    for (const auto& [pair, heard] : evidence.heard(p)) {
      if (!sees_copper(plan, heard)) continue;
      samples.push_back({*heard.predicted, heard.least(), std::max(sigma, kLeastSigma)});
    }
  }
  return choose_foil(samples, expect::foil_of(board), Ohms{declared(plan).pair / 2});
}

// What readings have above their copper.
std::vector<double> above_copper(const plan::Plan& plan, const Evidence& evidence,
                                 const Fitted& fitted) {
  std::vector<double> list;
  for (std::size_t p = 0; p < plan.placements.size(); ++p) {
    for (const auto& [pair, heard] : evidence.heard(p)) {
      if (sees_copper(plan, heard))
        list.push_back(heard.least() - own(*heard.predicted, fitted).ohms.value);
    }
    for (const plan::Probe& probe : plan.placements[p].probes) {
      if (const auto ohms = evidence.twin_ohms(p, probe.channel)) list.push_back(*ohms);
    }
  }
  return list;
}

Contacts contacts_of(const plan::Plan& plan, std::vector<double> above) {
  const Declared by_fixture = declared(plan);
  Contacts c{by_fixture.pair, by_fixture.reach, 0, above.size()};
  if (above.empty()) return c;
  if (above.size() < kLeastContacts) {
    c.reach = std::max(c.reach, kFewContacts - c.pair);
    return c;
  }
  const double middle = middle_of(above);
  for (double& a : above) a = std::abs(a - middle);
  const double reach = kReach * kOfMad * middle_of(above);
  c.pair = std::min(std::max(c.pair, middle), kMostContacts);
  c.reach = std::min(std::max(c.reach, reach), kMostContacts - c.pair);
  c.best = std::max(0.0, middle - reach);
  return c;
}

constexpr double kUseful =
    0.2;  // ohms; what is less sure than that, and than `excess`, tells nothing

double excess_limit(const expect::Board& board) { return board.design.board.limits.excess.value; }

}  // namespace

Fitted fitted(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence) {
  Fitted out;
  out.foil = foil_of(board, plan, evidence);
  out.contacts = contacts_of(plan, above_copper(plan, evidence, out));
  return out;
}

Band band_of(const copper::Predicted& predicted, const Fitted& fitted) {
  const copper::Predicted copper = own(predicted, fitted);
  return {copper.ohms.value + fitted.contacts.pair,
          std::hypot(2 * copper.uncertainty.value, fitted.contacts.reach)};
}

namespace {

// Ohms that this copper has less of the thicker foil that may be it.
double less_if_thicker(const copper::Predicted& predicted, const Fitted& fitted) {
  if (!fitted.foil.thicker) return 0;
  const double thick = as_fitted(predicted, fitted.foil.thicker->fit).ohms.value;
  return std::max(0.0, own(predicted, fitted).ohms.value - thick);
}

// By twins whose contacts stand still.
bool told_exactly(const expect::Board& board, const Heard& heard) {
  return heard.bare && !heard.bare->at_least &&
         kGuard * heard.bare->sd <= std::max(kUseful, excess_limit(board));
}

}  // namespace

bool judged(const expect::Board& board, const Heard& heard, const Fitted& fitted) {
  if (!fitted.foil.thinnest || !heard.predicted) return true;
  return 2 * own(*heard.predicted, fitted).uncertainty.value <=
         std::max(kUseful, excess_limit(board));
}

Excess excess_of(const expect::Board& board, const plan::Plan& plan, const Heard& heard,
                 const Fitted& fitted) {
  if (!sees_copper(plan, heard) || !judged(board, heard, fitted)) return Excess::none;
  const copper::Predicted copper = own(*heard.predicted, fitted);
  const double most = copper.ohms.value + 2 * copper.uncertainty.value + excess_limit(board);
  const bool too_much = heard.bare && heard.bare->ohms > most + kGuard * heard.bare->sd;
  if (told_exactly(board, heard)) return too_much ? Excess::copper : Excess::none;
  const Band band = band_of(*heard.predicted, fitted);
  const double over = heard.least() - band.expected;
  if (over <= band.uncertainty + excess_limit(board)) return Excess::none;
  return too_much || over < kLeastTarnish ? Excess::copper : Excess::unclear;
}

Shown shown(const expect::Board& board, const Heard& heard, const Fitted& fitted) {
  if (told_exactly(board, heard)) {
    const copper::Predicted copper = own(*heard.predicted, fitted);
    return {heard.bare->ohms, copper.ohms.value + excess_limit(board),
            2 * std::hypot(copper.uncertainty.value, heard.bare->sd)};
  }
  const Band band = band_of(*heard.predicted, fitted);
  return {heard.least(), band.expected + excess_limit(board), band.uncertainty};
}

std::optional<Floor> noticed_from(const expect::Board& board, const plan::Plan& plan,
                                  const Evidence& evidence, const Fitted& fitted) {
  std::optional<Floor> floor;
  for (std::size_t p = 0; p < plan.placements.size(); ++p) {
    for (const auto& [pair, heard] : evidence.heard(p)) {
      if (!sees_copper(plan, heard) || !judged(board, heard, fitted)) continue;
      if (!floor) floor = Floor{};
      const Band band = band_of(*heard.predicted, fitted);
      const double hidden =
          excess_limit(board) + band.uncertainty + fitted.contacts.pair - fitted.contacts.best;
      floor->ohms = std::max(floor->ohms, hidden);
      floor->if_thicker =
          std::max(floor->if_thicker, hidden + less_if_thicker(*heard.predicted, fitted));
    }
  }
  return floor;
}

}  // namespace isthmus::diagnose
