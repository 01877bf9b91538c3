// SPDX-License-Identifier: Apache-2.0
#include "hostsim/scenario/point_names.hpp"

#include <algorithm>
#include <charconv>
#include <tuple>
#include <utility>

namespace isthmus::hostsim {
namespace {

constexpr double kSamePlaceNm = 10'000;

struct Listed {
  Position at;
  int side{};  // as IPC-D-356A's access code: 0 both, 1 top, 2 and more below
  [[nodiscard]] auto key() const { return std::tuple(at.x, at.y, side); }
};
using Pads = std::map<std::string, std::vector<Listed>>;  // "": vias, and pads without a reference

Side side_of_access(int access) {
  return access == 0 ? Side::both : access == 1 ? Side::top : Side::bottom;
}

std::string name_of(const std::string& ref, const std::string& pin) {
  return pin.empty() ? ref : ref + "." + pin;
}

void collect(const formats::Netlist& netlist, Pads& pads) {
  for (const formats::NetlistRecord& r : netlist.records) {
    if (r.kind == formats::FeatureKind::tooling) continue;
    const bool unnamed = r.ref.empty() || r.ref == "VIA";
    const bool through = r.kind == formats::FeatureKind::through_hole;
    pads[unnamed ? "" : name_of(r.ref, r.pin)].push_back({r.at, through ? 0 : r.access});
  }
}

void collect(const std::vector<formats::LayerImage>& copper, Pads& pads) {
  for (std::size_t layer = 0; layer < copper.size(); ++layer) {
    for (const formats::Object& o : copper[layer].objects) {
      const formats::Attributes& a = copper[layer].attributes[o.attributes];
      if (o.kind != formats::ObjectKind::flash || a.component.empty() || o.spine.empty()) continue;
      const bool through = a.aperture_function == "ComponentPad";
      pads[name_of(a.component, a.pin)].push_back(
          {o.spine[0], through ? 0 : static_cast<int>(layer) + 1});
    }
  }
}

// "x,y"; "x,y#2" is a second pad at that place.
std::optional<Position> parse_place(std::string_view text) {
  text = text.substr(0, text.rfind('#'));
  const std::size_t comma = text.find(',');
  if (comma == std::string_view::npos) return std::nullopt;
  double x = 0, y = 0;
  const char *begin = text.data(), *middle = begin + comma, *end = begin + text.size();
  const auto first = std::from_chars(begin, middle, x),
             second = std::from_chars(middle + 1, end, y);
  if (first.ec != std::errc{} || first.ptr != middle || second.ec != std::errc{} ||
      second.ptr != end) {
    return std::nullopt;
  }
  return position_mm(x, y);
}

std::string without_side(std::string name) {
  for (const char* side : {"@top", "@bottom"}) {
    if (name.ends_with(side)) name.erase(name.size() - std::string_view(side).size());
  }
  return name;
}

}  // namespace

PointNames::PointNames(const formats::Design& design) {
  Pads pads;
  if (design.netlist) {
    collect(*design.netlist, pads);
  } else {
    collect(design.copper, pads);
  }
  for (auto& [name, list] : pads) {
    std::sort(list.begin(), list.end(),
              [](const Listed& a, const Listed& b) { return a.key() < b.key(); });
    std::vector<Listed> kept;
    for (const Listed& pad : list) {
      const bool repeated = std::any_of(kept.begin(), kept.end(), [&](const Listed& k) {
        return (k.side == pad.side || k.side == 0 || pad.side == 0) &&
               distance_nm(k.at, pad.at) <= kSamePlaceNm;
      });
      if (repeated) continue;
      kept.push_back(pad);
      (name.empty() ? unnamed_ : pads_[name]).push_back({pad.at, side_of_access(pad.side)});
    }
  }
}

const PointNames::Pad* PointNames::pad(const std::string& base) const {
  if (const auto whole = pads_.find(base); whole != pads_.end()) return &whole->second.front();
  const std::size_t hash = base.rfind('#');
  if (hash == std::string::npos) return nullptr;
  std::size_t number = 0;
  const char* end = base.data() + base.size();
  const auto parsed = std::from_chars(base.data() + hash + 1, end, number);
  const auto pads = pads_.find(base.substr(0, hash));
  if (parsed.ec != std::errc{} || parsed.ptr != end || pads == pads_.end()) return nullptr;
  if (number < 1 || number > pads->second.size()) return nullptr;
  return &pads->second[number - 1];
}

std::optional<Position> PointNames::find(const std::string& name) const {
  const std::string base = without_side(name);
  if (base.starts_with("VIA@")) return parse_place(std::string_view(base).substr(4));
  if (base.starts_with("@")) return parse_place(std::string_view(base).substr(1));
  const Pad* found = pad(base);
  return found ? std::optional(found->at) : std::nullopt;
}

Side PointNames::side_of(const std::string& name) const {
  if (name.ends_with("@top")) return Side::top;
  if (name.ends_with("@bottom")) return Side::bottom;
  if (name.starts_with("VIA@")) return Side::both;
  if (name.starts_with("@")) {
    const auto place = find(name);
    return place ? side_at(*place) : Side::both;
  }
  const Pad* found = pad(name);
  return found ? found->side : Side::both;
}

Side PointNames::side_at(Position place) const {
  const Pad* nearest = nullptr;
  const auto look = [&](const std::vector<Pad>& list) {
    for (const Pad& p : list) {
      if (!nearest || distance_nm(p.at, place) < distance_nm(nearest->at, place)) nearest = &p;
    }
  };
  look(unnamed_);
  for (const auto& [name, list] : pads_) look(list);
  return nearest ? nearest->side : Side::both;
}

std::vector<Position> PointNames::pads_near(Position place, Side side, double within_mm) const {
  std::vector<std::pair<double, Position>> found;
  const auto look = [&](const std::vector<Pad>& list) {
    for (const Pad& p : list) {
      const double away = distance_nm(p.at, place);
      if ((p.side == side || p.side == Side::both) && away <= within_mm * 1e6)
        found.emplace_back(away, p.at);
    }
  };
  look(unnamed_);
  for (const auto& [name, list] : pads_) look(list);
  std::sort(found.begin(), found.end(), [](const auto& a, const auto& b) {
    return std::tuple(a.first, a.second.x, a.second.y) <
           std::tuple(b.first, b.second.x, b.second.y);
  });
  std::vector<Position> places;
  for (const auto& [away, at] : found) places.push_back(at);
  return places;
}

}  // namespace isthmus::hostsim
