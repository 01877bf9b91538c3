// SPDX-License-Identifier: Apache-2.0
// A second reading of Gerber layers, to compare with: written from the Gerber Layer Format
// Specification 2023.08 alone, sharing nothing with the reader under test but the values it fills.
// Arcs are chords within 0.01 um. It knows what the chosen real layers use and throws at the rest.
#pragma once

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

#include "isthmus/formats/layer_image.hpp"

namespace isthmus::test {

inline constexpr double kFineSagitta = 10;  // nm

struct FinePlace {
  double x{}, y{};  // nm
};
inline FinePlace operator+(FinePlace a, FinePlace b) { return {a.x + b.x, a.y + b.y}; }
inline FinePlace turned(FinePlace p, double degrees) {
  const double a = degrees * std::numbers::pi / 180, c = std::cos(a), s = std::sin(a);
  return {c * p.x - s * p.y, s * p.x + c * p.y};
}
using FineContour = std::vector<FinePlace>;

// Evaluates an expression of an aperture macro (4.5.4.2): + - x / ( ) $n.
class MacroSum {
 public:
  MacroSum(const std::string& text, const std::map<int, double>& variables)
      : text_(text), variables_(variables) {}
  double value() {
    const double all = sum();
    if (at_ != text_.size()) throw std::runtime_error("macro expression " + text_);
    return all;
  }

 private:
  [[nodiscard]] char next() const { return at_ < text_.size() ? text_[at_] : '\0'; }
  double sum() {
    double all = product();
    while (next() == '+' || next() == '-') all += text_[at_++] == '+' ? product() : -product();
    return all;
  }
  double product() {
    double all = factor();
    while (next() == 'x' || next() == 'X' || next() == '/') {
      if (text_[at_++] == '/') {
        all /= factor();
      } else {
        all *= factor();
      }
    }
    return all;
  }
  double factor() {
    if (next() == '-') return ++at_, -factor();
    if (next() == '+') return ++at_, factor();
    if (next() == '(') {
      ++at_;
      const double inside = sum();
      ++at_;
      return inside;
    }
    const bool variable = next() == '$';
    if (variable) ++at_;
    const std::size_t end = std::min(text_.find_first_not_of("0123456789.", at_), text_.size());
    const double number = std::stod(text_.substr(at_, end - at_));
    at_ = end;
    if (!variable) return number;
    const auto known = variables_.find(static_cast<int>(number));
    return known == variables_.end() ? 0 : known->second;
  }

  std::string text_;
  const std::map<int, double>& variables_;
  std::size_t at_{0};
};

class FineGerber {
 public:
  explicit FineGerber(std::string text) {
    std::erase_if(text, [](char c) { return c == '\n' || c == '\r'; });
    for (std::size_t i = 0; i < text.size() && !ended_;) {
      const char end = text[i] == '%' ? '%' : '*';
      const std::size_t from = i + (end == '%' ? 1 : 0), to = text.find(end, from);
      if (to == std::string::npos) throw std::runtime_error("no end");
      const std::string block = text.substr(from, to - from);
      if (end == '%') {
        extended(block);
      } else {
        words(block);
      }
      i = to + 1;
    }
    if (!ended_) throw std::runtime_error("no M02");
  }

  [[nodiscard]] const formats::LayerImage& image() const { return image_; }
  // The longest chord of any arc: what is longer in an outline is straight.
  [[nodiscard]] double longest_chord() const { return longest_chord_; }

 private:
  struct Aperture {
    std::vector<FineContour> shape;
    std::optional<double> pen;  // diameter of a plain disc
  };

  static std::vector<std::string> split(const std::string& text, const char* at) {
    std::vector<std::string> parts;
    for (std::size_t i = 0; i <= text.size();) {
      const std::size_t to = std::min(text.find_first_of(at, i), text.size());
      parts.push_back(text.substr(i, to - i));
      i = to + 1;
    }
    return parts;
  }

  // Points of an arc from angle `from`, `sweep` radians on, both ends included.
  FineContour arc(FinePlace centre, double radius, double from, double sweep) {
    const double largest = 2 * std::acos(1 - std::min(1.0, kFineSagitta / radius));
    const int steps = std::max(1, static_cast<int>(std::ceil(std::abs(sweep) / largest)));
    longest_chord_ = std::max(longest_chord_, radius * std::abs(sweep) / steps);
    FineContour points;
    for (int i = 0; i <= steps; ++i) {
      const double a = from + sweep * i / steps;
      points.push_back(centre + FinePlace{radius * std::cos(a), radius * std::sin(a)});
    }
    return points;
  }
  FineContour disc(FinePlace centre, double diameter) {
    FineContour circle = arc(centre, diameter / 2, 0, 2 * std::numbers::pi);
    circle.pop_back();
    return circle;
  }
  FineContour capsule(FinePlace a, FinePlace b, double width) {
    if (a.x == b.x && a.y == b.y) return disc(a, width);
    const double along = std::atan2(b.y - a.y, b.x - a.x);
    FineContour all = arc(b, width / 2, along - std::numbers::pi / 2, std::numbers::pi);
    const FineContour other = arc(a, width / 2, along + std::numbers::pi / 2, std::numbers::pi);
    all.insert(all.end(), other.begin(), other.end());
    return all;
  }
  static FineContour rectangle(FinePlace centre, double w, double h) {
    return {centre + FinePlace{-w / 2, -h / 2}, centre + FinePlace{w / 2, -h / 2},
            centre + FinePlace{w / 2, h / 2}, centre + FinePlace{-w / 2, h / 2}};
  }
  static FineContour regular(FinePlace centre, double diameter, int corners, double degrees) {
    FineContour all;
    for (int i = 0; i < corners; ++i) {
      all.push_back(centre + turned({diameter / 2, 0}, degrees + 360.0 * i / corners));
    }
    return all;
  }

