// SPDX-License-Identifier: Apache-2.0
#include "formats/gerber/macro.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>

#include "formats/gerber/loops.hpp"
#include "formats/gerber/shape.hpp"

namespace isthmus::formats::gerber {
namespace {

constexpr int kMaxDepth = 64;       // brackets within brackets
constexpr double kMaxSize = 2.0e9;  // nm, of anything inside a macro
constexpr long kMaxCorners = 5000;  // of an outline: GLF 2023.08, 4.5.1.6

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

void skip_blanks(std::string_view& text) {
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
}

using Variables = std::map<unsigned, double>;

// expression = term { (+|-) term }; term = factor { (x|/) factor }; factor = [+|-]
// (number|$n|(expr)).
class Expression {
 public:
  Expression(std::string_view text, const Variables& variables, Report& report)
      : text_(text), variables_(variables), report_(report) {}

  std::optional<double> value() {
    const auto v = sum(0);
    skip_blanks(text_);
    if (!v || text_.empty()) return v;
    return wrong("the expression goes on where it should end");
  }

 private:
  std::nullopt_t wrong(const char* what) {
    report_.fail(report_.offset(text_), "GBR-031", fmt::format("bad macro expression: {}", what),
                 "correct the %AM command");
    return std::nullopt;
  }

  std::optional<double> sum(int depth) {
    auto left = product(depth);
    while (left) {
      skip_blanks(text_);
      if (text_.empty() || (text_.front() != '+' && text_.front() != '-')) return left;
      const bool plus = text_.front() == '+';
      text_.remove_prefix(1);
      const auto right = product(depth);
      if (!right) return right;
      *left += plus ? *right : -*right;
    }
    return left;
  }

  std::optional<double> product(int depth) {
    auto left = factor(depth);
    while (left) {
      skip_blanks(text_);
      if (text_.empty()) return left;
      const char op = text_.front();
      if (op != 'x' && op != 'X' && op != '/') return left;
      text_.remove_prefix(1);
      const auto right = factor(depth);
      if (!right) return right;
      if (op == '/' && *right == 0) return wrong("division by zero");
      *left = op == '/' ? *left / *right : *left * *right;
    }
    return left;
  }

  std::optional<double> factor(int depth) {
    skip_blanks(text_);
    if (text_.empty()) return wrong("it ends where a value should be");
    if (depth > kMaxDepth) return wrong("it is nested too deeply");
    const char c = text_.front();
    if (c == '+' || c == '-') {
      text_.remove_prefix(1);
      const auto v = factor(depth + 1);
      return v && c == '-' ? std::optional(-*v) : v;
    }
    if (c == '(') {
      text_.remove_prefix(1);
      const auto v = sum(depth + 1);
      if (!v) return v;
      skip_blanks(text_);
      if (text_.empty() || text_.front() != ')') return wrong("a closing bracket is missing");
      text_.remove_prefix(1);
      return v;
    }
    if (c == '$') return variable();
    const auto v = take_number(text_);
    return v ? v : wrong("a number, $n or bracket is expected");
  }

  std::optional<double> variable() {
    text_.remove_prefix(1);
    unsigned number = 0;
    const auto [end, error] = std::from_chars(text_.data(), text_.data() + text_.size(), number);
    if (error != std::errc{}) return wrong("a variable's number is expected after $");
    text_.remove_prefix(static_cast<std::size_t>(end - text_.data()));
    const auto found = variables_.find(number);
    return found == variables_.end() ? 0.0 : found->second;
  }

  std::string_view text_;
  const Variables& variables_;
  Report& report_;
};

// Paints primitives; consecutive dark ones are united at once.
class Canvas {
 public:
  void paint(Polygons shape, bool dark) {
    if (dark) {
      fresh_.insert(fresh_.end(), std::make_move_iterator(shape.begin()),
                    std::make_move_iterator(shape.end()));
      return;
    }
    settle();
    if (!shape.empty() && !done_.empty()) done_ = subtract(done_, shape);
  }
  Polygons take() {
    settle();
    return std::move(done_);
  }

 private:
  void settle() {
    if (fresh_.empty()) return;
    const bool single = done_.empty() && fresh_.size() == 1;
    done_.insert(done_.end(), std::make_move_iterator(fresh_.begin()),
                 std::make_move_iterator(fresh_.end()));
    if (!single) done_ = unite(done_);
    fresh_.clear();
  }
  Polygons done_, fresh_;
};

class Evaluation {
 public:
  Evaluation(const MacroCall& call, Report& report) : call_(call), report_(report) {
    for (std::size_t i = 0; i < call.arguments.size(); ++i) {
      variables_[static_cast<unsigned>(i + 1)] = call.arguments[i];
    }
  }

  bool run(std::string_view statement) {
    skip_blanks(statement);
    while (!statement.empty() && is_blank(statement.back())) statement.remove_suffix(1);
    if (statement.empty()) return true;
    if (statement.front() == '$') return assign(statement);
    if (statement.front() == '0' && (statement.size() == 1 || !is_number_part(statement[1]))) {
      return true;  // comment
    }
    return primitive(statement);
  }

