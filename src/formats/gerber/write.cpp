// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <map>

#include "formats/gerber/attributes.hpp"
#include "isthmus/formats/gerber.hpp"

namespace isthmus::formats {
namespace {

// Joins a hole to the contour around it by a horizontal cut from its leftmost vertex to the nearest
// edge on the left: GLF 2023.08, 4.10.3.
struct Landing {
  std::size_t edge{};
  Position at;
  bool found{false};
};

Landing land_left(const Contour& contour, Position from) {
  Landing best;
  double best_x = 0;
  for (std::size_t i = 0; i < contour.size(); ++i) {
    const Position a = contour[i], b = contour[(i + 1) % contour.size()];
    if (std::min(a.y, b.y) > from.y || std::max(a.y, b.y) < from.y) continue;
    double x = static_cast<double>(std::max(a.x, b.x));
    if (a.y != b.y) {
      const double share = static_cast<double>(from.y - a.y) / static_cast<double>(b.y - a.y);
      x = static_cast<double>(a.x) + share * static_cast<double>(b.x - a.x);
    }
    const double limit = static_cast<double>(from.x);
    if (x > limit || (best.found && x <= best_x)) continue;
    best_x = x;
    best = {i, {std::llround(x), from.y}, true};
  }
  return best;
}

Contour with_cut_ins(const Polygon& polygon) {
  Contour all = polygon.outer;
  std::rotate(all.begin(), std::min_element(all.begin(), all.end()), all.end());
  std::vector<Contour> holes = polygon.holes;
  for (Contour& hole : holes) {
    std::rotate(hole.begin(), std::min_element(hole.begin(), hole.end()), hole.end());
  }
  std::sort(holes.begin(), holes.end(),
            [](const Contour& a, const Contour& b) { return a.front() < b.front(); });
  for (const Contour& hole : holes) {
    const Landing landing = land_left(all, hole.front());
    ENSURE(landing.found);
    Contour detour{landing.at};
    detour.insert(detour.end(), hole.begin(), hole.end());
    detour.push_back(hole.front());
    detour.push_back(landing.at);
    all.insert(all.begin() + static_cast<std::ptrdiff_t>(landing.edge) + 1, detour.begin(),
               detour.end());
  }
  return all;
}

std::string millimetres(std::int64_t nm) {
  return fmt::format("{}.{:06}", nm / 1000000, nm % 1000000);
}

class Writer {
 public:
  explicit Writer(const LayerImage& image) : image_(image) {}

  std::string write() {
    out_ = "%FSLAX46Y46*%\n%MOMM*%\n";
    for (const std::vector<std::string>& attribute : image_.file_attributes) {
      out_ += "%TF";
      for (std::size_t i = 0; i < attribute.size(); ++i) {
        out_ += (i > 0 ? "," : "") + gerber::escaped_field(attribute[i]);
      }
      out_ += "*%\n";
    }
    define_apertures();
    out_ += "G01*\nG75*\n";
    for (const Object& object : image_.objects) write_object(object);
    out_ += "M02*\n";
    return std::move(out_);
  }

 private:
  using Key = std::pair<std::int64_t, std::string>;  // diameter, aperture function

  static bool uses_aperture(const Object& object) {
    return object.round && !object.spine.empty() && object.kind != ObjectKind::region;
  }

  const std::string& function_of(const Object& object) const {
    return image_.attributes.at(object.attributes).aperture_function;
  }

  void set_function(const std::string& function) {
    if (function == function_) return;
    if (!function_.empty()) out_ += "%TD.AperFunction*%\n";
    if (!function.empty()) {
      out_ += fmt::format("%TA.AperFunction,{}*%\n", gerber::escaped_field(function));
    }
    function_ = function;
  }

  void define_apertures() {
    for (const Object& object : image_.objects) {
      if (uses_aperture(object)) codes_[{object.width.value, function_of(object)}] = 0;
    }
    int code = 10;
    for (auto& [key, number] : codes_) {
      number = code++;
      set_function(key.second);
      out_ += fmt::format("%ADD{}C,{}*%\n", number, millimetres(key.first));
    }
    set_function("");
  }

  void set_attributes(std::uint32_t index) {
    if (index == attributes_) return;
    const Attributes& before = image_.attributes.at(attributes_);
    const Attributes& now = image_.attributes.at(index);
    attributes_ = index;
    if (before.nets || !before.component.empty()) {
      out_ += "%TD*%\n";
      function_.clear();
    }
    if (now.nets) {
      out_ += "%TO.N";
      for (const std::string& net : *now.nets) out_ += "," + gerber::escaped_field(net);
      out_ += "*%\n";
    }
    if (now.component.empty()) return;
    if (now.pin.empty() && now.pin_function.empty()) {
      out_ += fmt::format("%TO.C,{}*%\n", gerber::escaped_field(now.component));
      return;
    }
    out_ += fmt::format("%TO.P,{},{}", gerber::escaped_field(now.component),
                        gerber::escaped_field(now.pin));
    if (!now.pin_function.empty()) out_ += "," + gerber::escaped_field(now.pin_function);
    out_ += "*%\n";
  }

  void put(Position at, int code) {
    fmt::format_to(std::back_inserter(out_), "X{}Y{}D0{}*\n", at.x, at.y, code);
  }

  void put_contour(const Contour& contour) {
    put(contour.front(), 2);
    for (std::size_t i = 1; i < contour.size(); ++i) {
      if (contour[i] != contour[i - 1]) put(contour[i], 1);
    }
    put(contour.front(), 1);
  }

  void write_object(const Object& object) {
    const bool aperture = uses_aperture(object);
    if (!aperture && object.shape.empty()) return;  // no image, no centre line of a round pen
    if (object.dark != dark_) out_ += object.dark ? "%LPD*%\n" : "%LPC*%\n";
    dark_ = object.dark;
    set_attributes(object.attributes);
    if (!aperture) {
      set_function(function_of(object));
      out_ += "G36*\n";
      for (const Polygon& polygon : object.shape) put_contour(with_cut_ins(polygon));
      out_ += "G37*\n";
      return;
    }
    const int code = codes_.at({object.width.value, function_of(object)});
    if (code != code_) out_ += fmt::format("D{}*\n", code);
    code_ = code;
    if (object.kind == ObjectKind::flash) {
      put(object.spine.front(), 3);
      return;
    }
    put(object.spine.front(), 2);
    for (std::size_t i = 1; i < object.spine.size(); ++i) put(object.spine[i], 1);
    if (object.spine.size() == 1) put(object.spine.front(), 1);
  }

  const LayerImage& image_;
  std::string out_;
  std::map<Key, int> codes_;
  std::string function_;
  std::uint32_t attributes_{0};
  int code_{0};
  bool dark_{true};
};

}  // namespace

std::string write_gerber(const LayerImage& image) { return Writer(image).write(); }

}  // namespace isthmus::formats
