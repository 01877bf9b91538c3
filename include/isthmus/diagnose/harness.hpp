// SPDX-License-Identifier: Apache-2.0
// What is known of the wires between adapter and tips.
#pragma once

#include <set>
#include <utility>

#include "isthmus/formats/fixture_file.hpp"

namespace isthmus::diagnose {

using ChannelPair = std::pair<formats::Channel, formats::Channel>;  // the lower first

// What a trial with every tip in the air gave. Wires that touch each other conduct there, too; what
// conducts only with the board under the tips is the board's.
struct Harness {
  bool tried{false};               // each pair of channels that the plan uses was read so
  std::set<ChannelPair> touching;  // that conducted
  bool operator==(const Harness&) const = default;
};

}  // namespace isthmus::diagnose
