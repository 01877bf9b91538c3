// SPDX-License-Identifier: Apache-2.0
// Where the numbers of a crowd of tips can stand without covering each other.
#pragma once

#include <string>
#include <vector>

namespace isthmus::report {

struct Tip {
  double x{}, y{};  // mm on the page, y down
  std::string label;
};
struct LabelPlace {
  double x{}, y{};  // middle of the label, mm on the page
  bool leader{};    // far enough from its tip to need a line
};

// One place a tip, in order. Labels are `height` mm high and keep clear of each other and of all
// tips of `radius` mm, going outwards as far as need be (12 mm at most: then they may overlap).
std::vector<LabelPlace> place_labels(const std::vector<Tip>& tips, double radius, double height);
double label_width(const std::string& label, double height);

}  // namespace isthmus::report
