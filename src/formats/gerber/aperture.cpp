// SPDX-License-Identifier: Apache-2.0
#include "formats/gerber/aperture.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "isthmus/base/ensure.hpp"

namespace isthmus::formats::gerber {
namespace {

constexpr std::size_t kMaxParameters = 10000;

bool is_name_char(char c) {
  return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '_' ||
         c == '.' || c == '$' || c == '-';
}

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first == text.npos) return text.substr(text.size());
  return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

// Hole parameters at the end: a diameter, or the sides of a rectangle.
Path hole_path(const std::vector<double>& parameters, std::size_t first, double unit,
               double error) {
  if (parameters.size() == first + 1) {
    return circle({0, 0}, parameters[first] * unit / 2, error);
  }
  return rectangle({0, 0}, parameters[first] * unit, parameters[first + 1] * unit);
}

std::size_t parameters_before_hole(const Aperture& aperture) {
  switch (aperture.kind) {
    case ApertureKind::circle:
      return 1;
    case ApertureKind::rectangle:
    case ApertureKind::obround:
      return 2;
    default:
      return 3;  // polygon; its rotation may be missing
  }
}

}  // namespace

Aperture* Apertures::find(int code) {
  const auto found = by_code_.find(code);
  return found == by_code_.end() ? nullptr : &found->second;
}

bool Apertures::add(int code, Aperture aperture) {
  if (code < 10) {
    return report_.fail(aperture.at, "GBR-021",
                        fmt::format("aperture number D{} is below 10", code),
                        "apertures are numbered from D10; correct the file");
  }
  if (by_code_.contains(code)) {
    report_.warn(
        aperture.at, "GBR-022",
        fmt::format("aperture D{} is defined again; from here on the new one counts", code),
        "export the file again if this was not meant");
  }
  by_code_.insert_or_assign(code, std::move(aperture));
  return true;
}

bool Apertures::define_block(int code, Aperture block) { return add(code, std::move(block)); }

bool Apertures::define(std::string_view body, double unit, const std::string& function) {
  Aperture aperture;
  aperture.at = report_.offset(body);
  aperture.unit = unit;
  aperture.function = function;
  std::string_view text = trimmed(body);
  const auto bad = [&](const std::string& what) {
    return report_.fail(report_.offset(text), "GBR-020",
                        fmt::format("bad aperture definition: {}", what),
                        "the form is %ADD<number><shape>,<size>X<size>...*%");
  };
  int code = 0;
  if (!text.empty() && text.front() == 'D') text.remove_prefix(1);
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), code);
  if (error != std::errc{} || code < 0) return bad("a number is expected after D");
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  text = trimmed(text);

  std::size_t length = 0;
  while (length < text.size() && is_name_char(text[length])) ++length;
  const std::string_view name = text.substr(0, length);
  if (name.empty()) return bad("the name of a shape or macro is expected");
  text = trimmed(text.substr(length));
  if (!text.empty()) {
    if (text.front() != ',') return bad("a comma is expected after the shape");
    text = trimmed(text.substr(1));
    while (!text.empty()) {
      const auto value = take_number(text);
      if (!value) return bad("a number is expected");
      aperture.parameters.push_back(*value);
      if (aperture.parameters.size() > kMaxParameters) return bad("it has too many parameters");
      text = trimmed(text);
      if (text.empty()) break;
      if (text.front() != 'X' && text.front() != 'x')
        return bad("X is expected between parameters");
      text = trimmed(text.substr(1));
      if (text.empty()) {
        report_.note(aperture.at, "GBR-029", "an X without a number ends an aperture definition",
                     "");
      }
    }
  }
  if (!check(aperture, name)) return false;
  static constexpr std::string_view kShapes = "CROP";
  const std::size_t shape = name.size() == 1 ? kShapes.find(name[0]) : kShapes.npos;
  if (shape == kShapes.npos) {
    aperture.kind = ApertureKind::macro;
    aperture.macro = name;
    if (!macros_.contains(name)) {
      return report_.fail(report_.offset(name), "GBR-023",
                          fmt::format("there is no aperture macro \"{}\"", name),
                          "a macro must be defined with %AM before it is used; export again");
    }
  } else {
    aperture.kind = static_cast<ApertureKind>(shape);
  }
  return add(code, std::move(aperture));
}

