// SPDX-License-Identifier: Apache-2.0
// What a run that broke off leaves to a run that continues it, and whether the board still agrees.
#pragma once

#include <span>

#include "isthmus/session/session.hpp"

namespace isthmus::session {

struct Carried {
  plan::Plan plan;                       // as stored: with the steps wanted so far
  std::vector<plan::Reading> readings;   // of `placements`, numbered anew from 0
  std::vector<std::size_t> placements;   // finished then, not laid again
  std::vector<std::size_t> again;        // laid again first: the one it broke off in, and as many
                                         // finished ones as a comparison needs: each such part of
                                         // the board, and kFingerprint resistances
  std::vector<plan::Reading> to_repeat;  // what had been read in `again`
};
// `plan` as it is made now. What is laid again speaks of all that the carried readings rest on: the
// copper of each side, joins, gaps; where no finished placement does but the last one left, nothing
// is carried. SES-011 when the stored plan is not the same, with other steps or tips.
Result<Carried> carried_from(const expect::Board& board, const record::StoredRun& broken,
                             const plan::Plan& plan);

// Resistances that must be compared before older readings are believed.
inline constexpr std::size_t kFingerprint = 8;

struct Agreement {
  std::size_t compared{}, differing{};
  std::size_t resistances{};  // of those compared, what conducted then
  [[nodiscard]] bool enough() const { return resistances >= kFingerprint; }
  [[nodiscard]] bool holds() const { return enough() && differing == 0; }
};
// First reading of each planned step against the first one then: what conducted must conduct, with
// the same resistance as far as contacts and adapter can tell; what was isolated must be. A step
// without a reading on either side is not compared.
Agreement compare(const plan::Plan& plan, std::span<const plan::Reading> then,
                  std::span<const plan::Reading> now);

}  // namespace isthmus::session
