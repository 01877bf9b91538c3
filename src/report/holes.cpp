// SPDX-License-Identifier: Apache-2.0
#include "report/holes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

namespace isthmus::report {
namespace {

std::string join_of(const expect::Board& board, std::size_t hole) {
  static constexpr std::array kKinds{"plated", "wire", "rivet", "eyelet", "lead"};
  for (const expect::Join& j : board.expectation.joins) {
    if (j.hole != hole) continue;
    if (j.deferred) return "deferred";
    return j.conducts ? kKinds[static_cast<std::size_t>(j.kind)] : "none";
  }
  return "none";
}

std::string heading(formats::HoleGroup group, std::size_t count) {
  const std::string holes = fmt::format("{} hole{}", count, count == 1 ? "" : "s");
  switch (group) {
    case formats::HoleGroup::via:
      return "vias: " + holes;
    case formats::HoleGroup::component:
      return "components: " + holes + " with copper beside the pad on two layers";
    case formats::HoleGroup::lead:
      return "leads: " + holes + " that only hold a lead, soldered later";
  }
  return "";
}

}  // namespace

std::vector<HoleRow> hole_rows(const expect::Board& board) {
  std::vector<HoleRow> rows;
  for (formats::GroupedHole& h : formats::grouped_holes(board.design)) {
    const Nanometres diameter = board.design.holes[h.hole].diameter;
    std::string join = join_of(board, h.hole);
    rows.push_back({std::move(h), diameter, std::move(join)});
  }
  return rows;
}

std::string holes_text(const expect::Board& board) {
  const std::vector<HoleRow> rows = hole_rows(board);
  std::string out = "Holes that can be joined, by group (joins: {vias: wire, leads: deferred}):\n";
  if (rows.empty())
    return "No hole can be joined: none that is plated, or may be, has copper on two layers.\n";
  for (const auto group :
       {formats::HoleGroup::via, formats::HoleGroup::component, formats::HoleGroup::lead}) {
    const auto in_group = [&](const HoleRow& r) { return r.hole.group == group; };
    const auto count = static_cast<std::size_t>(std::ranges::count_if(rows, in_group));
    if (count == 0) continue;
    out += "  " + heading(group, count) + "\n";
    for (const HoleRow& r : rows) {
      if (!in_group(r)) continue;
      out += fmt::format("    [{:.3f}, {:.3f}]  {:.2f} mm  {:<8}  {}\n", to_mm(r.hole.at.x),
                         to_mm(r.hole.at.y), to_mm(r.diameter.value), r.join, r.hole.point);
    }
  }
  return out;
}

}  // namespace isthmus::report
