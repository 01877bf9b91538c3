// SPDX-License-Identifier: Apache-2.0
// What is known of the wires between adapter and tips.
#pragma once

#include <set>
#include <utility>

#include "isthmus/formats/fixture_file.hpp"

namespace isthmus::diagnose {

using ChannelPair = std::pair<formats::Channel, formats::Channel>;  // the lower first

// Wires that are known to touch each other, by a trial in the air or by the readings; what conducts
// only with the board under the tips is the board's.
struct Harness {
  std::set<ChannelPair> touching;
  bool operator==(const Harness&) const = default;
};

}  // namespace isthmus::diagnose
