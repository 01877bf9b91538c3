// SPDX-License-Identifier: Apache-2.0
// The parts of the report's page, in the order in which they stand on it.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "isthmus/report/report.hpp"
#include "report/places.hpp"

namespace isthmus::report {

// From src/report/page, by src/report/embed.cmake.
std::string_view page_style();
std::string_view page_script();

// Words and numbers as the page writes them.
std::string kind_in_words(diagnose::FindingKind kind);
std::string ohms_in_words(const std::optional<Ohms>& r);
std::string escaped_list(const std::vector<std::string>& list, const char* by);

// The board, and by what its places are said.
struct Ground {
  const expect::Board& board;
  Places places;
  Origin origin{};
  [[nodiscard]] Position counted(Position p, const std::string& side) const {
    return origin == Origin::corner ? from_corner(places, p, side) : p;
  }
};

// The findings by number, each with its likeliest place: links to the board.
std::string findings_list(const RunView& run, const Ground& ground);
// Both sides with names, marks, scale bar and origin; a legend of the shapes.
std::string board_views(const RunView& run, const expect::Board& board);
// One side alone with the findings. True size: `width_px` 0. Details: names, what was not tested.
struct SideDrawing {
  bool below{false};
  double width_px{0};
  bool details{false};
};
std::string side_drawing(const RunView& run, const expect::Board& board, const SideDrawing& wish);
// Each finding with its close-ups and places.
std::string finding_sections(const RunView& run, const Ground& ground);
std::string nets_table(const RunView& run, const expect::Board& board);
std::string untested_table(const diagnose::Diagnosis& d);
std::string cannot_tell_table(const diagnose::Diagnosis& d);
std::string unless_bridged_table(const diagnose::Diagnosis& d, const expect::Board& board);
std::string waived_table(const diagnose::Diagnosis& d);
std::string basis_table(const RunView& run);
std::string window_of(const RunView& run);
// Both sides in true size with bars of 50 mm, for paper alone.
std::string overlay_pages(const RunView& run, const expect::Board& board);
// What search and pictures need, as JSON for a script element.
std::string page_data(const expect::Board& board);

}  // namespace isthmus::report