// Sizes of standard shapes: how many, and none negative.
bool Apertures::check(const Aperture& aperture, std::string_view name) {
  if (name.size() != 1) return true;
  const std::vector<double>& p = aperture.parameters;
  const auto bad = [&](const char* what) {
    return report_.fail(aperture.at, "GBR-020", fmt::format("bad aperture definition: {}", what),
                        "correct the %AD command");
  };
  const std::size_t n = p.size();
  switch (name[0]) {
    case 'C':
      if (n < 1 || n > 3) return bad("a circle takes a diameter, and perhaps a hole");
      break;
    case 'R':
    case 'O':
      if (n < 2 || n > 4) return bad("two sizes are needed, and perhaps a hole");
      break;
    case 'P':
      if (n < 2 || n > 5) return bad("a polygon takes a diameter, corners, rotation, a hole");
      if (p[1] < 3 || p[1] > 12 || p[1] != std::floor(p[1])) {
        return bad("a polygon has 3 to 12 corners");
      }
      break;
    default:
      return true;
  }
  for (std::size_t i = 0; i < n; ++i) {
    if (p[i] < 0 && !(name[0] == 'P' && i == 2)) return bad("a size is negative");
  }
  return true;
}

bool Apertures::define_macro(std::string_view body) {
  Macro macro;
  std::string_view text = body;
  while (!text.empty()) {
    const std::size_t star = text.find('*');
    const std::string_view statement = trimmed(text.substr(0, star));
    if (macro.name.data() == nullptr) {
      macro.name = statement;
    } else if (!statement.empty()) {
      macro.statements.push_back(statement);
    }
    if (star == text.npos) break;
    text.remove_prefix(star + 1);
  }
  const bool good =
      !macro.name.empty() && std::all_of(macro.name.begin(), macro.name.end(), is_name_char);
  if (!good) {
    return report_.fail(report_.offset(body), "GBR-030", "an aperture macro needs a name",
                        "the form is %AM<name>*<primitives>*%, the name of letters and digits");
  }
  macros_.insert_or_assign(macro.name, std::move(macro));
  return true;
}

const Pen* Apertures::pen(Aperture& aperture, const Transform& transform, std::uint32_t number,
                          double unit) {
  ENSURE(aperture.kind != ApertureKind::block && number > 0);
  if (aperture.pen_for == number) return &aperture.pen;
  Pen pen;
  if (!build(aperture, transform, aperture.unit > 0 ? aperture.unit : unit, pen)) return nullptr;
  aperture.pen = std::move(pen);
  aperture.pen_for = number;
  return &aperture.pen;
}

bool Apertures::build(const Aperture& aperture, const Transform& transform, double unit, Pen& pen) {
  const std::vector<double>& p = aperture.parameters;
  const double error = kChordError / std::max(1.0, transform.scale);
  const bool polygon = aperture.kind == ApertureKind::polygon;
  const auto too_large = [&](std::size_t i) {
    const bool is_size = !polygon || i == 0 || i > 2;
    return is_size && !(p[i] * unit * transform.scale <= static_cast<double>(kMaxCoordinate));
  };
  bool large = false;
  for (std::size_t i = 0; i < p.size(); ++i) large = large || too_large(i);
  if (large && aperture.kind != ApertureKind::macro) {
    return report_.fail(aperture.at, "GBR-024", "an aperture is larger than 1.07 m",
                        "check the units of the file");
  }
  Path outline;
  switch (aperture.kind) {
    case ApertureKind::circle:
      outline = circle({0, 0}, p[0] * unit / 2, error);
      break;
    case ApertureKind::rectangle:
      outline = rectangle({0, 0}, p[0] * unit, p[1] * unit);
      break;
    case ApertureKind::obround:
      outline = obround({0, 0}, p[0] * unit, p[1] * unit, error);
      break;
    case ApertureKind::polygon:
      outline =
          regular_polygon({0, 0}, p[0] * unit, static_cast<int>(p[1]), p.size() > 2 ? p[2] : 0);
      break;
    default: {
      auto shape = evaluate(macros_.at(aperture.macro), {p, unit, transform.scale}, report_);
      if (!shape) return false;
      pen.shape = transform.apply(*shape);
      pen.width = least_width(pen.shape);
      pen.box = box_of(pen.shape);
      return true;
    }
  }
  const bool is_hole = p.size() > parameters_before_hole(aperture);
  pen.shape = filled(to_contour(outline));
  if (is_hole) {
    const Polygons hole =
        filled(to_contour(hole_path(p, parameters_before_hole(aperture), unit, error)));
    if (!hole.empty()) pen.shape = subtract(pen.shape, hole);
  }
  pen.round = !is_hole && (aperture.kind == ApertureKind::circle ||
                           (aperture.kind == ApertureKind::obround && p[0] == p[1]));
  pen.shape = transform.apply(pen.shape);
  pen.box = box_of(pen.shape);
  if (pen.round) {
    pen.width = static_cast<double>(std::llround(p[0] * unit * transform.scale));
    pen.unit = unit_circle(chord_count(pen.width / 2));
  } else {
    pen.width = least_width(pen.shape);
  }
  return true;
}

}  // namespace isthmus::formats::gerber
