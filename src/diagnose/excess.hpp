// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "diagnose/evidence.hpp"

namespace isthmus::diagnose {

// What a reading between two tips should be at most: copper, two contacts, two standard deviations
// of each.
struct Band {
  double expected{};     // ohms
  double uncertainty{};  // two standard deviations
};
// Against this board's own copper where `foil` is known, else against any foil.
Band band_of(const plan::Plan& plan, const copper::Predicted& predicted,
             const std::optional<FoilFit>& foil);

// The reading lies above the predicted resistance by more than limits.excess and its own
// uncertainty. Two-wire adapters see their switches too, unless zeroed: then no statement.
bool exceeds(const expect::Board& board, const plan::Plan& plan, const Heard& heard,
             const std::optional<FoilFit>& foil);

// This board's copper, from every pair of tips that was heard to conduct.
std::optional<FoilFit> foil_of(const expect::Board& board, const plan::Plan& plan,
                               const Evidence& evidence);

}  // namespace isthmus::diagnose
