// SPDX-License-Identifier: Apache-2.0
// The auditor: makes every fault it can think of on copper of its own, and asks whether a reading
// of the plan would change or the program names it. docs/audit.md.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "isthmus/diagnose/diagnosis.hpp"
#include "isthmus/formats/fixture_file.hpp"
#include "tests/audit/advice.hpp"
#include "tests/audit/faults.hpp"

namespace isthmus::audit {

struct Counts {
  std::size_t made{}, harmful{};
  std::size_t caught{};       // a reading changes, and the run does not pass
  std::size_t named{};        // no reading changes, but the program's list says that it cannot tell
  std::size_t escaped{};      // none of these
  std::size_t on_untested{};  // of the escaped: on nets of which the verdict calls points untested
  std::size_t unlisted{};     // of the harmful: no entry of the program's list lies there
};
struct Escape {
  FaultKind kind{};
  Position at;
  Side side{};
  std::vector<std::string> nets;  // of the conductors it parts or bridges
  bool parts{false}, bridges{false};
  bool reads_differently{false};  // readings change, and the run passes all the same
  bool on_untested{false};
  bool unlisted{false};
  std::vector<std::string> would_tell;  // places whose touch would have shown it
};
struct Audit {
  diagnose::Verdict good{};                // the verdict on the board as drawn
  std::vector<std::string> good_troubles;  // findings, untested points: why it is no pass
  std::map<FaultKind, Counts> counts;
  std::vector<Escape> escapes;
  std::vector<Escape> unlisted;  // harmful, caught or not, where the program's list has no entry
  Advice advice;                 // on what is named
  std::size_t cells{}, runs{}, places{}, steps{};
  [[nodiscard]] Counts total() const;
};

struct AuditWish {
  Wish faults;
  plan::Means means{4, {10.0, 1e7}};
  bool verdicts{false};  // runs the diagnosis for each different set of readings; else any change
                         // of a reading counts as caught
  bool ask_the_list{true};  // else what the program names counts as escaped
  bool masked{true};        // also slits hidden by two splashes
};

// Errors: those of make_plan.
Result<Audit> audit(const expect::Board& board, const formats::FixtureFile& fixture,
                    const AuditWish& wish);

// The fixture with about one probe in `of` taken out: whatever it then cannot tell must be named.
formats::FixtureFile with_probes_missing(formats::FixtureFile fixture, unsigned seed, unsigned of);

// What becomes of a run from whose plan one continuity or isolation step is taken. Indices into the
// plan's steps.
struct StepAudit {
  std::size_t refused{};           // the good board no longer passes
  std::vector<std::size_t> spare;  // it passes, and every fault made is still told by other steps
  std::vector<std::size_t> blind;  // it passes, and so does a board with a fault: must be empty
  [[nodiscard]] std::size_t tried() const { return refused + spare.size() + blind.size(); }
};
Result<StepAudit> audit_without_each_step(const expect::Board& board,
                                          const formats::FixtureFile& fixture,
                                          const AuditWish& wish);

// For people: counts by kind, and the escapes; those that do the same on one line.
std::string in_words(const Audit& a, std::size_t most_lines);
std::string in_words(const Advice& a);
std::string in_words(const std::vector<Escape>& escapes, std::size_t most_lines);

}  // namespace isthmus::audit
