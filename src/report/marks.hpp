// SPDX-License-Identifier: Apache-2.0
// What is drawn over the copper: each kind by a shape of its own, in ink on a halo, so that it is
// read without colours and on any ground. In mm of the artwork, y up; a mark keeps its size on the
// page while the picture is zoomed (class "px"), and has the attribute for readers without styles.
#pragma once

#include <string>

#include "isthmus/report/report.hpp"

namespace isthmus::report {

// How marks are drawn into one picture.
struct MarkStyle {
  double mm_per_px{1};
  bool below{false};
  bool anchors{false};  // ids to jump to: once a page
};

// `inside` is drawn in pixels, y down, round the place.
std::string at_place(Position at, const MarkStyle& style, const std::string& attributes,
                     const std::string& title, const std::string& inside);

// "3" for the likeliest place of finding 3, "3.2" for its second: list, board and close-ups.
std::string place_number(int finding, int rank);

struct LabelAt {
  double x{}, y{};  // middle, px from the place
  bool leader{false};
};
LabelAt usual_label(const std::string& label);

std::string suspect_mark(const diagnose::Finding& finding, int number, const diagnose::Suspect& s,
                         const MarkStyle& style, const LabelAt& label);
// Points without a trusted reading: a cross. Possible faults that cannot be told: a dashed ring.
std::string untested_marks(const diagnose::Diagnosis& d, const expect::Board& board,
                           const MarkStyle& style);

// The shape alone, for lists and legends; `what` is a kind's name, "untested", "cannot-tell".
std::string symbol(const std::string& what, const std::string& colour_class);

// Whether a suspect, point or entry on `side` is drawn in the view from below (or from above).
bool drawn_in(const std::string& side, bool below);

}  // namespace isthmus::report