  void extended(const std::string& block) {
    const std::string code = block.substr(0, 2);
    if (code == "FS") {
      if (block.substr(2, 3) != "LAX") throw std::runtime_error("format " + block);
      decimals_ = block.at(6) - '0';
    } else if (code == "MO") {
      unit_ = block.substr(2, 2) == "MM" ? 1e6 : 25.4e6;
    } else if (code == "AM") {
      macros_[block.substr(2, block.find('*') - 2)] = split(block.substr(block.find('*') + 1), "*");
    } else if (code == "AD") {
      define(block.substr(3, block.find('*') - 3));
    } else if (code == "LP") {
      dark_ = block.at(2) == 'D';
    } else if (code[0] != 'T' && block.substr(0, 5) != "IPPOS" && code != "LN" && code != "IN" &&
               block.substr(0, 6) != "OFA0B0" && block.substr(0, 10) != "SFA1.0B1.0") {
      throw std::runtime_error("command " + block);
    }
  }

  void define(const std::string& text) {
    const std::size_t name_at = text.find_first_not_of("0123456789");
    const std::size_t comma = std::min(text.find(','), text.size());
    const std::string name = text.substr(name_at, comma - name_at);
    std::map<int, double> given;
    if (comma < text.size()) {
      for (const std::string& n : split(text.substr(comma + 1), "X")) {
        given.emplace(static_cast<int>(given.size()) + 1, std::stod(n));
      }
    }
    Aperture& a = apertures_[std::stoi(text)];
    const auto length = [&](int i) { return given.at(i) * unit_; };
    const std::size_t plain = name == "P" ? 3 : name == "C" ? 1 : 2;
    if (name.size() == 1 && given.size() > plain) throw std::runtime_error("hole " + text);
    if (name == "C") {
      a.pen = length(1);
      if (*a.pen > 0) a.shape = {disc({}, *a.pen)};
    } else if (name == "R") {
      a.shape = {rectangle({}, length(1), length(2))};
    } else if (name == "O") {
      const double w = length(1), h = length(2), off = std::abs(w - h) / 2;
      const FinePlace end = w > h ? FinePlace{off, 0} : FinePlace{0, off};
      a.shape = {capsule({-end.x, -end.y}, end, std::min(w, h))};
    } else if (name == "P") {
      const double turn = given.contains(3) ? given.at(3) : 0;
      a.shape = {regular({}, length(1), static_cast<int>(given.at(2)), turn)};
    } else {
      for (const std::string& line : macros_.at(name)) primitive(line, given, a);
    }
  }

  void primitive(const std::string& line, std::map<int, double>& variables, Aperture& into) {
    if (line.empty() || line[0] == '0') return;
    if (line[0] == '$') {
      const std::size_t equals = line.find('=');
      variables[std::stoi(line.substr(1))] = MacroSum(line.substr(equals + 1), variables).value();
      return;
    }
    std::vector<double> v;
    for (const std::string& field : split(line, ",")) {
      v.push_back(MacroSum(field, variables).value());
    }
    if (v.at(1) != 1) throw std::runtime_error("exposure " + line);
    const auto mm = [&](std::size_t i) { return v.at(i) * unit_; };
    const auto place = [&](std::size_t i) { return FinePlace{mm(i), mm(i + 1)}; };
    FineContour shape;
    double turn = v.back();
    switch (static_cast<int>(v[0])) {
      case 1:
        shape = disc(place(3), mm(2));
        if (v.size() < 6) turn = 0;
        break;
      case 4:
        for (std::size_t i = 0; i < static_cast<std::size_t>(v[2]); ++i) {
          shape.push_back(place(3 + 2 * i));
        }
        break;
      case 5:
        shape = regular(place(3), mm(5), static_cast<int>(v[2]), 0);
        break;
      case 20: {
        const FinePlace a = place(3), b = place(5);
        const double off = std::atan2(b.y - a.y, b.x - a.x) * 180 / std::numbers::pi;
        const FinePlace side = turned({0, mm(2) / 2}, off), other{-side.x, -side.y};
        shape = {a + side, a + other, b + other, b + side};
        break;
      }
      case 21:
        shape = rectangle(place(4), mm(2), mm(3));
        break;
      default:
        throw std::runtime_error("primitive " + line);
    }
    for (FinePlace& p : shape) p = turned(p, turn);
    into.shape.push_back(shape);
  }

