// SPDX-License-Identifier: Apache-2.0
// Commands between % signs: GLF 2023.08, 4.2 to 4.12; deprecated ones, 8.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "formats/gerber/reader.hpp"

namespace isthmus::formats::gerber {
namespace {

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first == text.npos) return text.substr(text.size());
  return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

// The number after `letter` in a list such as "X2Y3I1.0J0"; removes both. Nothing when it is not
// next.
std::optional<double> take_field(std::string_view& text, char letter) {
  text = trimmed(text);
  if (text.empty() || text.front() != letter) return std::nullopt;
  std::string_view rest = trimmed(text.substr(1));
  const auto value = take_number(rest);
  if (value) text = trimmed(rest);
  return value;
}

}  // namespace

bool Reader::read_extended() {
  const std::size_t open = pos_;
  const std::size_t close = bytes_.find('%', open + 1);
  if (close == bytes_.npos) {
    return report_.fail(open, "GBR-002", "the file is cut short: a '%' is never closed",
                        "copy or export the file again");
  }
  std::string_view text = bytes_.substr(open + 1, close - open - 1);
  const int lines = static_cast<int>(std::count(text.begin(), text.end(), '\n'));
  pos_ = close + 1;
  const std::string_view body = trimmed(text);
  bool good = true;
  if (body.substr(0, 2) == "AM") {
    good = apertures_.define_macro(body.substr(2));
  } else {
    while (good && !text.empty()) {
      const std::size_t star = text.find('*');
      const std::string_view command = trimmed(text.substr(0, star));
      if (!command.empty()) {
        if (star == text.npos) {
          return report_.fail(report_.offset(command) + command.size(), "GBR-014",
                              "a '*' is missing before '%'",
                              "correct this line or export the file again");
        }
        good = extended(command);
      }
      if (star == text.npos) break;
      text.remove_prefix(star + 1);
    }
  }
  line_ += lines;
  return good;
}

bool Reader::extended(std::string_view command) {
  const std::string_view name = command.substr(0, 2), rest = command.substr(name.size());
  if (name == "TF" || name == "TA" || name == "TO" || name == "TD") {
    return attributes_.apply(command);
  }
  const std::size_t at = report_.offset(command);
  if (plotter_.in_region() && name != "AD") {
    return report_.fail(at, "GBR-040", fmt::format("{} within a region", name),
                        "only D01 and D02 may stand between G36 and G37; export again");
  }
  if (name == "AD") return apertures_.define(rest, unit_, attributes_.aperture_function());
  if (name == "FS") return format_specification(command);
  if (name == "MO") return units(command);
  if (name == "LP") return polarity(command);
  if (name == "LM") return mirror(command);
  if (name == "LR" || name == "LS") return rotate_or_scale(command);
  if (name == "SR") return step_repeat(command);
  if (name == "AB") return block(command);
  return deprecated(command);
}

bool Reader::format_specification(std::string_view text) {
  const auto bad = [&] {
    return report_.fail(report_.offset(text), "GBR-012", "bad format specification",
                        "the form is %FSLAX46Y46*%: 1 to 6 integer digits, up to 6 decimals");
  };
  CoordinateFormat format;
  format.known = true;
  std::string_view rest = text.substr(2);
  while (!rest.empty() && rest.front() != 'X') {
    switch (rest.front()) {
      case 'L':
        break;
      case 'D':  // no zeros omitted: reads the same
        report_.note(report_.offset(rest), "GBR-053",
                     "format letter D was read as: no zeros are left out", "");
        break;
      case 'T':
        format.trailing_omitted = true;
        break;
      case 'A':
        break;
      case 'I':
        format.incremental = true;
        report_.note(report_.offset(rest), "GBR-054", "the coordinates are incremental", "");
        break;
      case 'N':
      case 'G':
      case 'M':  // lengths of codes: nothing depends on them
      case 'Z':
        rest.remove_prefix(rest.size() > 1 ? 1 : 0);
        break;
      case ' ':
        break;
      default:
        return bad();
    }
    rest.remove_prefix(1);
  }
  if (rest.size() < 6 || rest[0] != 'X' || rest[3] != 'Y') return bad();
  for (const std::size_t i : {1u, 2u, 4u, 5u}) {
    if (rest[i] < '0' || rest[i] > '7') return bad();
  }
  format.integers_x = rest[1] - '0';
  format.decimals_x = rest[2] - '0';
  format.integers_y = rest[4] - '0';
  format.decimals_y = rest[5] - '0';
  if (format_.known &&
      (format_.decimals_x != format.decimals_x || format_.decimals_y != format.decimals_y ||
       format_.trailing_omitted != format.trailing_omitted)) {
    return report_.fail(report_.offset(text), "GBR-055",
                        "the coordinate format changes in mid-file",
                        "export the layers into files of their own");
  }
  format_ = format;
  return true;
}

