// SPDX-License-Identifier: Apache-2.0
#include "report/shortfalls.hpp"

#include <fmt/format.h>

namespace isthmus::report {

std::string in_words(const expect::Shortfall& s) {
  return fmt::format("{} {:.3f} mm, needs {:.3f} mm: at ({:.2f}, {:.2f}) mm {}", name(s.kind),
                     to_mm(s.drawn.value), to_mm(s.needed.value), to_mm(s.at.x), to_mm(s.at.y),
                     s.side);
}

std::string what_may_happen(const expect::Shortfall& s) {
  switch (s.kind) {
    case expect::ShortfallKind::gap:
      return fmt::format("copper left standing, or closed by plating; {:.1f} mm side by side",
                         to_mm(s.length.value));
    case expect::ShortfallKind::track:
      return fmt::format("etched through; {:.1f} mm so narrow", to_mm(s.length.value));
    case expect::ShortfallKind::ring:
      return s.drawn.value <= 0 ? "the hole leaves its pad even where it should be"
                                : "the hole leaves its pad when it wanders or the side is laid off";
  }
  return "";
}

}  // namespace isthmus::report
