// SPDX-License-Identifier: Apache-2.0
#include "formats/gerber/reader.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>

#include "isthmus/formats/gerber.hpp"

namespace isthmus::formats::gerber {
namespace {

constexpr double kInch = 25.4e6;
constexpr double kMillimetre = 1e6;

bool is_digit(char c) { return c >= '0' && c <= '9'; }

bool contains_any(std::string_view text, std::initializer_list<const char*> words) {
  return std::any_of(words.begin(), words.end(),
                     [text](const char* word) { return text.find(word) != text.npos; });
}

std::string shown(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return byte > 0x20 && byte < 0x7f ? fmt::format("'{}'", c) : fmt::format("byte 0x{:02X}", byte);
}

}  // namespace

Reader::Reader(std::string_view bytes, const std::string& file, Diagnostics& notes)
    : bytes_(bytes),
      report_(bytes, file, notes),
      apertures_(report_),
      attributes_(image_, report_),
      plotter_(image_, report_, apertures_, attributes_) {
  image_.file = file;
}

Result<LayerImage> Reader::read() {
  const bool good = looks_like_gerber() && read_all() && finish();
  report_.count_rest();
  if (!good) return report_.problem();
  return std::move(image_);
}

bool Reader::looks_like_gerber() {
  if (bytes_.find_first_not_of(" \t\r\n") == bytes_.npos) {
    return report_.fail(0, "GBR-001", "the file is empty", "export the layer again");
  }
  const std::size_t nul = bytes_.substr(0, 1 << 16).find('\0');
  if (nul != bytes_.npos) {
    return report_.fail(nul, "GBR-001", "this is a binary file, not Gerber",
                        "Gerber files are text; name the exported layer, not the design or a zip");
  }
  const std::string_view head = bytes_.substr(0, 1 << 20);
  if (head.find('*') != head.npos &&
      contains_any(head, {"%FS", "%MO", "%AD", "%AM", "%TF", "%LP", "G04", "G36", "G54", "D01*",
                          "D02*", "D03*", "D1*", "D2*", "D3*", "M02*"})) {
    return true;
  }
  const bool drill = contains_any(head.substr(0, 4096), {"M48", "FMAT", "T01", "T1C"});
  return report_.fail(
      0, "GBR-001",
      drill ? "this is not a Gerber file; it looks like a drill file" : "this is not a Gerber file",
      drill ? "name it under holes" : "name the exported Gerber layer");
}

void Reader::skip_space() {
  while (pos_ < bytes_.size()) {
    const char c = bytes_[pos_];
    if (c == '\n') {
      ++line_;
    } else if (c == '\r') {
      if (pos_ + 1 >= bytes_.size() || bytes_[pos_ + 1] != '\n') ++line_;
    } else if (c != ' ' && c != '\t') {
      return;
    }
    ++pos_;
  }
}

bool Reader::read_all() {
  if (bytes_.substr(0, 3) == "\xEF\xBB\xBF") pos_ = 3;
  for (skip_space(); pos_ < bytes_.size() && !ended_; skip_space()) {
    if (!(bytes_[pos_] == '%' ? read_extended() : read_data_block())) return false;
  }
  return true;
}

bool Reader::finish() {
  if (!ended_) {
    return report_.fail(bytes_.size(), "GBR-002",
                        "the file is cut short: its end mark M02 is missing",
                        "copy or export the file again");
  }
  if (pos_ < bytes_.size()) {
    report_.note(pos_, "GBR-003", "text after the end of the file (M02) was ignored", "");
  }
  const Spot here{pos_, line_};
  if (plotter_.in_block()) {
    return report_.fail(plotter_.open_block().at, "GBR-051",
                        "the file ends within a block aperture", "a %AB*% is missing");
  }
  if (plotter_.in_region()) {
    report_.warn(pos_, "GBR-041", "the file ends within a region; it was closed",
                 "check the last area against the design");
    if (!plotter_.end_region(here)) return false;
  }
  if (plotter_.in_repeat()) {
    report_.note(pos_, "GBR-052", "step-and-repeat was open at the end of the file", "");
    return plotter_.end_repeat(here);
  }
  return true;
}

bool Reader::read_integer(char letter, long& value) {
  skip_space();
  const char* first = bytes_.data() + pos_;
  const auto [end, error] = std::from_chars(first, bytes_.data() + bytes_.size(), value);
  if (error != std::errc{} || value < 0) {
    return report_.fail(pos_, "GBR-010", fmt::format("a number is expected after {}", letter),
                        "correct this line or export the file again");
  }
  pos_ += static_cast<std::size_t>(end - first);
  return true;
}

bool Reader::require_units(std::size_t at) {
  if (unit_ == 0) {
    return report_.fail(at, "GBR-011", "the file uses coordinates before it names its units",
                        "it needs %MOMM*% or %MOIN*% at the top (old files: G71 or G70)");
  }
  if (!format_.known) {
    return report_.fail(at, "GBR-012", "the file uses coordinates before their format is given",
                        "it needs a format specification such as %FSLAX46Y46*% at the top");
  }
  return true;
}

bool Reader::read_coordinate(char axis, Operation& op) {
  const std::size_t at = pos_ - 1;
  if (!require_units(at)) return false;
  skip_space();
  std::size_t p = pos_;
  const bool negative = p < bytes_.size() && bytes_[p] == '-';
  if (p < bytes_.size() && (bytes_[p] == '-' || bytes_[p] == '+')) ++p;
  const std::size_t first = p;
  std::int64_t value = 0;
  while (p < bytes_.size() && is_digit(bytes_[p]) && p - first < 18) {
    value = value * 10 + (bytes_[p++] - '0');
  }
  const auto digits = static_cast<int>(p - first);
  const bool goes_on = p < bytes_.size() && (is_digit(bytes_[p]) || bytes_[p] == '.');
  if (digits == 0 || goes_on) {
    return report_.fail(p, "GBR-010",
                        goes_on && bytes_[p] == '.' ? "a coordinate has a decimal point"
                                                    : fmt::format("bad number after {}", axis),
                        "coordinates are digits as the format specification says; export again");
  }
  const bool is_x = axis == 'X' || axis == 'I';
  const int decimals = is_x ? format_.decimals_x : format_.decimals_y;
  const int width = decimals + (is_x ? format_.integers_x : format_.integers_y);
  if (format_.trailing_omitted) {
    for (int i = digits; i < width; ++i) value *= 10;
  }
  // Exact: millimetres 10^6, inches 254 * 10^5 nm a unit, over 10^decimals.
  std::int64_t times = unit_ == kInch ? 254 : 1, over = 1;
  const int shift = (unit_ == kInch ? 5 : 6) - decimals;
  for (int i = 0; i < shift; ++i) times *= 10;
  for (int i = shift; i < 0; ++i) over *= 10;
  if (value > kMaxCoordinate / times * over + over) {
    return report_.fail(at, "GBR-013", "a coordinate is beyond 1.07 m",
                        "check the units and the coordinate format of the file");
  }
  value = (value * times + over / 2) / over;
  if (value > kMaxCoordinate) {
    return report_.fail(at, "GBR-013", "a coordinate is beyond 1.07 m",
                        "check the units and the coordinate format of the file");
  }
  pos_ = p;
  if (negative) value = -value;
  (axis == 'X' ? op.x : axis == 'Y' ? op.y : axis == 'I' ? op.i : op.j) = value;
  return true;
}

bool Reader::read_data_block() {
  Operation op;
  op.at = pos_;
  for (skip_space(); pos_ < bytes_.size(); skip_space()) {
    const char c = bytes_[pos_];
    if (c == '*') {
      ++pos_;
      return perform(op);
    }
    if (c == '%') {
      return report_.fail(pos_, "GBR-014", "a '*' is missing before '%'",
                          "correct this line or export the file again");
    }
    if (!read_word(c, op)) return false;
    if (ended_) return true;
  }
  return report_.fail(bytes_.size(), "GBR-002", "the file is cut short in the middle of a command",
                      "copy or export the file again");
}

bool Reader::read_word(char letter, Operation& op) {
  const std::size_t at = pos_++;
  if (letter >= 'a' && letter <= 'z') {
    report_.note(at, "GBR-015", "lower-case command letters were read as upper case", "");
    letter = static_cast<char>(letter - 'a' + 'A');
  }
  long code = 0;
  switch (letter) {
    case 'X':
    case 'Y':
    case 'I':
    case 'J':
      // D01 before its coordinates belongs to them; a finished operation does not.
      if (op.code != 0 && op.any() && (letter == 'X' || (letter == 'Y' && op.y)) && !perform(op)) {
        return false;
      }
      if (op.code == 0 && !op.any()) op.at = at;
      return read_coordinate(letter, op);
    case 'D':
      return read_integer(letter, code) && d_code(code, op, at);
    case 'G':
      return read_integer(letter, code) && g_code(code, op, at);
    case 'M':
      return perform(op) && read_integer(letter, code) && m_code(code, at);
    case 'N':  // sequence number
      return read_integer(letter, code);
    default:
      return report_.fail(at, "GBR-016", fmt::format("{} does not start a command", shown(letter)),
                          "correct this line or export the file again");
  }
}

bool Reader::comment() {
  const std::size_t end = bytes_.find('*', pos_);
  if (end == bytes_.npos) {
    return report_.fail(bytes_.size(), "GBR-002", "the file is cut short in a comment",
                        "copy or export the file again");
  }
  std::string_view text = bytes_.substr(pos_, end - pos_);
  line_ += static_cast<int>(std::count(text.begin(), text.end(), '\n'));
  pos_ = end;
  // Attributes in structured comments: "G04 #@! TF.FileFunction,Copper,L1,Top*".
  const std::size_t mark = text.find_first_not_of(" \t\r\n");
  if (mark == text.npos || text.substr(mark, 3) != "#@!") return true;
  text.remove_prefix(mark + 3);
  const std::size_t first = text.find_first_not_of(" \t");
  if (first == text.npos) return true;
  text.remove_prefix(first);
  text = text.substr(0, text.find_last_not_of(" \t\r\n") + 1);
  const bool attribute =
      text.size() >= 2 && text[0] == 'T' && std::string_view("FAOD").find(text[1]) != text.npos;
  return !attribute || attributes_.apply(text);
}

bool Reader::g_code(long code, Operation& op, std::size_t at) {
  if (op.code != 0 && !perform(op)) return false;
  switch (code) {
    case 1:
    case 2:
    case 3:
      interpolation_ = static_cast<int>(code);
      return true;
    case 4:
      return comment();
    case 36:
      if (plotter_.in_region()) {
        return report_.fail(at, "GBR-040", "G36 within a region", "a G37 is missing before");
      }
      plotter_.begin_region({at, line_});
      return true;
    case 37:
      if (!plotter_.in_region()) {
        return report_.fail(at, "GBR-040", "G37 without G36", "correct the file or export again");
      }
      return perform(op) && plotter_.end_region({at, line_});
    case 54:
    case 55:
      return true;  // prefixes without meaning
    case 70:
      return set_units(kInch, at);
    case 71:
      return set_units(kMillimetre, at);
    case 74:
    case 75:
      quadrants_ = static_cast<int>(code);
      return true;
    case 90:
      format_.incremental = false;
      return true;
    case 91:
      format_.incremental = true;
      return true;
    case 0:  // "rapid move" of old plotters; the D code says what is done
      report_.note(at, "GBR-017", "G00 was read as G01", "");
      interpolation_ = 1;
      return true;
    default:
      return report_.fail(at, "GBR-016", fmt::format("there is no command G{:02}", code),
                          "correct this line or export the file again");
  }
}

bool Reader::d_code(long code, Operation& op, std::size_t at) {
  if (op.code != 0 && !perform(op)) return false;
  if (code >= 1 && code <= 3) {
    op.code = static_cast<int>(code);
    if (!op.any()) op.at = at;
    return true;
  }
  if (!perform(op)) return false;
  if (code < 10 || code > 2147483647) {
    return report_.fail(at, "GBR-016", fmt::format("there is no command D{:02}", code),
                        "correct this line or export the file again");
  }
  if (plotter_.in_region()) {
    report_.note(at, "GBR-046", "an aperture was selected within a region", "");
  }
  return plotter_.select(static_cast<int>(code), {at, line_});
}

bool Reader::m_code(long code, std::size_t at) {
  if (code == 0 || code == 2) {
    ended_ = true;
    skip_space();
    const bool star = pos_ < bytes_.size() && bytes_[pos_] == '*';
    // "M0" at the very end may be what is left of "M02*".
    if (!star && code == 0) {
      return report_.fail(pos_, "GBR-002", "the file is cut short in its end mark",
                          "copy or export the file again");
    }
    if (star) ++pos_;
    skip_space();
    return true;
  }
  if (code != 1) {
    report_.note(at, "GBR-018", fmt::format("machine command M{:02} was ignored", code), "");
  }
  return true;
}

}  // namespace isthmus::formats::gerber

namespace isthmus::formats {

Result<LayerImage> read_gerber(std::string_view bytes, const std::string& file_name,
                               Diagnostics& notes) {
  return gerber::Reader(bytes, file_name, notes).read();
}

}  // namespace isthmus::formats
