// SPDX-License-Identifier: Apache-2.0
#include "diagnose/excess.hpp"

#include <algorithm>
#include <cmath>

namespace isthmus::diagnose {

Band band_of(const plan::Plan& plan, const copper::Predicted& predicted) {
  const double contact = plan.contact.value;
  const double scatter = contact * plan.contact_spread;  // the widest one tip may be off
  return {predicted.ohms.value + 2 * contact,
          std::hypot(2 * predicted.uncertainty.value, std::sqrt(2.0) * scatter)};
}

bool exceeds(const expect::Board& board, const plan::Plan& plan, const Heard& heard) {
  if ((plan.wires != 4 && !plan.zeroed) || !heard.predicted || heard.lows.empty()) return false;
  const Band band = band_of(plan, *heard.predicted);
  const double lowest = std::ranges::min(heard.lows);
  return lowest > band.expected + band.uncertainty + board.design.board.limits.excess.value;
}

}  // namespace isthmus::diagnose
