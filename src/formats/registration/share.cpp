// SPDX-License-Identifier: Apache-2.0
#include "formats/registration/share.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "formats/registration/fit.hpp"
#include "formats/registration/registration.hpp"

namespace isthmus::formats {
namespace {

bool empty(const LayerImage& layer) { return layer.objects.empty(); }

std::vector<FitPoint> plated_holes(const Design& d) {
  std::vector<FitPoint> out;
  for (const Hole& h : d.holes) {
    if (h.plated.value_or(true)) {
      out.push_back({{h.from.x + (h.to.x - h.from.x) / 2, h.from.y + (h.to.y - h.from.y) / 2},
                     kAnywhere,
                     ""});
    }
  }
  return out;
}

std::vector<FitPoint> openings(const std::optional<LayerImage>& mask, const LayerImage& copper,
                               std::uint8_t side) {
  std::vector<FitPoint> out;
  if (!mask || empty(copper)) return out;
  for (const FitPlace& p : places_of(*mask, side, false)) out.push_back({p.at, side, ""});
  return out;
}

std::string near_missing(const Design& d) {
  return d.holes.empty() ? "there is no drill file among them" : "a drill file seems to be missing";
}

// Records that are drilled, and those of them whose hole is in no drill file.
std::pair<std::size_t, std::size_t> drilled_and_missing(const Design& d) {
  const std::vector<FitPlace> holes = places_of({}, d.holes, false);
  std::size_t drilled = 0, missing = 0;
  for (const NetlistRecord& r : d.netlist->records) {
    if (r.kind != FeatureKind::through_hole || !r.hole) continue;
    ++drilled;
    const std::int64_t reach =
        std::max<std::int64_t>({r.size_x.value, r.size_y.value, r.hole->value}) / 2;
    const Position at = r.hole_at.value_or(r.at);
    const bool there = std::ranges::any_of(holes, [&](const FitPlace& h) {
      return distance_nm(h.at, at) <= static_cast<double>(reach);
    });
    missing += there ? 0u : 1u;
  }
  return {drilled, missing};
}

void note_missing_holes(const Design& d, Diagnostics& notes) {
  const std::string hint =
      "add the drill file and import again, or name it under holes: without it "
      "nothing can join the sides";
  if (d.netlist) {
    const auto [drilled, missing] = drilled_and_missing(d);
    if (missing == 0) return;
    notes.warn({"", 0, 0, "IMP-029",
                fmt::format("{} of {} drilled points of the netlist have no hole: {}", missing,
                            drilled, near_missing(d)),
                hint, ""});
    return;
  }
  if (empty(d.copper.front()) || empty(d.copper.back())) return;
  // Without a netlist: pads that lie over each other on both sides.
  constexpr std::size_t kFewest = 4;
  const std::vector<FitPlace> places = places_of(d.copper, {}, false);
  const std::vector<FitPlace> holes = places_of({}, d.holes, false);
  std::vector<FitPoint> both;
  for (const FitPlace& p : places) {
    if ((p.has & kOnTop) != 0 && (p.has & kOnBottom) != 0) both.push_back({p.at, kInHole, ""});
  }
  const std::size_t drilled = landed(both, holes, Frame());
  if (both.size() < kFewest || 2 * drilled >= both.size()) return;
  notes.warn({"", 0, 0, "IMP-029",
              fmt::format("{} pads lie over each other on both sides and only {} of them have a "
                          "hole: {}",
                          both.size(), drilled, near_missing(d)),
              hint, ""});
}

void note_missing_copper(const Design& d, Diagnostics& notes) {
  for (const bool top : {true, false}) {
    if (!empty(top ? d.copper.front() : d.copper.back())) continue;
    const auto& mask = top ? d.mask_top : d.mask_bottom;
    const int access = top || !d.netlist ? 1 : d.netlist->bottom_access;
    const std::size_t pads =
        !d.netlist ? 0
                   : static_cast<std::size_t>(
                         std::ranges::count_if(d.netlist->records, [&](const NetlistRecord& r) {
                           return r.kind == FeatureKind::surface && r.access == access;
                         }));
    if (!mask && pads == 0) continue;
    const std::string side = top ? "top" : "bottom";
    notes.warn({"", 0, 0, "IMP-030",
                fmt::format("there is no {} copper among the files, but {}", side,
                            pads > 0 ? fmt::format("the netlist has {} pads there", pads)
                                     : "there is a mask for that side"),
                "add the missing layer and import again; what is not in the artwork is not tested",
                ""});
  }
}

}  // namespace

std::vector<FitShare> fit_shares(const Design& d) {
  std::vector<FitShare> out;
  const auto add = [&](const std::string& what, const std::vector<FitPoint>& points,
                       const std::string& how) {
    if (!points.empty()) out.push_back({what, on_pad_or_copper(points, d), points.size(), how});
  };
  add("holes", plated_holes(d), "plated holes lie on copper");
  if (d.netlist) add("netlist", netlist_points(d), "points lie on copper");
  add("top mask", openings(d.mask_top, d.copper.front(), kOnTop), "openings lie on copper");
  add("bottom mask", openings(d.mask_bottom, d.copper.back(), kOnBottom), "openings lie on copper");
  return out;
}

void note_missing(const Design& design, Diagnostics& notes) {
  note_missing_holes(design, notes);
  note_missing_copper(design, notes);
}

}  // namespace isthmus::formats
