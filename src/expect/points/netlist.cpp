// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "expect/points/points.hpp"

namespace isthmus::expect {
namespace {

using formats::FeatureKind;
using formats::NetlistRecord;

// The side a probe can reach the record from; nothing for inner layers and buried vias.
std::optional<Side> access_of(const NetlistRecord& record, int bottom) {
  if (record.kind == FeatureKind::blind_via && record.span) {
    const auto [low, high] = std::minmax(record.span->first, record.span->second);
    if (low <= 1 && high >= bottom) return Side::both;
    if (low <= 1) return Side::top;
    if (high >= bottom) return Side::bottom;
    return std::nullopt;
  }
  if (record.access == 0) return Side::both;
  if (record.access == 1) return Side::top;
  if (record.access == bottom) return Side::bottom;
  return std::nullopt;
}

bool is_via(const std::string& ref) { return ref == "VIA" || ref == "via" || ref == "Via"; }

// Placeholders that some exporters write where there is no reference or pin.
std::string unless_placeholder(const std::string& text, const char* placeholder) {
  return text == placeholder ? std::string() : text;
}

Nanometres smaller_extent(const NetlistRecord& record) {
  if (record.size_x.value == 0) return record.size_y;
  if (record.size_y.value == 0) return record.size_x;
  return std::min(record.size_x, record.size_y);
}

Pad pad_of(const NetlistRecord& record, Side access) {
  Pad pad;
  pad.via = is_via(record.ref);
  if (!pad.via) {
    pad.ref = unless_placeholder(record.ref, "NOREF");
    pad.pin = unless_placeholder(record.pin, "NPAD");
  }
  pad.net = record.net;
  pad.own_net = record.net.empty() || record.net == "N/C";
  pad.at = record.at;
  pad.access = access;
  pad.through = record.kind != FeatureKind::surface;
  pad.size = smaller_extent(record);
  return pad;
}

// By place; a long pad's centre may lie beside its hole: then the drilled diameter must agree, too.
std::optional<std::size_t> hole_of(const Ground& ground, const Holes& holes,
                                   const NetlistRecord& record) {
  constexpr Nanometres kSameDiameter = 50_um;
  const Position at = record.hole_at.value_or(record.at);
  if (const auto hole = hole_at(ground, holes.joins, at)) return hole;
  if (!record.hole) return std::nullopt;
  std::optional<std::size_t> found;
  double nearest = static_cast<double>(std::max(record.size_x, record.size_y).value) / 2;
  for (std::size_t i = 0; i < holes.joins.size(); ++i) {
    const Nanometres off = holes.joins[i].diameter - *record.hole;
    const double d = distance_to_axis(ground.design, holes.joins[i], at);
    if (off > kSameDiameter || -off > kSameDiameter || d > nearest || (found && d == nearest)) {
      continue;
    }
    found = i;
    nearest = d;
  }
  return found;
}

void note_left_out(const Ground& ground, std::size_t inner, std::size_t holeless,
                   Diagnostics& notes) {
  if (inner > 0) {
    notes.note(problem(ground.design, "EXP-020",
                       fmt::format("{} netlist records lie on inner layers only; no probe reaches "
                                   "them and they are not points",
                                   inner)));
  }
  if (holeless > 0) {
    notes.warn(problem(ground.design, "EXP-021",
                       fmt::format("{} through-hole records of the netlist have no hole in the "
                                   "drill files; nothing can join their two sides",
                                   holeless),
                       "name every drill file under holes"));
  }
}

// A via that the mask covers on one side has its copper there all the same: of a hole that is
// listed from one side alone, both are.
void reach_through(std::vector<Pad>& pads) {
  std::map<std::size_t, std::set<Side>> from;
  for (const Pad& pad : pads) {
    if (pad.hole && pad.through) from[*pad.hole].insert(pad.access);
  }
  for (Pad& pad : pads) {
    if (pad.hole && pad.through && from[*pad.hole].size() == 1) pad.access = Side::both;
  }
}

}  // namespace

std::vector<Pad> pads_of_netlist(const Ground& ground, const Holes& holes, Diagnostics& notes) {
  std::vector<Pad> pads;
  std::size_t inner = 0;
  std::size_t holeless = 0;
  for (const NetlistRecord& record : ground.design.netlist->records) {
    if (record.kind == FeatureKind::tooling) continue;
    const auto access = access_of(record, ground.design.netlist->bottom_access);
    if (!access) {
      ++inner;
      continue;
    }
    Pad pad = pad_of(record, *access);
    if (pad.through) {
      pad.hole = hole_of(ground, holes, record);
      if (!pad.hole) ++holeless;
    }
    pads.push_back(std::move(pad));
  }
  reach_through(pads);
  note_left_out(ground, inner, holeless, notes);
  return pads;
}

}  // namespace isthmus::expect
