// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/drawn_boards.hpp"

#include <fmt/format.h>

namespace isthmus::audit {

constexpr Side kTop = Side::top, kBottom = Side::bottom;

DrawnBoard pins_and_a_pad_below() {
  DrawnBoard b("joined", "all");
  b.through("N1", "J1", "1", 0, 0).through("N1", "J2", "1", 8, 0);
  b.surface("N1", "U1", "1", 16, 0, kBottom).track(kBottom, {{0, 0}, {16, 0}});
  b.surface("N2", "R1", "1", 0, -1.6, kTop, 0.8).surface("N2", "R1", "2", 16, -1.6, kTop, 0.8);
  b.track(kTop, {{0, -1.6}, {16, -1.6}}, 0.3);
  b.surface("N3", "R2", "1", 0, -1.6, kBottom, 0.8)
      .surface("N3", "R2", "2", 16, -1.6, kBottom, 0.8);
  return b.track(kBottom, {{0, -1.6}, {16, -1.6}}, 0.3);
}

DrawnBoard branch_below() {
  DrawnBoard b("joined", "all");
  b.surface("N1", "P1", "1", 0, 0).track(kTop, {{0, 0}, {5, 0}});
  b.through("N1", "VIA", "", 5, 0, 0.6, 1.2).track(kBottom, {{5, 0}, {25, 0}});
  b.through("N1", "VIA", "", 25, 0, 0.6, 1.2).track(kTop, {{25, 0}, {30, 0}});
  b.surface("N1", "Q1", "1", 30, 0).track(kBottom, {{15, 0}, {15, 10}});
  b.surface("N1", "S1", "1", 15, 10, kBottom);
  b.surface("N2", "P1", "2", 0, 1.6).track(kTop, {{0, 1.6}, {30, 1.6}});
  b.surface("N2", "Q1", "2", 30, 1.6);
  b.surface("N3", "S1", "2", 17, 10, kBottom).track(kBottom, {{17, 10}, {24, 10}});
  return b.surface("N3", "S1", "3", 24, 10, kBottom);
}

DrawnBoard pour_on_three_wires() {
  DrawnBoard b("joined",
               "[{at: [10, 0], kind: wire}, {at: [20, 0], kind: wire}, "
               "{at: [30, 0], kind: wire}]");
  b.surface("GND", "J1", "1", 0, 0).track(kTop, {{0, 0}, {40, 0}}, 1.0);
  b.surface("GND", "J2", "1", 40, 0);
  for (const double x : {10.0, 20.0, 30.0}) b.through("GND", "VIA", "", x, 0, 0.6, 1.2);
  b.area(kBottom, {{5, -12}, {35, -12}, {35, 3}, {5, 3}});
  b.surface("N1", "U1", "1", 5, 4.2, kBottom).track(kBottom, {{5, 4.2}, {35, 4.2}});
  b.surface("N1", "U2", "1", 35, 4.2, kBottom);
  b.surface("N2", "U1", "2", 0, 1.6).track(kTop, {{0, 1.6}, {40, 1.6}});
  return b.surface("N2", "U2", "2", 40, 1.6);
}

DrawnBoard pins_tied_twice() {
  DrawnBoard b("finished",
               "[{at: [0, 0], kind: lead}, {at: [20, 0], kind: lead}, "
               "{at: [40, 0], kind: lead}]");
  for (int i = 0; i < 3; ++i) b.through("GND", fmt::format("J{}", i + 1), "1", 20.0 * i, 0);
  b.track(kTop, {{0, 0}, {40, 0}}, 1.0);
  b.area(kBottom, {{-2, -12}, {42, -12}, {42, 2}, {-2, 2}});
  b.surface("N1", "U1", "2", 0, 1.8, kTop, 0.8).track(kTop, {{0, 1.8}, {40, 1.8}}, 0.4);
  return b.surface("N1", "U2", "2", 40, 1.8, kTop, 0.8);
}

DrawnBoard drawn_tie() {
  DrawnBoard b("etched-top", "", false);
  b.surface("AGND", "L1", "1", 0, 0).surface("AGND", "M1", "1", 5, 0);
  b.track(kTop, {{0, 0}, {20, 0}});
  b.surface("DGND", "Q1", "1", 15, 0).surface("DGND", "R1", "1", 20, 0);
  b.surface("N1", "L1", "2", 0, 1.6).track(kTop, {{0, 1.6}, {20, 1.6}});
  b.surface("N1", "R1", "2", 20, 1.6);
  return b.more("net-ties: [[AGND, DGND]]\n");
}

DrawnBoard slot_without_plating() {
  DrawnBoard b("etched-top", "", false);
  b.pad(kTop, 10, 0, 2.2).pad(kTop, 14, 0, 2.2).slot(10, 0, 14, 0, 1.0).unplated();
  b.through_record("N1", "S1", "1", 10, 0, 1.0, false);
  b.through_record("N1", "S1", "2", 14, 0, 1.0, false);
  b.track(kTop, {{10, 0}, {10, -3}, {14, -3}, {14, 0}});
  b.surface("N1", "P1", "1", 5, 0).track(kTop, {{5, 0}, {10, 0}});
  b.surface("N2", "P1", "2", 5, 1.8).track(kTop, {{5, 1.8}, {20, 1.8}}, 0.4);
  return b.surface("N2", "P1", "3", 20, 1.8);
}

DrawnBoard vias_without_records() {
  DrawnBoard b("etched", "all");
  for (int i = 0; i < 2; ++i) {
    const double y = 1.9 * i;
    const std::string net = fmt::format("N{}", i + 1), pin = std::to_string(i + 1);
    b.surface(net, "P1", pin, 0, y).track(kTop, {{0, y}, {5, y}}).hole(5, y, 0.5, 1.1);
    b.track(kBottom, {{5, y}, {25, y}}).hole(25, y, 0.5, 1.1);
    b.track(kTop, {{25, y}, {30, y}}).surface(net, "Q1", pin, 30, y);
  }
  return b;
}

std::vector<NamedBoard> drawn_boards() {
  return {{"PinsAndAPadBelow", pins_and_a_pad_below},
          {"BranchBelow", branch_below},
          {"PourOnThreeWires", pour_on_three_wires},
          {"PinsTiedTwice", pins_tied_twice},
          {"DrawnTie", drawn_tie},
          {"SlotWithoutPlating", slot_without_plating},
          {"ViasWithoutRecords", vias_without_records}};
}

}  // namespace isthmus::audit
