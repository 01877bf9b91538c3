// SPDX-License-Identifier: Apache-2.0
// Columns are counted from 0 here; IPC-D-356A counts them from 1.
#include "formats/ipc_d_356/record.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

constexpr int kAccess = 38, kX = 41, kY = 49;  // columns of the letters A, X and Y
constexpr int kMaxShift = 24;

bool all_of_set(std::string_view s, std::string_view set) {
  return s.find_first_not_of(set) == std::string_view::npos;
}

class RecordParser {
 public:
  RecordParser(std::string_view line, const RecordContext& context)
      : context_(context), source_(line), text_(line) {
    text_.resize(std::max<std::size_t>(text_.size(), 80 + kMaxShift), ' ');
    std::ranges::replace(text_, '\t', ' ');
  }

  Result<TestRecord> parse() {
    const std::optional<int> shift = find_shift();
    if (!shift) {
      return problem(kX, "NET-005", "no X and Y columns were found in this test record",
                     "X stands in column 42, Y in column 50");
    }
    shift_ = record_.shift = *shift;
    record_.value.line = context_.line;
    read_names();
    read_hole();
    read_access();
    if (auto p = read_place()) return *p;
    if (auto p = read_size()) return *p;
    read_tail();
    return record_;
  }

 private:
  [[nodiscard]] char at(int column) const { return text_[static_cast<std::size_t>(column)]; }
  [[nodiscard]] std::string_view cut(int from, int to) const {
    return std::string_view(text_).substr(static_cast<std::size_t>(from),
                                          static_cast<std::size_t>(to - from));
  }
  [[nodiscard]] std::string name(int from, int to) const {
    return std::string(trim(cut(from, to)));
  }

  [[nodiscard]] Problem problem(int column, const char* code, std::string message,
                                std::string hint = "") const {
    return {std::string(context_.file), context_.line,   column + shift_ + 1, code,
            std::move(message),         std::move(hint), std::string(source_)};
  }

  // Both letters, and between and after them nothing but signs, digits and blanks.
  [[nodiscard]] bool fits(int shift) const {
    const int a = kAccess + shift, x = kX + shift, y = kY + shift;
    if (a < 3 || at(x) != 'X' || at(y) != 'Y') return false;
    const bool access = at(a) == 'A' && all_of_set(cut(a + 1, x), "0123456789");
    const bool no_access = cut(a, x) == "   ";
    return (access || no_access) && all_of_set(cut(x + 1, y), "+- 0123456789") &&
           all_of_set(cut(y + 1, y + 8), "+- 0123456789");
  }

  [[nodiscard]] std::optional<int> find_shift() const {
    for (int distance = 0; distance <= kMaxShift; ++distance) {
      if (fits(distance)) return distance;
      if (fits(-distance)) return -distance;
    }
    return std::nullopt;
  }

  void read_names() {
    NetlistRecord& r = record_.value;
    int ref_from = 20;
    if (at(17) == ' ') {
      r.net = name(3, 17);
    } else {  // a name longer than its field: it ends at the next blank
      int end = 17;
      while (end < kAccess + shift_ && at(end) != ' ') ++end;
      r.net = name(3, end);
      ref_from = std::max(20 + std::max(shift_, 0), end);
    }
    // The displacement may begin behind the pin: then its hyphen is where it belongs.
    const int hyphen = 26 + std::max(shift_, 0);
    const bool in_place = shift_ > 0 && at(hyphen) == ' ' && at(26) == '-' && ref_from <= 26;
    const int pin_end = in_place ? 31 : hyphen + 5;
    split_reference(ref_from, pin_end);
    r.mid_net = at(pin_end) == 'M';
  }

  // "REF   -PIN " with the hyphen in its column; else at the last hyphen; else no pin.
  void split_reference(int from, int end) {
    NetlistRecord& r = record_.value;
    int hyphen = end - 5;
    if (hyphen < from || (at(hyphen) != '-' && at(hyphen) != ' ')) {
      const std::size_t last = cut(from, end).rfind('-');
      hyphen = last == std::string_view::npos ? end - 1 : from + static_cast<int>(last);
      if (last == std::string_view::npos) {
        r.ref = name(from, end);
        return;
      }
    }
    r.ref = name(from, hyphen);
    r.pin = name(hyphen + 1, end);
  }

