// SPDX-License-Identifier: Apache-2.0
// Boards of a few rectangles, drawn by hand: what must conduct is plain to see.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <string>
#include <vector>

#include "isthmus/copper/gaps.hpp"
#include "isthmus/copper/islands.hpp"
#include "isthmus/expect/expectation.hpp"

namespace isthmus::test {

// All lengths in millimetres. Two layers unless told otherwise.
class LittleBoard {
 public:
  explicit LittleBoard(std::size_t layers = 2) {
    design.board.path = "little.yaml";
    design.board.stage = Stage::etched;
    design.board.joins_mode = formats::JoinsMode::all;
    design.board.netlist_source = formats::NetlistSource::file;
    design.copper.resize(layers);
    design.board.top = "top.gbr";
    if (layers > 1) design.board.bottom = "bottom.gbr";
    design.board.inner.resize(layers > 2 ? layers - 2 : 0);
    design.netlist.emplace();
    design.netlist->file = "little.d356";
    design.netlist->bottom_access = static_cast<int>(layers);
  }

  // A flashed rectangle with its middle at (x, y).
  LittleBoard& pad(std::size_t layer, double x, double y, double w, double h,
                   const formats::Attributes& a = {}) {
    auto& image = design.copper[layer];
    image.attributes.push_back(a);
    formats::Object o;
    o.kind = formats::ObjectKind::flash;
    o.spine = {position_mm(x, y)};
    o.width = from_mm(std::min(w, h));
    o.shape = {Polygon{{position_mm(x - w / 2, y - h / 2), position_mm(x + w / 2, y - h / 2),
                        position_mm(x + w / 2, y + h / 2), position_mm(x - w / 2, y + h / 2)},
                       {}}};
    o.attributes = static_cast<std::uint32_t>(image.attributes.size() - 1);
    image.objects.push_back(std::move(o));
    return *this;
  }
  // A track along x or y.
  LittleBoard& track(std::size_t layer, double x0, double y0, double x1, double y1, double w) {
    pad(layer, (x0 + x1) / 2, (y0 + y1) / 2, std::abs(x1 - x0) + w, std::abs(y1 - y0) + w);
    auto& o = design.copper[layer].objects.back();
    o.kind = formats::ObjectKind::stroke;
    o.spine = {position_mm(x0, y0), position_mm(x1, y1)};
    o.width = from_mm(w);
    return *this;
  }
  LittleBoard& hole(double x, double y, double d, std::optional<bool> plated = true) {
    formats::Hole h;
    h.from = h.to = position_mm(x, y);
    h.diameter = from_mm(d);
    h.plated = plated;
    design.holes.push_back(h);
    return *this;
  }
  // A record of the netlist: access 0 both sides (a through hole), 1 top, 2 bottom.
  LittleBoard& record(const std::string& net, const std::string& ref, const std::string& pin,
                      double x, double y, int access) {
    formats::NetlistRecord r;
    r.kind = access == 0 ? formats::FeatureKind::through_hole : formats::FeatureKind::surface;
    r.net = net;
    r.ref = ref;
    r.pin = pin;
    r.at = position_mm(x, y);
    r.size_x = r.size_y = from_mm(0.8);
    r.access = access;
    design.netlist->records.push_back(r);
    return *this;
  }
  // A pad with hole on both sides, and its record.
  LittleBoard& through(const std::string& net, const std::string& ref, const std::string& pin,
                       double x, double y, std::optional<bool> plated = true) {
    for (std::size_t layer = 0; layer < design.copper.size(); ++layer) pad(layer, x, y, 1.6, 1.6);
    return hole(x, y, 0.8, plated).record(net, ref, pin, x, y, 0);
  }
  LittleBoard& surface(const std::string& net, const std::string& ref, const std::string& pin,
                       double x, double y, int access = 1) {
    pad(access == 1 ? 0 : design.copper.size() - 1, x, y, 1.0, 1.0);
    return record(net, ref, pin, x, y, access);
  }
  LittleBoard& waive(const std::string& point, const std::string& why) {
    formats::WaiveEntry entry;
    entry.point = point;
    entry.why = why;
    design.board.waive.push_back(std::move(entry));
    return *this;
  }
  LittleBoard& stage(Stage s) {
    design.board.stage = s;
    return *this;
  }

  // Gaps of boxes: exact for islands that are single rectangles, the only ones such tests measure.
  [[nodiscard]] std::vector<copper::Gap> box_gaps(const copper::Copper& copper) const {
    std::vector<copper::Gap> gaps;
    for (std::size_t a = 0; a < copper.islands.size(); ++a) {
      for (std::size_t b = a + 1; b < copper.islands.size(); ++b) {
        const Box& p = copper.islands[a].box;
        const Box& q = copper.islands[b].box;
        if (copper.islands[a].layer != copper.islands[b].layer) continue;
        const auto dx = std::max<std::int64_t>({0, q.lo.x - p.hi.x, p.lo.x - q.hi.x});
        const auto dy = std::max<std::int64_t>({0, q.lo.y - p.hi.y, p.lo.y - q.hi.y});
        const double d = std::hypot(static_cast<double>(dx), static_cast<double>(dy));
        if (d > static_cast<double>(design.board.limits.window.value)) continue;
        copper::Gap gap;
        gap.a = static_cast<IslandId>(a);
        gap.b = static_cast<IslandId>(b);
        gap.layer = copper.islands[a].layer;
        gap.distance_nm = d;
        gap.on_a = p.centre();
        gap.on_b = q.centre();
        gap.weight = 1.0;
        gaps.push_back(gap);
      }
    }
    return gaps;
  }

  Result<expect::Expectation> run() {
    auto copper = copper::extract_copper(design);
    EXPECT_TRUE(copper.ok());
    return expect::expect_board(design, *copper, box_gaps(*copper), notes);
  }
  expect::Expectation must_run() {
    auto e = run();
    if (!e) throw std::runtime_error(format(e.problem()));
    return std::move(e).value();
  }
  [[nodiscard]] std::vector<std::string> note_codes() const {
    std::vector<std::string> codes;
    for (const auto& d : notes.list()) codes.push_back(d.what.code);
    return codes;
  }

  formats::Design design;
  Diagnostics notes;
};

inline bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}
inline std::vector<std::string> ids(const expect::Expectation& e) {
  std::vector<std::string> out;
  for (const auto& p : e.points) out.push_back(p.id);
  return out;
}
// "NET: a b | NET: c": groups with their points.
inline std::string groups_text(const expect::Expectation& e) {
  std::string out;
  for (const auto& g : e.groups) {
    if (!out.empty()) out += " | ";
    out += g.net + ":";
    for (const auto p : g.points) out += " " + e.point(p).id;
  }
  return out;
}
inline std::string pairs_text(const expect::Expectation& e) {
  std::string out;
  for (const auto& p : e.pairs) {
    if (!out.empty()) out += " | ";
    out += e.group(p.a).net + "-" + e.group(p.b).net;
  }
  return out;
}
// "kind nets points side" of every disagreement.
inline std::vector<std::string> disagreements_text(const expect::Expectation& e) {
  std::vector<std::string> out;
  for (const auto& d : e.disagreements) {
    std::string text(name(d.kind));
    for (const auto& n : d.nets) text += " " + n;
    text += ":";
    for (const auto& p : d.points) text += " " + p;
    out.push_back(text + " " + d.side);
  }
  return out;
}
inline std::vector<std::string> blockers_text(const expect::Expectation& e) {
  std::vector<std::string> out;
  for (const auto& b : e.blockers) out.push_back(b.net + ": " + b.why);
  return out;
}

}  // namespace isthmus::test