  void words(const std::string& block) {
    std::map<char, std::string> value;
    for (std::size_t i = 0; i < block.size();) {
      const char letter = block[i];
      const std::size_t to =
          std::min(block.find_first_not_of("+-.0123456789", i + 1), block.size());
      const std::string number = block.substr(i + 1, to - i - 1);
      i = to;
      if (letter == 'G' && std::stoi(number) == 4) return;
      if (letter == 'G') {
        mode(std::stoi(number));
      } else if (std::string("XYIJDM").find(letter) != std::string::npos) {
        value[letter] = number;
      } else {
        throw std::runtime_error("word " + block);
      }
    }
    if (value.contains('M')) ended_ = true;
    const FinePlace before = at_;
    const double scale = unit_ / std::pow(10, decimals_);
    if (value.contains('X')) at_.x = std::stod(value['X']) * scale;
    if (value.contains('Y')) at_.y = std::stod(value['Y']) * scale;
    FinePlace to_centre;
    if (value.contains('I')) to_centre.x = std::stod(value['I']) * scale;
    if (value.contains('J')) to_centre.y = std::stod(value['J']) * scale;
    const bool places = value.contains('X') || value.contains('Y');
    const int code = value.contains('D') ? std::stoi(value['D']) : places ? last_ : 0;
    if (code >= 10) aperture_ = code;
    if (code == 0 || code >= 10) return;
    last_ = code;
    operate(code, before, to_centre);
  }

  void mode(int code) {
    if (code >= 1 && code <= 3) interpolation_ = code;
    if (code == 36 || code == 37) end_contour();
    if (code == 36) region_ = true;
    if (code == 37) {
      add(contours_);
      contours_.clear();
      region_ = false;
    }
    if (code == 70) unit_ = 25.4e6;
    if (code == 71) unit_ = 1e6;
    if (code == 74) single_ = true;
    if (code == 75) single_ = false;
    if (code == 91) throw std::runtime_error("G91");
  }

  FineContour way(FinePlace from, FinePlace to_centre) {
    if (interpolation_ == 1) return {from, at_};
    if (single_) throw std::runtime_error("single quadrant arc");
    const FinePlace c = from + to_centre;
    const double a = std::atan2(from.y - c.y, from.x - c.x),
                 b = std::atan2(at_.y - c.y, at_.x - c.x);
    double sweep = b - a;
    const double full = 2 * std::numbers::pi;
    if (interpolation_ == 3 && sweep <= 1e-12) sweep += full;
    if (interpolation_ == 2 && sweep >= -1e-12) sweep -= full;
    return arc(c, std::hypot(to_centre.x, to_centre.y), a, sweep);
  }

  void operate(int code, FinePlace before, FinePlace to_centre) {
    if (region_) {
      if (code == 2) end_contour();
      if (code == 1) {
        if (contour_.empty()) contour_.push_back(before);
        const FineContour more = way(before, to_centre);
        contour_.insert(contour_.end(), more.begin() + 1, more.end());
      }
      return;
    }
    if (code == 2) return;
    const Aperture& a = apertures_.at(aperture_);
    std::vector<FineContour> shape;
    if (code == 3) {
      shape = a.shape;
      for (FineContour& contour : shape) {
        for (FinePlace& p : contour) p = p + at_;
      }
    } else {
      if (!a.pen) throw std::runtime_error("stroke by another shape than a disc");
      if (*a.pen == 0) return;
      const FineContour spine = way(before, to_centre);
      for (std::size_t i = 1; i < spine.size(); ++i) {
        shape.push_back(capsule(spine[i - 1], spine[i], *a.pen));
      }
    }
    add(shape);
  }

  void end_contour() {
    if (contour_.size() > 2) contours_.push_back(contour_);
    contour_.clear();
  }

  void add(const std::vector<FineContour>& shape) {
    formats::Object object;
    object.dark = dark_;
    for (const FineContour& contour : shape) {
      Contour& outer = object.shape.emplace_back().outer;
      for (const FinePlace& p : contour) outer.push_back({std::llround(p.x), std::llround(p.y)});
    }
    image_.objects.push_back(std::move(object));
  }

  formats::LayerImage image_;
  std::map<int, Aperture> apertures_;
  std::map<std::string, std::vector<std::string>> macros_;
  std::vector<FineContour> contours_;
  FineContour contour_;
  FinePlace at_;
  double unit_{25.4e6}, longest_chord_{0};
  int decimals_{0}, interpolation_{1}, aperture_{0}, last_{0};
  bool dark_{true}, region_{false}, single_{false}, ended_{false};
};

}  // namespace isthmus::test