bool Reader::units(std::string_view text) {
  if (text == "MOMM") return set_units(1e6, report_.offset(text));
  if (text == "MOIN") return set_units(25.4e6, report_.offset(text));
  return report_.fail(report_.offset(text), "GBR-011", "units must be MM or IN",
                      "the form is %MOMM*% or %MOIN*%");
}

bool Reader::set_units(double nm, std::size_t at) {
  if (unit_ != 0 && unit_ != nm) {
    return report_.fail(at, "GBR-055", "the units change in mid-file",
                        "export the file again in one unit");
  }
  unit_ = nm;
  plotter_.set_unit(nm);
  return true;
}

bool Reader::polarity(std::string_view text) {
  if (text != "LPD" && text != "LPC") {
    return report_.fail(report_.offset(text), "GBR-050", "polarity must be D (dark) or C (clear)",
                        "the form is %LPD*% or %LPC*%");
  }
  plotter_.set_polarity(text == "LPD");
  return true;
}

bool Reader::mirror(std::string_view text) {
  const std::string_view axes = text.substr(2);
  if (axes != "N" && axes != "X" && axes != "Y" && axes != "XY") {
    return report_.fail(report_.offset(text), "GBR-050", "mirroring must be N, X, Y or XY",
                        "the form is %LMN*%, %LMX*%, %LMY*% or %LMXY*%");
  }
  Transform transform = plotter_.transform();
  transform.mirror_x = axes.find('X') != axes.npos;
  transform.mirror_y = axes.find('Y') != axes.npos;
  plotter_.set_transform(transform);
  return true;
}

bool Reader::rotate_or_scale(std::string_view text) {
  const bool scale = text[1] == 'S';
  std::string_view rest = trimmed(text.substr(2));
  const auto value = take_number(rest);
  if (!value || !rest.empty() || (scale && !(*value > 0 && *value <= 1000))) {
    return report_.fail(
        report_.offset(text), "GBR-050",
        scale ? "a scale factor between 0 and 1000 is expected" : "an angle in degrees is expected",
        "the form is %LR90*% or %LS0.8*%");
  }
  Transform transform = plotter_.transform();
  (scale ? transform.scale : transform.degrees) = *value;
  plotter_.set_transform(transform);
  return true;
}

