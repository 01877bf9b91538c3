// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/ipc_2581.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include "formats/ipc_2581/xml.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

using i81::all_below;
using i81::child_of;
using i81::local_name;
using pugi::xml_node;

std::string text_of(const xml_node& node, const char* attribute) {
  return node.attribute(attribute).value();
}

// Nanometres of one unit; nothing for a word the standard does not know.
std::optional<double> unit_of(std::string_view word) {
  if (word == "MILLIMETER") return 1e6;
  if (word == "MICRON") return 1e3;
  if (word == "INCH") return 25.4e6;
  return std::nullopt;
}

bool conducts(std::string_view function) {
  static constexpr std::array<std::string_view, 8> kCopper{"SIGNAL",   "CONDUCTOR",    "PLANE",
                                                           "MIXED",    "POWER_GROUND", "CONDFILM",
                                                           "CONDFOIL", "LANDPATTERN"};
  return std::ranges::find(kCopper, function) != kCopper.end();
}

struct Extent {
  Nanometres x{}, y{};
};

struct Pin {
  std::string ref, pin;
  auto operator<=>(const Pin&) const = default;
};

// Copper layers from the top down, 1-based; `to` differs for what goes through several.
struct Span {
  int from{}, to{};
};

struct PlacedPad {
  Pin pin;
  std::string net;  // of its Set
  NetlistRecord record;
};

class Reader {
 public:
  Reader(std::string_view bytes, const std::string& file, Diagnostics& notes)
      : xml_(bytes, file), notes_(notes) {
    netlist_.file = file;
    netlist_.metric = true;
  }

  Result<Netlist> read() {
    if (auto p = xml_.load()) return *p;
    if (local_name(xml_.root()) != "IPC-2581") {
      return xml_.problem(xml_.root(), "I81-004", "the document is not IPC-2581",
                          "name the exported .xml or .cvg file");
    }
    if (auto p = read_unit()) return *p;
    if (auto p = read_layers()) return *p;
    if (auto p = read_shapes()) return *p;
    if (auto p = choose_step()) return *p;
    if (auto p = read_pins()) return *p;
    if (auto p = read_pads()) return *p;
    if (auto p = read_points()) return *p;
    if (netlist_.records.empty()) {
      for (const auto& key : order_) netlist_.records.push_back(pads_.at(key).record);
    }
    if (netlist_.records.empty()) {
      return Problem{netlist_.file,
                     0,
                     0,
                     "I81-012",
                     "holds no test points (PhyNetPoint) and no pads that name their pins",
                     "export with nets, or as IPC-D-356A",
                     ""};
    }
    tell_unplaced();
    return std::move(netlist_);
  }

 private:
  std::optional<Problem> read_unit() {
    const std::vector<xml_node> headers = all_below(xml_.root(), "CadHeader");
    const xml_node header = headers.empty() ? xml_node() : headers.front();
    const auto unit = unit_of(text_of(header, "units"));
    if (!unit) {
      const std::string word = text_of(header, "units");
      return xml_.problem(header ? header : xml_.root(), "I81-005",
                          word.empty() ? "CadHeader does not say its units"
                                       : "the units '" + shown(word) + "' are unknown",
                          "units is one of MILLIMETER, MICRON, INCH");
    }
    unit_ = *unit;
    return std::nullopt;
  }

  std::optional<Problem> read_layers() {
    std::map<std::string, double> sequence;
    for (const xml_node& l : all_below(xml_.root(), "StackupLayer")) {
      const auto number = to_double(text_of(l, "sequence"));
      if (number) sequence.emplace(text_of(l, "layerOrGroupRef"), *number);
    }
    struct Copper {
      int side;
      double sequence;
      std::string name;
    };
    std::vector<Copper> copper;
    std::vector<xml_node> layers;
    for (const xml_node& data : all_below(xml_.root(), "CadData")) {
      for (const xml_node& l : data.children()) {
        if (local_name(l) == "Layer") layers.push_back(l);
      }
    }
    for (const xml_node& l : layers) {
      const std::string name = text_of(l, "name");
      if (!known_layers_.emplace(name, l).second) {
        return xml_.problem(l, "I81-006", "the layer '" + shown(name) + "' is defined twice",
                            "correct the layers, or export again");
      }
      if (!conducts(text_of(l, "layerFunction"))) continue;
      const std::string side = text_of(l, "side");
      const auto at = sequence.find(name);
      copper.push_back({side == "TOP"      ? 0
                        : side == "BOTTOM" ? 2
                                           : 1,
                        at == sequence.end() ? 0 : at->second, name});
    }
    std::ranges::stable_sort(copper, [](const Copper& a, const Copper& b) {
      return std::pair(a.side, a.sequence) < std::pair(b.side, b.sequence);
    });
    // A board with one named copper side still has a top and a bottom.
    const int count = static_cast<int>(copper.size());
    const bool no_top = !copper.empty() && copper.front().side != 0;
    netlist_.bottom_access = std::max(2, count + (no_top ? 1 : 0));
    for (int i = 0; i < count; ++i) {
      const Copper& layer = copper[static_cast<std::size_t>(i)];
      const int number = layer.side == 2 ? netlist_.bottom_access : i + 1 + (no_top ? 1 : 0);
      copper_.emplace(layer.name, number);
      for (const auto& [name, other] : copper_) {
        if (name != layer.name && other == number) {
          return xml_.problem(known_layers_.at(layer.name), "I81-006",
                              "two copper layers, '" + shown(name) + "' and '" + shown(layer.name) +
                                  "', claim one side",
                              "correct the side of one of them");
        }
      }
    }
    return std::nullopt;
  }

