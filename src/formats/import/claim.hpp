// SPDX-License-Identifier: Apache-2.0
// What words say of a layer. Common practice, no source.
#pragma once

#include <string>

#include "formats/import/words.hpp"
#include "isthmus/formats/recognise.hpp"

namespace isthmus::formats {

struct Claim {
  FileRole role{FileRole::other};
  Side side{Side::both};
  int layer{};           // copper between the sides: counted from the top; 0: its order is not said
  bool inner{false};     // copper between the sides
  bool not_ours{false};  // legend, paste, a drawing: said on purpose, and never copper
  const char* kind{"legend, paste or a drawing"};  // of what is not ours
  bool bare{false};  // copper by nothing but a side, the weakest claim
  [[nodiscard]] bool says() const { return role != FileRole::other || not_ours; }
  [[nodiscard]] bool same_as(const Claim& o) const {
    return role == o.role && side == o.side && layer == o.layer && not_ours == o.not_ours;
  }
};

Claim claim_of(const NameWords& words);

// "top copper", "an outline".
std::string described(const Claim& claim);

}  // namespace isthmus::formats
