// SPDX-License-Identifier: Apache-2.0
// What a Gerber file without .FileFunction is taken for: its name and its own free text weighed.
#pragma once

#include <string_view>
#include <vector>

#include "formats/import/file_names.hpp"
#include "formats/import/free_text.hpp"
#include "isthmus/formats/recognise.hpp"

namespace isthmus::formats {

// A name that says nothing is filled from the text. A text that says paste, legend, drawing, mask
// or outline outweighs a name that says copper; two that name different copper are in doubt.
void judge(const NameClaim& name, const TextClaim& text, Recognised& r);

// For each of the files, the words of its name that count: without those that all of them begin
// with, where the files tell more apart without (the words of the project, not of a layer).
std::vector<NameWords> telling_words(const std::vector<std::filesystem::path>& files);

}  // namespace isthmus::formats