bool Reader::step_repeat(std::string_view text) {
  const std::size_t at = report_.offset(text);
  const Spot spot{at, line_};
  if (plotter_.in_block()) {
    return report_.fail(at, "GBR-051", "step-and-repeat within a block aperture",
                        "the format forbids it; export again without");
  }
  if (plotter_.in_repeat()) {
    if (!plotter_.end_repeat(spot)) return false;
    current_known_ = false;
  }
  std::string_view rest = trimmed(text.substr(2));
  if (rest.empty()) return true;
  const double columns = take_field(rest, 'X').value_or(1);
  const double rows = take_field(rest, 'Y').value_or(1);
  const double dx = take_field(rest, 'I').value_or(0);
  const double dy = take_field(rest, 'J').value_or(0);
  const auto is_count = [](double v) { return v >= 1 && v <= 1e6 && v == std::floor(v); };
  if (!rest.empty() || !is_count(columns) || !is_count(rows)) {
    return report_.fail(at, "GBR-051", "bad step-and-repeat",
                        "the form is %SRX3Y2I5.0J4.0*%, counts of 1 or more");
  }
  if (columns == 1 && rows == 1) return true;
  if (!require_units(at)) return false;
  const double reach = std::max(std::abs(dx) * (columns - 1), std::abs(dy) * (rows - 1)) * unit_;
  if (reach > 2.0 * static_cast<double>(kMaxCoordinate)) {
    return report_.fail(at, "GBR-013", "step-and-repeat reaches beyond 1.07 m",
                        "check the units of the file");
  }
  plotter_.begin_repeat({static_cast<int>(columns),
                         static_cast<int>(rows),
                         {std::llround(dx * unit_), std::llround(dy * unit_)}},
                        spot);
  return true;
}

bool Reader::block(std::string_view text) {
  const std::size_t at = report_.offset(text);
  const std::string_view rest = trimmed(text.substr(2));
  current_known_ = false;
  if (rest.empty()) {
    if (!plotter_.in_block()) {
      return report_.fail(at, "GBR-051", "the end of a block aperture without its start",
                          "correct the file or export again");
    }
    return plotter_.end_block({at, line_});
  }
  int code = 0;
  const char* end = rest.data() + rest.size();
  const auto read = std::from_chars(rest.data() + 1, end, code);
  if (rest.front() != 'D' || read.ec != std::errc{} || read.ptr != end || code < 10) {
    return report_.fail(at, "GBR-051", "bad block aperture", "the form is %ABD12*% ... %AB*%");
  }
  if (plotter_.in_repeat()) {
    return report_.fail(at, "GBR-051", "a block aperture is defined within step-and-repeat",
                        "define it before; export again");
  }
  return plotter_.begin_block(code, {at, line_});
}

// Commands of older files. What cannot change the image is passed over.
bool Reader::deprecated(std::string_view text) {
  const std::string_view name = text.substr(0, 2);
  const std::size_t at = report_.offset(text);
  if (name == "IN" || name == "LN") return true;  // names: comments
  if (text == "IPPOS") return true;
  if (name == "IP" || name == "KO" || name == "IF" || name == "IJ" || name == "IO" ||
      name == "RO" || name == "IC") {
    if (only_default(text)) return true;
    return report_.fail(at, "GBR-056", fmt::format("command {} changes the whole image", name),
                        "it was withdrawn from the format long ago and is not read; export again "
                        "as RS-274X or X2 without it");
  }
  if (name == "AS" || name == "IR" || name == "MI" || name == "OF" || name == "SF") {
    if (only_default(text)) return true;
    return report_.fail(
        at, "GBR-056",
        fmt::format("command {} with other than its default changes the whole image", name),
        "it was withdrawn from the format and is not read; export again without");
  }
  report_.warn(at, "GBR-057", fmt::format("unknown command \"{}\" was ignored", text.substr(0, 40)),
               "check that the layer looks right");
  return true;
}

bool Reader::only_default(std::string_view text) {
  const std::string_view name = text.substr(0, 2);
  std::string_view rest = trimmed(text.substr(2));
  if (name == "AS") return rest == "AXBY";
  if (name == "IR" || name == "RO") {
    const auto value = take_number(rest);
    return value && *value == 0 && rest.empty();
  }
  if (name == "MI" || name == "OF" || name == "SF" || name == "IO") {
    const double neutral = name == "SF" ? 1 : 0;
    const double a = take_field(rest, 'A').value_or(neutral);
    const double b = take_field(rest, 'B').value_or(neutral);
    return rest.empty() && a == neutral && b == neutral;
  }
  return name == "IC" && rest == "AS";
}

}  // namespace isthmus::formats::gerber
