// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "isthmus/report/report.hpp"

namespace isthmus::report {

// Net of an island; "#<island>" for copper without points.
std::string net_of(const expect::Board& board, IslandId island);

// The closest gap of each pair of nets on each layer that is etched by now, ascending.
struct NetGap {
  std::string first, second;  // sorted
  const copper::Gap* gap{};   // borrows board
};
std::vector<NetGap> net_gaps(const expect::Board& board);

// Breaks that a bridge within their own net, or a tied one, would hide, in the order of the list.
struct UnlessBridged {
  std::string net, side;
  const expect::PossibleFault* entry{};  // borrows board
};
std::vector<UnlessBridged> unless_bridged(const expect::Board& board);
// Those of them that this run excluded. Of a run from the record those that it did not list as what
// cannot be told: some may be suspected.
std::vector<UnlessBridged> unless_bridged(const expect::Board& board, const diagnose::Diagnosis& d);

// " (simulated)" beside the verdict of a simulated bench, else empty.
std::string beside_the_verdict(const RunView& run);
// "in 0.1 s", of a simulated bench "in 0.1 s of the simulator's clock".
std::string time_in_words(const RunView& run);

// A share as text: "52 %"; "< 1 %" for what is small but was not left out.
std::string percent(double share);

// What marks the verdict: known before the run first.
std::vector<std::string> all_remarks(const RunView& run);

// A link lost, nobody to lay the probes, a voltage on the board, stopped by hand: there is no
// verdict but for what was found until then.
bool broken_off(const RunView& run);

// "251 of 251 points tested; 417 possible breaks and 421 possible bridges within 1.27 mm: all
// excluded; 2357 farther pairs not tested"; `window` as text, from window_in_words.
std::string counts_in_words(const RunView& run, const std::string& window);
// What keeps a run without findings from a pass, to stand before its counts.
std::string why_incomplete_in_words(const diagnose::Diagnosis& d);
// "417 possible breaks and 421 possible bridges within 1.27 mm: all excluded"
std::string possible_faults_in_words(const diagnose::Diagnosis& d, const std::string& window);
// "2 breaks, 7 facings of 3 pairs": the entries that cannot be told, beside the verdict's pairs.
std::string cannot_tell_in_words(const diagnose::Diagnosis& d);
// What would tell, in one sentence; of entries with the same touch the likeliest stands first.
std::string would_tell_in_words(const diagnose::CannotTell& c);
// "1.27 mm", and where holes are joined "1.27 mm (3.00 mm round joins made by hand)"; `length`
// writes a length in nm.
std::string window_in_words(std::string_view stage, Nanometres window,
                            const std::function<std::string(double)>& length);

// "@39.723,22.125": of a place without a name, which does not say the side it lies on.
bool is_bare_name(std::string_view id);
// "@39.723,22.125 (bottom)"; other points by their name alone.
std::string place_in_words(const expect::Board& board, const std::string& id);

// "33.1 +- 0.9 um thick, each edge 18 +- 5 um short of the drawing (from 381 readings)"
std::string foil_in_words(const diagnose::FoilFit& foil);
// What the verdict cannot say, before its counts; empty, or ends in "; ".
std::string basis_in_words(const RunView& run);

}  // namespace isthmus::report
