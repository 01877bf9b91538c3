// SPDX-License-Identifier: Apache-2.0
// Aperture macros: GLF 2023.08, 4.5.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "formats/gerber/clip.hpp"
#include "formats/gerber/report.hpp"

namespace isthmus::formats::gerber {

struct Macro {
  std::string_view name;
  std::vector<std::string_view> statements;  // views into the file, without the '*'
};

struct MacroCall {
  std::vector<double> arguments;  // $1, $2, ...
  double unit{};                  // nm per file unit
  double scale{1};                // the image will be scaled by this: chords are made finer
};

// The image of a macro: primitives painted in order, exposure off erases what the macro has
// painted. Nothing, with the report failed, on a bad statement.
std::optional<Polygons> evaluate(const Macro& macro, const MacroCall& call, Report& report);

// A decimal number at the start of `text`, sign and point allowed, no exponent; removes what it
// read.
std::optional<double> take_number(std::string_view& text);

}  // namespace isthmus::formats::gerber
