// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "score.hpp"

namespace isthmus::score {
namespace {

double to_segment(const Spot& p, const Spot& a, const Spot& b) {
  const double dx = b.x - a.x, dy = b.y - a.y, square = dx * dx + dy * dy;
  const double t =
      square > 0 ? std::clamp(((p.x - a.x) * dx + (p.y - a.y) * dy) / square, 0.0, 1.0) : 0.0;
  return std::hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
}

bool sides_fit(const std::string& a, const std::string& b) {
  const auto open = [](const std::string& s) { return s.empty() || s == "both"; };
  return open(a) || open(b) || a == b;
}

double to_path(const Spot& p, const Suspect& suspect) {
  double best = std::hypot(p.x - suspect.spot.x, p.y - suspect.spot.y);
  for (std::size_t i = 0; i < suspect.path.size(); ++i) {
    best = std::min(best, to_segment(p, suspect.path[i],
                                     suspect.path[std::min(i + 1, suspect.path.size() - 1)]));
  }
  return best;
}

}  // namespace

std::size_t Score::found() const {
  return static_cast<std::size_t>(std::count_if(
      matches.begin(), matches.end(), [](const Match& m) { return m.suspect.has_value(); }));
}

std::string expected_kind(const Truth& truth) {
  if (truth.kind == "open" || truth.kind == "no-join") return "open";
  if (truth.kind == "neck") return "high-resistance";
  if (truth.kind == "leak" || truth.kind == "whisker")
    return truth.ohm > kBridgeOhm ? "leakage" : "bridge";
  return truth.kind;
}

std::optional<double> distance_mm(const Truth& truth, const Suspect& suspect) {
  if (truth.spots.empty()) return std::nullopt;
  Spot middle = truth.spots.front();
  middle.x = (truth.spots.front().x + truth.spots.back().x) / 2;
  middle.y = (truth.spots.front().y + truth.spots.back().y) / 2;
  // A hole has no side.
  if (truth.kind != "no-join" && !sides_fit(middle.side, suspect.spot.side)) return std::nullopt;
  return to_path(middle, suspect);
}

Score judge(const std::vector<Truth>& truths, const Report& report) {
  Score score;
  std::vector<bool> used(report.findings.size(), false);
  for (const Truth& truth : truths) {
    Match match{{}, {}, -1};
    for (std::size_t f = 0; f < report.findings.size(); ++f) {
      if (report.findings[f].kind != expected_kind(truth)) continue;
      const auto& suspects = report.findings[f].suspects;
      for (std::size_t s = 0; s < suspects.size(); ++s) {
        const auto d = distance_mm(truth, suspects[s]);
        if (!d) continue;
        if (match.distance_mm < 0 || *d < match.distance_mm) match.distance_mm = *d;
        if (*d > kNearMm) continue;
        used[f] = true;
        if (!match.suspect) {
          match.finding = f;
          match.suspect = s;
        }
      }
    }
    score.matches.push_back(match);
  }
  for (std::size_t f = 0; f < used.size(); ++f) {
    if (!used[f]) score.invented.push_back(f);
  }
  return score;
}

std::string table(const std::vector<Truth>& truths, const Report& report, const Score& score) {
  std::string text = fmt::format("{:<10} {:>8} {:>8} {:<7} {:<15} {:>9}  {}\n", "defect", "x mm",
                                 "y mm", "side", "must be", "off by mm", "found");
  for (std::size_t i = 0; i < truths.size(); ++i) {
    const Truth& t = truths[i];
    const Match& m = score.matches[i];
    const Spot spot = t.spots.empty() ? Spot{} : t.spots.front();
    const std::string found =
        m.suspect ? fmt::format("finding {}, suspect {}", *m.finding + 1, *m.suspect + 1)
                  : "MISSED";
    const std::string off = m.distance_mm < 0 ? "-" : fmt::format("{:.2f}", m.distance_mm);
    text += fmt::format("{:<10} {:>8.3f} {:>8.3f} {:<7} {:<15} {:>9}  {}\n", t.kind, spot.x, spot.y,
                        spot.side, expected_kind(t), off, found);
  }
  for (const std::size_t f : score.invented) {
    const Finding& finding = report.findings[f];
    text += fmt::format("INVENTED   finding {}: {} {}\n", f + 1, finding.kind,
                        fmt::join(finding.nets, ", "));
  }
  return text + fmt::format("{} of {} found, {} invented\n", score.found(), truths.size(),
                            score.invented.size());
}

}  // namespace isthmus::score
