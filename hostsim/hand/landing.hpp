// SPDX-License-Identifier: Apache-2.0
// One landing of a needle: all that chance decides, and the copper it comes down on.
#pragma once

#include <optional>
#include <vector>

#include "hostsim/hand/held.hpp"
#include "hostsim/hand/surface.hpp"
#include "hostsim/random.hpp"
#include "hostsim/scenario/scenario.hpp"

namespace isthmus::hostsim {

struct Bounce {
  double off_s{}, on_s{};  // after the landing
};

// Drawn in one go, whether it is used or not: what one landing meets changes nothing for the next.
struct Fate {
  double aim_x{}, aim_y{};           // in standard deviations, at most two
  std::optional<double> wrong_pad;   // which of the neighbours: [0, 1)
  std::optional<double> miss_angle;  // to which side
  std::vector<Bounce> bounces;
  struct Slip {
    double after_s{}, angle{}, mm{};
  };
  std::optional<Slip> slip;
  std::optional<double> lifts_after_s;
  bool straddles{false};
  double tarnish_ohm{0};
  struct Fingers {
    double angle{}, mm{}, ohm{};
  };
  std::optional<Fingers> fingers;
  double clip_chance{}, clip_which{}, clip_after_s{};  // [0, 1), and when
  std::vector<double> contact_ohm;                     // of each contact in turn
};
Fate draw_fate(const HandDraw& hand, const ContactDraw& contact, Random& random);

// Where a needle that aims at `target` comes down.
Place landing_place(const Surface& surface, const HandDraw& hand, const Fate& fate, Place target);

// Away from `from` by so many mm.
Place moved_by(const Place& from, double angle, double mm);

// The copper under the tips of a needle that stands at `at`: one list a tip. Two tips are held so
// that they lie along the pad, as far as it is seen.
std::vector<std::vector<Contact>> contacts_at(const Surface& surface, const BoardGraph& graph,
                                              const HandDraw& hand, const Fate& fate,
                                              const Place& at, bool forked);

// Copper of another net that fingers rest on; nothing where there is none.
std::optional<Node> under_fingers(const Surface& surface, const BoardGraph& graph,
                                  const Fate::Fingers& fingers, const Place& at, Node needle);

}  // namespace isthmus::hostsim
