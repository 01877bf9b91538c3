// SPDX-License-Identifier: Apache-2.0
// Pads of which nothing but the eye says that the needle stood on them, and not on the next one.
#pragma once

#include "diagnose/findings.hpp"

namespace isthmus::diagnose {

struct ByEye {
  PointId at{}, beside{};
  bool one_net{};  // both on it: a clip elsewhere would not tell either
};

// Landings with a neighbour within 1 mm that reads alike: on the same net, where the resistance does
// not tell; or on another one, where neither net was heard, by a clip or by another needle.
std::vector<ByEye> landed_by_eye(const Study& s);

// Empty where there are none.
std::string in_words(const Study& s, const std::vector<ByEye>& list);

}  // namespace isthmus::diagnose