  // "D", four digits, "P" or "U"; a shift may begin before or after them.
  void read_hole() {
    for (const int d : {32 + shift_, 32}) {
      const auto plating = [&](int column) { return at(column) == 'P' || at(column) == 'U'; };
      const int end = !plating(d + 5) && plating(d + 4) ? d + 4 : d + 5;
      const std::string_view digits = trim(cut(d + 1, end));
      if (at(d) != 'D' || digits.empty() || !all_of_set(digits, "0123456789")) continue;
      const std::int64_t size = to_int(digits).value_or(0);
      record_.value.hole = Nanometres{size * context_.unit_nm};
      record_.saturated |= size == 9999;
      if (plating(end)) record_.value.plated = at(end) == 'P';
      return;
    }
  }

  void read_access() {
    record_.has_access = at(kAccess + shift_) == 'A';
    record_.value.access = -1;
    if (!record_.has_access) return;
    const std::optional<std::int64_t> code = to_int(cut(kAccess + shift_ + 1, kX + shift_));
    record_.value.access = static_cast<int>(code.value_or(0));
  }

  // Blanks may stand for zeros and for the plus sign.
  std::optional<Problem> read_coordinate(int letter, std::int64_t& to) {
    std::string digits(cut(letter + 1 + shift_, letter + 8 + shift_));
    std::erase(digits, ' ');
    const std::optional<std::int64_t> counts = to_int(digits);
    if (!counts) {
      return problem(letter, "NET-006",
                     digits.empty()
                         ? "the coordinate is blank"
                         : "the coordinate '" + shown(digits) + "' is not a whole number",
                     "correct this record or export again");
    }
    to = *counts * context_.unit_nm;
    if (std::abs(to) > kMaxCoordinate) {
      return problem(letter, "NET-007", "the place is more than 1.07 m from the origin",
                     "check the UNITS record");
    }
    return std::nullopt;
  }

  std::optional<Problem> read_place() {
    if (auto p = read_coordinate(kX, record_.value.at.x)) return p;
    if (auto p = read_coordinate(kY, record_.value.at.y)) return p;
    record_.has_place = true;
    return std::nullopt;
  }

  std::optional<Problem> read_size() {
    NetlistRecord& r = record_.value;
    for (const auto& [column, letter] : {std::pair{57, 'X'}, std::pair{62, 'Y'}}) {
      if (at(column + shift_) != letter) continue;
      std::string digits(cut(column + 1 + shift_, column + 5 + shift_));
      std::erase(digits, ' ');
      if (digits.empty()) continue;
      const std::optional<std::int64_t> counts = to_int(digits);
      if (!counts || *counts < 0) {
        return problem(column, "NET-008", "the size '" + shown(digits) + "' is not a whole number",
                       "sizes are counts of the unit, without a point; export again");
      }
      record_.saturated |= *counts == 9999;
      (letter == 'X' ? r.size_x : r.size_y) = Nanometres{*counts * context_.unit_nm};
    }
    if (r.size_y.value == 0) r.size_y = r.size_x;
    return std::nullopt;
  }

  // Rotation, mask, layers of a blind via: hints, never worth an error.
  void read_tail() {
    NetlistRecord& r = record_.value;
    if (at(67 + shift_) == 'R') {
      const std::string_view turn = trim(cut(68 + shift_, 71 + shift_));
      if (const auto degrees = to_int(turn)) r.rotation_deg = static_cast<double>(*degrees);
    }
    for (const int s : {71 + shift_, 72 + shift_}) {
      if (at(s) == 'S' && at(s + 1) >= '0' && at(s + 1) <= '3' && !r.mask) r.mask = at(s + 1) - '0';
    }
    const int l = 74 + shift_;
    if (at(l) == 'L' && at(l + 3) == 'L') {
      const auto from = to_int(cut(l + 1, l + 3)), to = to_int(cut(l + 4, l + 6));
      if (from && to && *from > 0 && *from < *to) {
        r.span = {static_cast<int>(*from), static_cast<int>(*to)};
      }
    }
  }

  RecordContext context_;
  std::string_view source_;
  std::string text_;
  int shift_{};
  TestRecord record_;
};

}  // namespace

Result<TestRecord> parse_test_record(std::string_view line, const RecordContext& context) {
  return RecordParser(line, context).parse();
}

}  // namespace isthmus::formats