  Polygons take() { return canvas_.take(); }

 private:
  static bool is_number_part(char c) { return (c >= '0' && c <= '9') || c == '.'; }

  bool assign(std::string_view statement) {
    const std::size_t equals = statement.find('=');
    unsigned number = 0;
    const auto [end, error] = std::from_chars(
        statement.data() + 1, statement.data() + std::min(equals, statement.size()), number);
    if (equals == statement.npos || error != std::errc{}) {
      return report_.fail(report_.offset(statement), "GBR-031",
                          "bad macro assignment, $n=expression is expected",
                          "correct the %AM command");
    }
    std::string_view between(end, static_cast<std::size_t>(statement.data() + equals - end));
    skip_blanks(between);
    if (!between.empty()) {
      return report_.fail(report_.offset(statement), "GBR-031",
                          "bad macro assignment, $n=expression is expected",
                          "correct the %AM command");
    }
    const auto value = Expression(statement.substr(equals + 1), variables_, report_).value();
    if (value) variables_[number] = *value;
    return value.has_value();
  }

  bool primitive(std::string_view statement) {
    statement_ = report_.offset(statement);
    values_.clear();
    std::string_view rest = statement;
    for (;;) {
      const std::size_t comma = rest.find(',');
      const auto v = Expression(rest.substr(0, comma), variables_, report_).value();
      if (!v) return false;
      if (!std::isfinite(*v)) return bad("a value is not finite");
      values_.push_back(*v);
      if (comma == rest.npos) break;
      rest.remove_prefix(comma + 1);
      if (values_.size() > static_cast<std::size_t>(2 * kMaxCorners + 8)) {
        return bad("it has too many values");
      }
    }
    return draw();
  }

  bool bad(const std::string& what) {
    return report_.fail(statement_, "GBR-032", fmt::format("bad macro primitive: {}", what),
                        "correct the %AM command, or the %AD command that uses it");
  }

  // `with_rotation` values including the code; the rotation at the end may be left out.
  bool count(std::size_t with_rotation) {
    if (values_.size() == with_rotation) return true;
    if (values_.size() + 1 == with_rotation) {
      values_.push_back(0);
      return true;
    }
    return bad(fmt::format("primitive {} takes {} values, not {}", values_[0], with_rotation - 1,
                           values_.size() - 1));
  }

  [[nodiscard]] double length(std::size_t i) const { return values_[i] * call_.unit; }
  [[nodiscard]] double error() const { return kChordError / std::max(1.0, call_.scale); }

  bool place(Path path, double degrees, bool dark) {
    const SinCos turn = sin_cos_degrees(degrees);
    for (Point& p : path) {
      p = rotated(p, turn);
      if (!(std::abs(p.x) <= kMaxSize && std::abs(p.y) <= kMaxSize)) return bad("it is too large");
    }
    Contour contour = to_contour(path);
    if (crosses_too_often(contour)) return bad("it crosses itself a million times");
    canvas_.paint(filled(std::move(contour)), dark);
    return true;
  }

  bool exposure(bool& dark) {
    if (values_.size() < 2 || (values_[1] != 0 && values_[1] != 1)) {
      return bad("exposure must be 0 or 1");
    }
    dark = values_[1] == 1;
    return true;
  }

  bool draw() {
    if (values_[0] == 6) return moire();
    if (values_[0] == 7) return thermal();
    bool dark = true;
    const double code = values_[0];
    if (code != 1 && code != 2 && code != 20 && code != 21 && code != 22 && code != 4 &&
        code != 5) {
      return bad(fmt::format("there is no primitive {}", code));
    }
    if (!exposure(dark)) return false;
    if (code == 1) return disc(dark);
    if (code == 4) return outline(dark);
    if (code == 5) return polygon(dark);
    if (code == 2 || code == 20) return vector_line(dark);
    return centre_line(code == 22, dark);
  }

  bool disc(bool dark) {
    if (!count(6)) return false;
    if (values_[2] < 0) return bad("a diameter is negative");
    if (length(2) > kMaxSize) return bad("it is too large");
    const Point centre = rotated({length(3), length(4)}, sin_cos_degrees(values_[5]));
    return place(circle(centre, length(2) / 2, error()), 0, dark);
  }

  bool vector_line(bool dark) {
    if (!count(8)) return false;
    if (values_[2] < 0) return bad("a width is negative");
    const Point a{length(3), length(4)}, b{length(5), length(6)};
    const double along = std::hypot(b.x - a.x, b.y - a.y);
    if (along == 0) return true;  // square ends do not reach beyond the line: no image
    const double nx = -(b.y - a.y) / along * length(2) / 2;
    const double ny = (b.x - a.x) / along * length(2) / 2;
    return place(
        {{a.x - nx, a.y - ny}, {b.x - nx, b.y - ny}, {b.x + nx, b.y + ny}, {a.x + nx, a.y + ny}},
        values_[7], dark);
  }

