// SPDX-License-Identifier: Apache-2.0
// What a reader made of a file, as lines of text.
#pragma once

#include <fmt/format.h>

#include <cmath>
#include <set>
#include <string>
#include <vector>

#include "isthmus/formats/drill.hpp"
#include "isthmus/formats/ipc_d_356.hpp"
#include "tests/formats/gerber_support.hpp"

namespace isthmus::test {

struct Reading {
  std::vector<std::string> lines;
  std::set<std::string> told;  // codes of notes and warnings
  std::string refused;         // code; empty: it was read
  std::string refused_text;    // as it is printed
};

inline std::string in_mm(std::int64_t nm) {
  return fmt::format("{:.4f}", static_cast<double>(nm) * 1e-6);
}
inline std::string in_mm(Position p) { return in_mm(p.x) + " " + in_mm(p.y); }

inline std::string joined(const std::vector<std::string>& words, const char* between) {
  return fmt::format("{}", fmt::join(words, between));
}

inline std::string line_of(const formats::Object& o, const formats::LayerImage& image) {
  std::string out = o.dark ? "" : "clear ";
  if (o.kind == formats::ObjectKind::region) {
    out += "region";
  } else if (o.kind == formats::ObjectKind::flash) {
    out += "flash " + in_mm(o.spine.at(0));
  } else {
    out += "stroke " + in_mm(o.spine.front()) + " " + in_mm(o.spine.back());
  }
  if (o.shape.empty()) {
    out += " empty";
  } else {
    Box box;
    for (const Polygon& polygon : o.shape) box.add(box_of(polygon.outer));
    out += " box " + in_mm(box.lo) + " " + in_mm(box.hi);
    out += fmt::format(" area {:.4f}", formats::area_mm2(o));
  }
  const formats::Attributes& a = image.attributes.at(o.attributes);
  if (a.nets) out += " net " + joined(*a.nets, ",");
  if (!a.pin.empty()) {
    out += " pin " + a.component + "." + a.pin;
  } else if (!a.component.empty()) {
    out += " part " + a.component;
  }
  if (!a.aperture_function.empty()) out += " use " + a.aperture_function;
  return out;
}

inline std::vector<std::string> lines_of(const formats::LayerImage& image) {
  std::vector<std::string> out;
  for (const formats::Object& o : image.objects) out.push_back(line_of(o, image));
  out.push_back(fmt::format("painted {:.4f}", formats::area_mm2(formats::painted(image))));
  for (const auto& attribute : image.file_attributes)
    out.push_back("file " + joined(attribute, " "));
  return out;
}

// The legs of one slot as one line.
inline std::vector<std::string> lines_of(const formats::DrillFile& file) {
  std::vector<std::string> out;
  for (std::size_t i = 0; i < file.holes.size(); ++i) {
    const formats::Hole& h = file.holes[i];
    std::string line = "hole " + in_mm(h.from);
    if (h.is_slot()) {
      double length = distance_nm(h.from, h.to);
      while (i + 1 < file.holes.size() && file.holes[i + 1].slot == h.slot) {
        ++i;
        length += distance_nm(file.holes[i].from, file.holes[i].to);
      }
      line = "slot " + in_mm(h.from) + " " + in_mm(file.holes[i].to) +
             fmt::format(" length {:.4f}", length * 1e-6);
    }
    line += " d " + in_mm(h.diameter.value);
    if (h.plated) line += *h.plated ? " plated" : " unplated";
    if (h.span) line += fmt::format(" span {} {}", h.span->first, h.span->second);
    out.push_back(line);
  }
  return out;
}

inline std::vector<std::string> lines_of(const formats::Netlist& netlist) {
  static constexpr const char* kKinds[] = {"through", "surface", "blind", "tooling"};
  std::vector<std::string> out;
  for (const formats::NetlistRecord& r : netlist.records) {
    const auto kind = r.kind == formats::FeatureKind::through_hole ? 0
                      : r.kind == formats::FeatureKind::surface    ? 1
                      : r.kind == formats::FeatureKind::blind_via  ? 2
                                                                   : 3;
    std::string line = fmt::format("{} {} {}", kKinds[kind], r.net, r.ref);
    if (!r.pin.empty() || kind == 3) line += "." + r.pin;
    line += fmt::format(" access {} at {}", r.access, in_mm(r.at));
    if (r.hole) line += " hole " + in_mm(r.hole->value);
    if (r.plated) line += *r.plated ? " plated" : " unplated";
    if (r.hole_at) line += " hole-at " + in_mm(*r.hole_at);
    line += " size " + in_mm(r.size_x.value) + " " + in_mm(r.size_y.value);
    if (r.mask) line += fmt::format(" mask {}", *r.mask);
    if (r.span) line += fmt::format(" span {} {}", r.span->first, r.span->second);
    if (r.mid_net) line += " mid";
    if (r.rotation_deg != 0) line += fmt::format(" turned {}", r.rotation_deg);
    out.push_back(line);
  }
  return out;
}

template <class T>
void take(const Result<T>& result, Reading& to) {
  if (result) {
    to.lines = lines_of(*result);
  } else {
    to.refused = result.problem().code;
    to.refused_text = format(result.problem());
  }
}

// 'd' drill, 'n' netlist, else Gerber.
inline Reading put_before_its_reader(char kind, const std::string& text) {
  Reading out;
  Diagnostics notes;
  if (kind == 'd') {
    take(formats::read_drill(text, "h.drl", notes), out);
  } else if (kind == 'n') {
    take(formats::read_ipc_d_356(text, "n.d356", notes), out);
  } else {
    take(formats::read_gerber(text, "layer.gbr", notes), out);
  }
  for (const Diagnostic& d : notes.list()) out.told.insert(d.what.code);
  return out;
}

}  // namespace isthmus::test