  Result<Span> span_of(const xml_node& node, const std::string& layer) const {
    const auto copper = copper_.find(layer);
    if (copper != copper_.end()) return Span{copper->second, copper->second};
    const auto known = known_layers_.find(layer);
    if (known == known_layers_.end()) {
      return xml_.problem(node, "I81-007", "the layer '" + shown(layer) + "' is not defined",
                          "export again, with all layers");
    }
    const xml_node span = child_of(known->second, "Span");
    const auto from = copper_.find(text_of(span, "fromLayer"));
    const auto to = copper_.find(text_of(span, "toLayer"));
    if (from == copper_.end() || to == copper_.end()) {
      return xml_.problem(node, "I81-007",
                          "the layer '" + shown(layer) + "' is no copper and spans none",
                          "a point lies on a copper layer, or on a drill layer with its Span");
    }
    return Span{std::min(from->second, to->second), std::max(from->second, to->second)};
  }

  // Shapes of DictionaryStandard and DictionaryUser, for their size alone.
  std::optional<Problem> read_shapes() {
    for (const char* kind : {"DictionaryStandard", "DictionaryUser"}) {
      for (const xml_node& dictionary : all_below(xml_.root(), kind)) {
        const std::string word = text_of(dictionary, "units");
        const auto unit = word.empty() ? unit_ : unit_of(word);
        if (!unit) {
          return xml_.problem(dictionary, "I81-005", "the units '" + shown(word) + "' are unknown",
                              "units is one of MILLIMETER, MICRON, INCH");
        }
        for (const xml_node& entry : dictionary.children()) {
          shapes_[text_of(entry, "id")] = extent_of(entry, *unit);
        }
      }
    }
    return std::nullopt;
  }

  // 0 where the shape is none of the simple ones: "not given".
  [[nodiscard]] Extent extent_of(const xml_node& holder, double unit) const {
    for (const xml_node& shape : holder.children()) {
      const std::string_view name = local_name(shape);
      if (name == "StandardPrimitiveRef" || name == "UserPrimitiveRef") {
        const auto it = shapes_.find(text_of(shape, "id"));
        if (it != shapes_.end()) return it->second;
      }
      const auto length = [&](const char* attribute) {
        const double v = to_double(text_of(shape, attribute)).value_or(0) * unit;
        return Nanometres{v > 0 && v < 1e9 ? std::llround(v) : 0};
      };
      if (name == "Circle") return {length("diameter"), length("diameter")};
      if (shape.attribute("width") && shape.attribute("height"))
        return {length("width"), length("height")};
    }
    return {};
  }

  // The one step that holds points or pads: images of a panel would need its step-and-repeat.
  std::optional<Problem> choose_step() {
    for (const xml_node& step : all_below(xml_.root(), "Step")) {
      const bool used =
          !all_below(step, "PhyNetPoint").empty() || !all_below(step, "LogicalNet").empty();
      if (!used) continue;
      if (step_) {
        return xml_.problem(step, "I81-008", "a second step holds nets",
                            "export the single board, not the panel");
      }
      step_ = step;
    }
    return std::nullopt;
  }

  std::optional<Problem> read_pins() {
    for (const xml_node& net : all_below(step_, "LogicalNet")) {
      for (const xml_node& ref : all_below(net, "PinRef")) {
        const Pin pin{text_of(ref, "componentRef"), text_of(ref, "pin")};
        const auto [it, fresh] = nets_.emplace(pin, text_of(net, "name"));
        if (!fresh && it->second != text_of(net, "name")) {
          return xml_.problem(ref, "I81-009",
                              "the pin " + shown(pin.ref + "." + pin.pin) + " is on two nets: '" +
                                  shown(it->second) + "' and '" + shown(text_of(net, "name")) + "'",
                              "one of the two is wrong: export again");
        }
      }
    }
    return std::nullopt;
  }

