// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/names.hpp"

#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

// Bytes of the character that begins here; 0 where it is not UTF-8 (RFC 3629, section 4: neither
// overlong, nor a surrogate, nor beyond U+10FFFF).
std::size_t utf8_length(std::string_view s) {
  const auto byte = [&s](std::size_t i) { return static_cast<unsigned char>(s[i]); };
  const unsigned char first = byte(0);
  if (first < 0x80) return 1;
  const std::size_t length = first >= 0xC2 && first <= 0xDF   ? 2u
                             : first >= 0xE0 && first <= 0xEF ? 3u
                             : first >= 0xF0 && first <= 0xF4 ? 4u
                                                              : 0u;
  if (length == 0 || s.size() < length) return 0;
  for (std::size_t i = 1; i < length; ++i) {
    if (byte(i) < 0x80 || byte(i) > 0xBF) return 0;
  }
  const unsigned char second = byte(1);
  const bool wrong = (first == 0xE0 && second < 0xA0) || (first == 0xED && second > 0x9F) ||
                     (first == 0xF0 && second < 0x90) || (first == 0xF4 && second > 0x8F);
  return wrong ? 0 : length;
}

// C0, DEL and C1 (ISO/IEC 6429).
bool begins_with_control(std::string_view s) {
  const auto first = static_cast<unsigned char>(s[0]);
  return first < 0x20 || first == 0x7F ||
         (first == 0xC2 && s.size() > 1 && static_cast<unsigned char>(s[1]) < 0xA0);
}

}  // namespace

std::string unfit_as_name(std::string_view name) {
  constexpr std::size_t kLongest = 255;
  if (trim(name).empty()) return "a name must not be empty";
  if (name.size() > kLongest)
    return "a name of " + std::to_string(name.size()) + " bytes is too long: 255 at most";
  while (!name.empty()) {
    const std::size_t length = utf8_length(name);
    if (length == 0) return "the name is not UTF-8";
    if (begins_with_control(name))
      return "a name must not hold line feeds or other control characters";
    name.remove_prefix(length);
  }
  return "";
}

}  // namespace isthmus::formats
