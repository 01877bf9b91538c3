// SPDX-License-Identifier: Apache-2.0
// Small text helpers of the readers, and of what else reads words. No locale.
#pragma once

#include <cstdint>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace isthmus::formats {

inline bool is_digit(char c) { return c >= '0' && c <= '9'; }
inline bool is_upper(char c) { return c >= 'A' && c <= 'Z'; }
inline bool is_alpha(char c) { return is_upper(c) || (c >= 'a' && c <= 'z'); }
inline bool is_blank(char c) { return c == ' ' || c == '\t'; }

std::string_view trim(std::string_view s);
std::string lower(std::string_view s);
bool contains(std::string_view text, std::string_view part);

// Lines without their CR, LF or CRLF ends; a UTF-8 mark at the start is dropped.
std::vector<std::string_view> split_lines(std::string_view bytes);
// At one character; empty fields are kept.
std::vector<std::string_view> split(std::string_view s, char at);
// At runs of blanks; no empty words.
std::vector<std::string_view> words(std::string_view s);

// The whole text as a number, nothing left over; a leading '+' is allowed, infinities are not.
std::optional<double> to_double(std::string_view s);
std::optional<std::int64_t> to_int(std::string_view s);

// The candidate with the smallest edit distance, if that is at most 2 or a third of its length.
std::string nearest(std::string_view word, const std::vector<std::string>& candidates);

// Printable, at most 40 characters: for quoting foreign text inside a message.
std::string shown(std::string_view s);

}  // namespace isthmus::formats