  Result<Position> place_of(const xml_node& node) const {
    const auto x = to_double(text_of(node, "x")), y = to_double(text_of(node, "y"));
    if (!x || !y) {
      return xml_.problem(node, "I81-010", "x or y is missing or no number",
                          "correct the place, or export again");
    }
    const double limit = static_cast<double>(kMaxCoordinate);
    if (std::abs(*x * unit_) > limit || std::abs(*y * unit_) > limit) {
      return xml_.problem(node, "I81-010", "the place is over 1.07 m from the origin",
                          "check the units of CadHeader");
    }
    return Position{std::llround(*x * unit_), std::llround(*y * unit_)};
  }

  void fill(NetlistRecord& r, const xml_node& node, const Span& span) const {
    const Extent size = extent_of(node, unit_);
    r.size_x = size.x;
    r.size_y = size.y;
    r.rotation_deg = to_double(text_of(child_of(node, "Xform"), "rotation")).value_or(0);
    r.line = xml_.line_of(node);
    const int bottom = netlist_.bottom_access;
    if (span.from == span.to) {
      r.kind = FeatureKind::surface;
      r.access = span.from;
    } else if (span.from == 1 && span.to == bottom) {
      r.kind = FeatureKind::through_hole;
    } else {
      r.kind = FeatureKind::blind_via;
      r.span = {span.from, span.to};
      r.access = span.from == 1 ? 1 : span.to == bottom ? bottom : -1;
    }
  }

  std::optional<Problem> read_pads() {
    for (const xml_node& feature : all_below(step_, "LayerFeature")) {
      for (const xml_node& set : all_below(feature, "Set")) {
        for (const xml_node& pad : all_below(set, "Pad")) {
          const xml_node ref = child_of(pad, "PinRef");
          const xml_node location = child_of(pad, "Location");
          if (!ref || !location) continue;
          const std::string layer = text_of(feature, "layerRef");
          const auto known = known_layers_.find(layer);
          // Pads of masks and paste repeat those of the copper.
          if (known != known_layers_.end() && !copper_.contains(layer)) continue;
          if (auto p = add_pad(pad, ref, location, {text_of(set, "net"), layer})) return p;
        }
      }
    }
    return std::nullopt;
  }

  struct PadSet {
    std::string net, layer;
  };
  std::optional<Problem> add_pad(const xml_node& pad, const xml_node& ref, const xml_node& location,
                                 const PadSet& set) {
    const Result<Position> at = place_of(location);
    if (!at) return at.problem();
    const Result<Span> span = span_of(pad, set.layer);
    if (!span) return span.problem();
    const Pin pin{text_of(ref, "componentRef"), text_of(ref, "pin")};
    const auto logical = nets_.find(pin);
    if (logical != nets_.end() && !set.net.empty() && set.net != logical->second) {
      return two_nets(pad, set.net, logical->second);
    }
    NetlistRecord r;
    r.net = logical != nets_.end() ? logical->second : set.net;
    r.ref = pin.ref;
    r.pin = pin.pin;
    r.at = *at;
    fill(r, pad, *span);
    // One pin of a hole has a pad on each layer: one record, reached from the outer sides.
    const auto [twin, fresh] = pads_.emplace(std::pair(r.at, pin), PlacedPad{pin, r.net, r});
    if (fresh) {
      order_.push_back(twin->first);
      return std::nullopt;
    }
    if (twin->second.net != r.net) return two_nets(pad, r.net, twin->second.net);
    if (twin->second.record.access != r.access) {
      twin->second.record.kind = FeatureKind::through_hole;
      twin->second.record.access = 0;
    }
    return std::nullopt;
  }

  [[nodiscard]] Problem two_nets(const xml_node& node, const std::string& a,
                                 const std::string& b) const {
    return xml_.problem(
        node, "I81-011",
        "this place is on the net '" + shown(a) + "' here, but its pin on '" + shown(b) + "'",
        "the file contradicts itself: export it again");
  }

  std::optional<Problem> read_points() {
    for (const xml_node& net : all_below(step_, "PhyNet")) {
      for (const xml_node& point : all_below(net, "PhyNetPoint")) {
        if (auto p = add_point(point, text_of(net, "name"))) return p;
      }
    }
    return std::nullopt;
  }

