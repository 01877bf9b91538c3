// SPDX-License-Identifier: Apache-2.0
// Tips that seem to stand on dull copper, in words.
#pragma once

#include <string>
#include <vector>

#include "diagnose/findings.hpp"

namespace isthmus::diagnose {

// Two channels between which too much was read, by copper or by contact.
struct PoorContact {
  std::size_t placement{};
  std::pair<Channel, Channel> tips;
  PointId a{}, b{};
  std::string words;
};
// In order of placements and channels; those of nets with such a finding of copper are left out.
std::vector<PoorContact> poor_contacts(const Study& s, const std::vector<Finding>& findings);

// Why high resistance was not looked for.
inline constexpr const char* kNotJudged = "too much resistance was not looked for";

// Tips whose twins tell that they touch badly, a remark each: the copper was judged without them.
std::vector<std::string> dull_tips(const Study& s);

}  // namespace isthmus::diagnose
