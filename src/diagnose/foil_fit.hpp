// SPDX-License-Identifier: Apache-2.0
// What the copper of this board is like, from the resistances measured on it.
#pragma once

#include <optional>
#include <span>

#include "isthmus/copper/field.hpp"
#include "isthmus/diagnose/diagnosis.hpp"

namespace isthmus::diagnose {

// One reading beside what the design foretells of it.
struct FoilSample {
  copper::Predicted predicted;
  double measured{};  // ohms, two contacts included
  double sigma{};     // ohms, one standard deviation: contacts and reading
};

// Least squares with priors (maximum a posteriori), readings far off left out (weights by Huber, 2,
// then Tukey, 4.7 standard deviations; from memory). Of R = s R0 + u dR0/du + c: s nominal over
// true thickness, prior 1 +- 0.2; u the further loss of width per side, prior 0 +- 10 um; c two
// contacts, prior 2 `contact` +- as much. Thickness is held within 0.7 to 1.3 of the nominal, the
// whole loss between 0 and 20 um more than declared: what lies beyond is no foil and no usual etch,
// and stays a deviation (our judgement from the 20 % and 10 um of the prediction's own
// uncertainty). Nothing below kLeastSamples.
std::optional<FoilFit> fit_foil(std::span<const FoilSample> samples, const copper::Foil& declared,
                                Ohms contact);
inline constexpr std::size_t kLeastSamples = 12;

// Which foil it is.
struct FoilChoice {
  std::optional<FoilFit> fit;    // nothing: too few readings
  std::optional<FoilFit> judge;  // the same, as unsure as the foil is; nothing: as predicted
  // Where the declared thickness does not fit: the usual foil that does best, and the thinnest and
  // thickest that cannot be ruled out.
  std::optional<Nanometres> best, thinnest, thickest;
  bool no_foil{};  // the declared thickness is none that foil has
  // Where the declared one stays: a thicker usual foil that would explain the readings as well. Its
  // copper has less, so that more can hide in it.
  struct Thicker {
    Nanometres thickness{};
    FoilFit fit;
  };
  std::optional<Thicker> thicker;
};
// Copper foil comes in grades (IPC-4562; common practice for boards: 18, 35, 70 um). The readings are
// fitted against the declared thickness and against each usual one, with contacts as steady as they
// prove to be; others are named only if the best explains them better by kSurelyBetter (twice the log
// likelihood) than the declared one, or by kNotAtAll where that fit ends at its bounds. Where all predictions are alike nothing tells foil from contact,
// and the declared one stays, if boards usually have it: with a rare one the judgement is as unsure as the foils reach that fit as well. A thickness that no foil has never stays.
FoilChoice choose_foil(std::span<const FoilSample> samples, const copper::Foil& declared,
                       Ohms contact);
inline constexpr double kSurelyBetter = 16, kNotAtAll = 9;

// The prediction for this board's own copper: its uncertainty is that of the fit, of the mesh, and
// 5 % for what foil and etch differ by over one board (common practice, no source).
copper::Predicted as_fitted(const copper::Predicted& predicted, const FoilFit& fit);

}  // namespace isthmus::diagnose
