// SPDX-License-Identifier: Apache-2.0
#include "cli/limits.hpp"

#include <algorithm>

namespace isthmus::cli {
namespace {

// The laxest class of IPC-9252 (from memory: 50 ohm, 0.5 Mohm).
constexpr double kMostContinuity = 50;
constexpr double kLeastIsolation = 0.5e6;
// Half of the default continuity limit: a neck that adds more would be waved through by either.
constexpr double kMostExcess = 5;
// Below it the noise and offset of a meter, and the leakage of open switches, are as large as what
// is to be told from them; common practice, no source.
constexpr double kLeastVoltage = 1;
constexpr double kMostVoltage = 30;  // docs/adapter.md: what any adapter may give
// The gap between two pads of the 2.54 mm grid with 1.5 mm pads is 1.04 mm: a smaller window no
// longer looks between neighbours of a header. Common practice, no source.
constexpr Nanometres kLeastWindow = 1_mm;

// Whether every bridge between the two is left out by name.
bool waived(const expect::Board& board, const expect::Pair& pair) {
  bool any = false;
  const auto has = [&](std::uint32_t piece, GroupId g) {
    const auto& groups = board.faults.groups_of_piece[piece];
    return std::ranges::find(groups, g) != groups.end();
  };
  for (const expect::PossibleFault& f : board.faults.entries) {
    if (f.kind != expect::FaultKind::bridge) continue;
    if (!(has(f.piece, pair.a) && has(f.other, pair.b)) &&
        !(has(f.piece, pair.b) && has(f.other, pair.a)))
      continue;
    if (!f.waived) return false;
    any = true;
  }
  return any;
}

// Two groups or more, and none is tested against another.
bool nothing_to_isolate(const expect::Board& board) {
  const expect::Expectation& e = board.expectation;
  return e.groups.size() > 1 && e.pairs_beyond_window + e.pairs.size() > 0 &&
         std::ranges::none_of(e.pairs, [&](const expect::Pair& pair) {
           return (expect::matters(board, pair.a) || expect::matters(board, pair.b)) &&
                  !waived(board, pair);
         });
}

}  // namespace

std::optional<Problem> too_lax(const expect::Board& board) {
  const formats::LimitKeys& limits = board.design.board.limits;
  const auto problem = [](const std::string& what) {
    return Problem{
        "",   0,
        0,    "CLI-050",
        what, "correct limits: in board.yaml, or give --relaxed, which marks the verdict",
        ""};
  };
  if (limits.continuity.value > kMostContinuity)
    return problem("a continuity limit above 50 ohm proves little");
  if (limits.isolation.value < kLeastIsolation)
    return problem("an isolation limit below 0.5 Mohm proves little");
  if (limits.excess.value > kMostExcess) return problem("an excess above 5 ohm proves little");
  if (limits.voltage.value < kLeastVoltage)
    return problem("a test voltage below 1 V proves little");
  if (limits.window < kLeastWindow) return problem("a window below 1 mm proves little");
  if (nothing_to_isolate(board))
    return problem(
        "no two nets come within the window, or all that do are waived, so that no bridge could be "
        "found");
  return std::nullopt;
}

std::optional<Problem> unsafe(const expect::Board& board) {
  if (board.design.board.limits.voltage.value <= kMostVoltage) return std::nullopt;
  return Problem{"",
                 0,
                 0,
                 "CLI-051",
                 "a test voltage above 30 V is not put on a board",
                 "correct limits: voltage in board.yaml; 10 V is usual",
                 ""};
}

}  // namespace isthmus::cli