  bool centre_line(bool from_corner, bool dark) {
    if (!count(7)) return false;
    if (values_[2] < 0 || values_[3] < 0) return bad("a width or height is negative");
    Point centre{length(4), length(5)};
    if (from_corner) centre = {centre.x + length(2) / 2, centre.y + length(3) / 2};
    return place(rectangle(centre, length(2), length(3)), values_[6], dark);
  }

  bool outline(bool dark) {
    const double corners = values_.size() > 2 ? values_[2] : -1;
    if (!(corners >= 2 && corners <= static_cast<double>(kMaxCorners)) ||
        corners != std::floor(corners)) {
      return bad("an outline has 3 to 5000 corners");
    }
    const auto n = static_cast<std::size_t>(corners);
    if (!count(3 + 2 * (n + 1) + 1)) return false;
    Path path;
    for (std::size_t i = 0; i <= n; ++i) path.push_back({length(3 + 2 * i), length(4 + 2 * i)});
    if (path.front().x != path.back().x || path.front().y != path.back().y) {
      report_.warn(statement_, "GBR-033", "a macro outline is not closed; it was closed",
                   "check the shape of this pad");
    }
    return place(std::move(path), values_.back(), dark);
  }

  bool polygon(bool dark) {
    if (!count(7)) return false;
    const double corners = values_[2];
    if (corners < 3 || corners > 12 || corners != std::floor(corners)) {
      return bad("a polygon has 3 to 12 corners");
    }
    if (values_[5] < 0) return bad("a diameter is negative");
    return place(regular_polygon({length(3), length(4)}, length(5), static_cast<int>(corners), 0),
                 values_[6], dark);
  }

  // Paints a ring; inner <= 0 gives a disc.
  static Polygons ring(Point centre, double outer, double inner, double error) {
    Polygons disc = filled(to_contour(circle(centre, outer, error)));
    if (inner <= 0) return disc;
    return subtract(disc, filled(to_contour(circle(centre, inner, error))));
  }

  bool thermal() {
    if (!count(7)) return false;
    const double outer = length(3), inner = length(4);
    const double gap = std::min(length(5), 2 * length(3));
    if (!(outer > inner && inner >= 0 && gap >= 0) || outer > kMaxSize) {
      return bad("a thermal needs outer diameter > inner diameter >= 0 and gap >= 0");
    }
    const SinCos turn = sin_cos_degrees(values_[6]);
    const Point centre = rotated({length(1), length(2)}, turn);
    if (std::hypot(centre.x, centre.y) > kMaxSize) return bad("it is too large");
    Polygons shape = ring(centre, outer / 2, inner / 2, error());
    for (const bool upright : {false, true}) {
      Path bar = rectangle({0, 0}, upright ? gap : outer * 1.01, upright ? outer * 1.01 : gap);
      for (Point& p : bar) {
        p = rotated(p, turn);
        p = {p.x + centre.x, p.y + centre.y};
      }
      const Polygons cut = filled(to_contour(bar));
      if (!cut.empty()) shape = subtract(shape, cut);
    }
    canvas_.paint(std::move(shape), true);
    return true;
  }

  bool moire() {
    if (!count(10)) return false;
    const double outer = length(3), thickness = length(4), gap = length(5);
    if (outer < 0 || thickness < 0 || gap < 0 || values_[6] < 0 || values_[7] < 0 ||
        values_[8] < 0 || outer > kMaxSize) {
      return bad("a moire's sizes must not be negative");
    }
    const SinCos turn = sin_cos_degrees(values_[9]);
    const Point centre = rotated({length(1), length(2)}, turn);
    if (std::hypot(centre.x, centre.y) > kMaxSize) return bad("it is too large");
    double radius = outer / 2;
    for (int i = 0; i < std::min(values_[6], 1000.0) && radius > 0 && thickness > 0; ++i) {
      canvas_.paint(ring(centre, radius, radius - thickness, error()), true);
      radius -= thickness + gap;
    }
    const Point at{length(1), length(2)};
    return place(rectangle(at, length(8), length(7)), values_[9], true) &&
           place(rectangle(at, length(7), length(8)), values_[9], true);
  }

  const MacroCall& call_;
  Report& report_;
  Variables variables_;
  Canvas canvas_;
  std::size_t statement_{0};
  std::vector<double> values_;
};

}  // namespace

std::optional<double> take_number(std::string_view& text) {
  const bool negative = !text.empty() && text.front() == '-';
  std::string_view digits = text;
  if (!digits.empty() && (digits.front() == '-' || digits.front() == '+')) digits.remove_prefix(1);
  if (digits.empty() ||
      !(digits.front() == '.' || (digits.front() >= '0' && digits.front() <= '9')))
    return std::nullopt;
  double value = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value,
                                            std::chars_format::fixed);
  if (error != std::errc{}) return std::nullopt;
  text = digits.substr(static_cast<std::size_t>(end - digits.data()));
  return negative ? -value : value;
}

std::optional<Polygons> evaluate(const Macro& macro, const MacroCall& call, Report& report) {
  Evaluation evaluation(call, report);
  for (const std::string_view statement : macro.statements) {
    if (!evaluation.run(statement)) return std::nullopt;
  }
  return evaluation.take();
}

}  // namespace isthmus::formats::gerber
