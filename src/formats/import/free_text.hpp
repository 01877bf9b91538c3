// SPDX-License-Identifier: Apache-2.0
// What a Gerber file says of its layer in free text: image and layer names (IN, LN) and comments.
// Common practice, no source.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "formats/import/claim.hpp"

namespace isthmus::formats {

struct TextClaim {
  Claim claim;
  std::string text;    // the words that say so
  bool strong{false};  // a name the file gives itself or its layers; else a comment like others
};

// All that say something must say the same; an outline drawn along with a layer counts only where
// it is alone.
TextClaim claim_of_text(const std::vector<std::string_view>& lines);

}  // namespace isthmus::formats
