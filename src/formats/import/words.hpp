// SPDX-License-Identifier: Apache-2.0
// The words of a file's name or of a line of free text.
#pragma once

#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

namespace isthmus::formats {

using NameWords = std::vector<std::string>;

// "TideGauge-F_Cu2.TOPSOLDERMASK" -> tide gauge f cu2 top solder mask: split at every change of
// kind of character and of case, and where words of the trade are written as one.
NameWords name_words(std::string_view text);

bool any_of(const NameWords& words, std::initializer_list<std::string_view> wanted);
// True if a word of `first` stands directly before one of `second`.
bool pair_of(const NameWords& words, std::initializer_list<std::string_view> first,
             std::initializer_list<std::string_view> second);

// A number after a fixed start ("in2", "g1", "gl3"); 0 if none.
int number_after(std::string_view word, std::string_view start);

}  // namespace isthmus::formats
