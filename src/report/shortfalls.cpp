// SPDX-License-Identifier: Apache-2.0
#include "report/shortfalls.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>
#include <cstdint>
#include <map>
#include <tuple>

#include "isthmus/report/report.hpp"

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

std::vector<std::pair<const expect::Shortfall*, std::size_t>> alike(
    const std::vector<expect::Shortfall>& all) {
  std::vector<std::pair<const expect::Shortfall*, std::size_t>> rows;
  std::map<std::tuple<expect::ShortfallKind, std::int64_t, Nanometres>, std::size_t> row_of;
  for (const expect::Shortfall& s : all) {
    const auto key =
        std::tuple(s.kind, std::llround(static_cast<double>(s.drawn.value) / 10'000), s.needed);
    const auto [it, fresh] = row_of.emplace(key, rows.size());
    if (fresh) rows.emplace_back(&s, 0);
    ++rows[it->second].second;
  }
  return rows;
}

std::string in_words(const plan::Shortfall& s) {
  std::string text = "no run with this fixture can pass:";
  const char* by = " ";
  const auto add = [&](const std::string& words) {
    text += by + words;
    by = ", ";
  };
  if (s.pairs > 0)
    add(fmt::format("{} of {} pairs of nets can never be proven isolated", s.pairs, s.of));
  if (s.points > 0)
    add(s.points == 1 ? "1 point has no probe" : fmt::format("{} points have no probe", s.points));
  if (s.split > 0)
    add(s.split == 1 ? "1 net is never tied together"
                     : fmt::format("{} nets are never tied together", s.split));
  if (s.no_touch_breaks > 0)
    add(fmt::format("no touch can tell of {} possible break{}", s.no_touch_breaks,
                    s.no_touch_breaks == 1 ? "" : "s"));
  if (s.no_touch_pairs > 0)
    add(fmt::format("no touch can tell of bridges between {} pair{} of nets", s.no_touch_pairs,
                    s.no_touch_pairs == 1 ? "" : "s"));
  return text;
}

std::string blockers_in_words(const expect::Expectation& e) {
  constexpr std::size_t kShown = 3;
  if (e.blockers.empty()) return "";
  std::string text = fmt::format("no run on this board can pass at stage {}:", name(e.stage));
  for (std::size_t i = 0; i < e.blockers.size() && i < kShown; ++i) {
    const expect::Blocker& b = e.blockers[i];
    text +=
        fmt::format("{} net {} ({}: {})", i > 0 ? ";" : "", b.net, b.why, fmt::join(b.points, " "));
  }
  if (e.blockers.size() > kShown) text += fmt::format("; and {} more", e.blockers.size() - kShown);
  return text;
}

std::string what_helps(const plan::Shortfall& s) {
  if (!s.fixture_lacks())
    return "isthmus plan BOARD --fixture F names them: look at them, or waive them by name";
  if (s.pairs > 0 && !s.contact_check) {
    return s.channels > 0 && s.channels < 4
               ? "two nets with two tips each take four channels: --channels 4 or more; or "
                 "--contact-check, if the adapter has one"
               : "twin tips, or contact-check if the adapter has one; or a second point of each "
                 "net";
  }
  return "see isthmus plan BOARD --fixture F for the nets; more placements, or other points of "
         "them";
}

}  // namespace isthmus::report