  std::optional<Problem> add_point(const xml_node& point, const std::string& net) {
    NetlistRecord r;
    r.net = net;
    const Result<Position> at = place_of(point);
    if (!at) return at.problem();
    r.at = *at;
    Result<Span> span = span_of(point, text_of(point, "layerRef"));
    if (!span) return span.problem();
    if (const std::string second = text_of(point, "secondaryLayerRef"); !second.empty()) {
      const Result<Span> other = span_of(point, second);
      if (!other) return other.problem();
      span = Span{std::min(span->from, other->from), std::max(span->to, other->to)};
    }
    fill(r, point, *span);
    r.mid_net = text_of(point, "netNode") == "MIDDLE";
    if (auto p = read_exposure(point, r)) return p;
    if (text_of(point, "via") == "true" || text_of(point, "via") == "1") {
      r.ref = "VIA";
    } else if (const PlacedPad* pad = pad_under(r)) {
      if (pad->net != net && !pad->net.empty()) return two_nets(point, net, pad->net);
      r.ref = pad->pin.ref;
      r.pin = pad->pin.pin;
      placed_.insert(pad->pin);
    }
    netlist_.records.push_back(std::move(r));
    return std::nullopt;
  }

  // Solder mask over the point: the same hint as in IPC-D-356A.
  std::optional<Problem> read_exposure(const xml_node& point, NetlistRecord& r) const {
    const std::string word = text_of(point, "exposure");
    static const std::map<std::string, int> kMask{
        {"EXPOSED", 0}, {"COVERED_PRIMARY", 1}, {"COVERED_SECONDARY", 2}, {"COVERED", 3}};
    if (word.empty()) return std::nullopt;
    const auto it = kMask.find(word);
    if (it == kMask.end()) {
      return xml_.problem(point, "I81-013", "the exposure '" + shown(word) + "' is unknown",
                          "EXPOSED, COVERED_PRIMARY, COVERED_SECONDARY or COVERED");
    }
    r.mask = it->second;
    return std::nullopt;
  }

  [[nodiscard]] const PlacedPad* pad_under(const NetlistRecord& r) const {
    constexpr double kSame = 1000;  // nm: one of the two may carry fewer digits
    const auto from = pads_.lower_bound({{r.at.x - 1000, INT64_MIN}, {}});
    for (auto it = from; it != pads_.end() && it->first.first.x <= r.at.x + 1000; ++it) {
      const PlacedPad& pad = it->second;
      const bool reached = pad.record.access == r.access || pad.record.access == 0 || r.access == 0;
      if (reached && distance_nm(pad.record.at, r.at) <= kSame) return &pad;
    }
    return nullptr;
  }

  void tell_unplaced() {
    for (const NetlistRecord& r : netlist_.records) placed_.insert({r.ref, r.pin});
    std::size_t missing = 0;
    std::string first;
    for (const auto& [pin, net] : nets_) {
      if (placed_.contains(pin)) continue;
      if (missing++ == 0) first = pin.ref + "." + pin.pin;
    }
    if (missing == 0) return;
    notes_.warn({netlist_.file, 0, 0, "I81-020",
                 (missing == 1 ? "the pin " + shown(first) + " of a logical net has"
                               : std::to_string(missing) + " pins of logical nets, first " +
                                     shown(first) + ", have") +
                     " no point at a known place: not tested",
                 "export with test points (PhyNetPoint) or with PinRef in the pads", ""});
  }

  i81::Document xml_;
  Diagnostics& notes_;
  Netlist netlist_;
  double unit_{1e6};
  std::map<std::string, xml_node> known_layers_;
  std::map<std::string, int> copper_;  // name -> number from the top
  std::map<std::string, Extent> shapes_;
  xml_node step_;
  std::map<Pin, std::string> nets_;
  std::set<Pin> placed_;
  std::map<std::pair<Position, Pin>, PlacedPad> pads_;
  std::vector<std::pair<Position, Pin>> order_;  // of the file
};

}  // namespace

bool is_ipc_2581(std::string_view head) {
  return contains(head.substr(0, 64u << 10), "<IPC-2581") ||
         contains(head.substr(0, 64u << 10), ":IPC-2581 ");
}

Result<Netlist> read_ipc_2581(std::string_view bytes, const std::string& file_name,
                              Diagnostics& notes) {
  return Reader(bytes, file_name, notes).read();
}

Result<Netlist> read_netlist(std::string_view bytes, const std::string& file_name,
                             Diagnostics& notes) {
  return is_ipc_2581(bytes) ? read_ipc_2581(bytes, file_name, notes)
                            : read_ipc_d_356(bytes, file_name, notes);
}

}  // namespace isthmus::formats
