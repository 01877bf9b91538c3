// SPDX-License-Identifier: Apache-2.0
// Contacts and the copper between them, told apart. Contact resistance only adds.
#pragma once

#include <map>
#include <utility>
#include <vector>

#include "diagnose/evidence.hpp"

namespace isthmus::diagnose {

using HeardPairs = std::map<std::pair<Channel, Channel>, Heard>;

// What was heard between probes: what is known of the copper alone is taken in, and with it what is
// beyond the limit by a dull contact only conducts, and what is so by copper does not.
//
// Of tips a, b and their twins a', b' four readings leave the copper alone,
// x = (R(a,b) + R(a',b') - R(a,a') - R(b,b')) / 2, whatever the four contacts are; switches and
// leads drop out as well. Without twins the copper that two far tips c, d share on their way from a
// hub a has at least (R(a,c) + R(a,d) - R(c,d)) / 2 less a's own contact, which is no more than
// R(a,b) of any other tip b.
HeardPairs between_probes(const plan::Placement& placement, const HeardPairs& read,
                          const std::map<Channel, std::vector<double>>& twins);

// One tip, or two in line, on copper that is dull, oxidised or has resist left on it: 1.5 to 15 ohm
// a tip (common practice, no source); two tips in line, and a little.
inline constexpr double kLeastTarnish = 1.2, kMostTarnish = 35;
// Below it no reading is taken apart.
inline constexpr double kLeastToTell = 0.2;

// The median; REQUIRES one value or more.
double middle_of(std::vector<double> values);
// A standard deviation from the median of what lies off the median, of a normal distribution.
inline constexpr double kOfMad = 1.4826;

}  // namespace isthmus::diagnose
