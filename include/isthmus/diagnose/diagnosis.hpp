// SPDX-License-Identifier: Apache-2.0
// From readings to faults with places to look at. Values only, no I/O.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "isthmus/diagnose/harness.hpp"
#include "isthmus/plan/plan.hpp"
#include "isthmus/plan/reading.hpp"

namespace isthmus::diagnose {

enum class FindingKind { open, bridge, high_resistance, leakage };
std::string_view name(FindingKind k);  // "open", "bridge", "high-resistance", "leakage"

struct Suspect {
  int rank{1};  // 1 = likeliest
  Position at;
  std::string side;               // "top", "bottom", "L2"...
  double likelihood{};            // share of its finding; all suspects of a finding sum to <= 1
  std::vector<Position> path;     // stretch to look along; one place for a spot
  std::vector<std::string> nets;  // bridges, leakage: the two nets
  std::optional<std::array<std::size_t, 2>> separates;  // opens: indices into parts
  std::string why;  // "missing wire in this hole", "0.20 mm track, 14 mm long"
};

struct Finding {
  FindingKind kind{};
  std::vector<std::string> nets;                // sorted
  std::vector<std::vector<std::string>> parts;  // point ids
  std::optional<Ohms> measured;                 // nothing: over-range
  Ohms limit{}, uncertainty{};
  std::vector<Suspect> suspects;          // by rank
  bool operator==(const Finding&) const;  // kind, nets and parts
};

struct Untested {
  std::string net;
  std::vector<std::string> points;
  // "no-contact", "contact-unproven", "doubtful", "not-reached", "broken-off" (the run did not get
  // there), "wiring" (wires of the harness touch), "poor-contact" (more than the
  // copper should have, by copper or by contact), ...
  std::string why;
  std::string detail;  // a sentence for people
};

enum class WhyCannotTell {
  not_reached,
  contact_unproven,
  doubtful,
  broken_off,  // the run did not get there
  no_touch,    // none would tell, wherever probes stand: inner copper
  reopened,    // its net, or the other, has a fault; until that is mended a reading proves less
};
std::string_view name(WhyCannotTell w);  // "not-reached", "contact-unproven", ...

// An entry of the list of possible faults that no reading excludes, and that would part copper of
// a net or bridge two.
struct CannotTell {
  expect::FaultKind kind{};
  std::vector<std::string> nets;    // sorted
  std::vector<std::string> points;  // those named in `would_tell`
  Position at;
  std::string side;  // "top", "bottom", "both" for a hole, "L2"...
  WhyCannotTell why{};
  std::vector<std::string> would_tell;  // two points, to be touched at once; none of `no_touch`
  // Of each of those: the side it must be touched from, whether it has copper on both, and whether
  // a probe stood there that touched no metal.
  struct From {
    Side side{};
    bool either{};
    bool no_contact{};
    bool operator==(const From&) const = default;
  };
  std::vector<From> from;
  bool operator==(const CannotTell&) const = default;
};

// Entries by state; of bridges pairs of pieces, each by its worst facing.
struct FaultCounts {
  std::size_t listed{}, excluded{}, harmless{}, found{}, cannot_tell{}, waived{};
  // Of the excluded breaks: a bridge within their own net, or a tied one, would hide them.
  std::size_t unless_bridged{};
  bool operator==(const FaultCounts&) const = default;
};

// Points; and pairs of groups within the window, but for those of waived points alone.
struct Coverage {
  std::size_t required{}, tested{}, waived{};
  std::size_t pairs_required{}, pairs_tested{}, pairs_beyond_window{};
};

// This board's copper, fitted to the resistances measured on it (src/diagnose/foil_fit.hpp).
struct FoilFit {
  Nanometres thickness{}, thickness_sd{};
  Nanometres undercut{}, undercut_sd{};  // loss of width per side
  std::size_t readings{};
  bool at_bound{false};  // held within what foil and etch can be: the copper reads beyond that
  // Against the declared foil: nominal over true thickness, further loss per side.
  double scale{1}, scale_sd{}, loss_nm{}, loss_sd_nm{}, covariance_nm{};
  // What is left unexplained: robust squares of deviations, and their logarithms. For comparing fits
  // of the same readings.
  double cost{};
};

enum class Verdict { pass, fail, incomplete };
std::string_view name(Verdict v);

struct Diagnosis {
  Verdict verdict{Verdict::incomplete};
  std::vector<Finding> findings;  // opens, bridges, high resistance, leakage; each by nets
  std::vector<Untested> untested;
  Coverage coverage;
  std::vector<expect::FaultState> states;  // by entry of the board's list; empty from the record
  FaultCounts breaks, bridges;
  std::size_t parallel_joins{};  // of the harmless breaks
  double likelihood_excluded{};  // share of all likelihood; 0 to 1
  std::vector<CannotTell> cannot_tell;
  std::optional<FoilFit> foil;  // four wires or zeroed, and enough readings
  std::vector<expect::Waiver> waived;
  std::vector<std::string>
      remarks;  // "matches its artwork; the design was not checked", controls that failed...
};

// The end of the run (or as far as it got: `complete` false makes a pass impossible). `plan` holds
// all steps, wanted ones included. Doubt is never a finding; a finding needs a trusted reading
// (proven contacts, good controls of its block, the same answer when repeated).
//
// Shape   states by entry of board.faults; a pass has no finding, nothing untested, no entry that
//         cannot be told and no blocker. Wires of `harness` that touch are no finding, what they
//         could feign counts for nothing, and the run does not pass ("wiring").
// Source  docs/proof.md.
Diagnosis diagnose(const expect::Board& board, const plan::Plan& plan,
                   std::span<const plan::Reading> readings, bool complete,
                   const Harness& harness = {});

}  // namespace isthmus::diagnose
