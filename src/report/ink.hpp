// SPDX-License-Identifier: Apache-2.0
// How the text of reports writes lengths, places and colours.
#pragma once

#include <fmt/format.h>

#include <string>

#include "report/places.hpp"

namespace isthmus::report {

inline constexpr const char* kFromCorner =
    "Places are counted from the board's lower left corner as seen from the side that is named; "
    "holes from above.\n";

inline std::string counted(std::size_t n, const std::string& what) {
  return fmt::format("{} {}{}", n, what, n == 1 ? "" : "s");
}

class Ink {
 public:
  // Without places coordinates are the artwork's; they are borrowed.
  explicit Ink(const TextStyle& style, const Places* places = nullptr)
      : style_(style), places_(places) {}
  [[nodiscard]] std::string bold(const std::string& s) const { return paint("1", s); }
  [[nodiscard]] std::string good(const std::string& s) const { return paint("1;32", s); }
  [[nodiscard]] std::string bad(const std::string& s) const { return paint("1;31", s); }
  [[nodiscard]] std::string doubt(const std::string& s) const { return paint("1;33", s); }
  [[nodiscard]] std::string length(double nm) const {
    return style_.inch ? fmt::format("{:.4f} in", nm / 25.4e6)
                       : fmt::format("{:.2f} mm", nm * 1e-6);
  }
  // Gaps: two decimals would make 0.00 mm of what is still a gap.
  [[nodiscard]] std::string fine(double nm) const {
    return style_.inch ? fmt::format("{:.5f} in", nm / 25.4e6)
                       : fmt::format("{:.3f} mm", nm * 1e-6);
  }
  [[nodiscard]] std::string at(Position p) const {
    return style_.inch ? fmt::format("({:.4f}, {:.4f}) in", static_cast<double>(p.x) / 25.4e6,
                                     static_cast<double>(p.y) / 25.4e6)
                       : fmt::format("({:.2f}, {:.2f}) mm", to_mm(p.x), to_mm(p.y));
  }
  // As `--origin` wants it.
  [[nodiscard]] std::string at(Position p, const std::string& side) const {
    return at(counts_from_corner() ? from_corner(*places_, p, side) : p);
  }
  [[nodiscard]] bool counts_from_corner() const {
    return places_ != nullptr && style_.origin == Origin::corner;
  }
  // "near R10.1 (0.80 mm)"; empty where nothing has a name.
  [[nodiscard]] std::string near(Position p, const std::string& side) const {
    if (places_ == nullptr) return "";
    const std::string pad =
        near_in_words(*places_, p, side, [this](double nm) { return length(nm); });
    return pad.empty() ? "" : "near " + pad;
  }
  // "near R10.1 (0.80 mm); from the corner (23.60, 23.10) mm, seen from below"
  [[nodiscard]] std::string whereabouts(Position p, const std::string& side) const {
    std::string text = near(p, side);
    if (places_ == nullptr || style_.origin == Origin::corner) return text;
    const Position corner = from_corner(*places_, p, side);
    if (at(corner) == at(p)) return text;  // the artwork begins at the corner
    return fmt::format("{}{}from the board's corner {}, seen from {}", text,
                       text.empty() ? "" : "; ", at(corner), side == "bottom" ? "below" : "above");
  }

 private:
  [[nodiscard]] std::string paint(const char* code, const std::string& s) const {
    return style_.colour ? fmt::format("\033[{}m{}\033[0m", code, s) : s;
  }
  TextStyle style_;
  const Places* places_;
};

}  // namespace isthmus::report
