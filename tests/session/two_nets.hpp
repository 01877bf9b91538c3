// SPDX-License-Identifier: Apache-2.0
// The smallest board worth testing: TIDE and GND, two pads each, one probe on each pad; and a plan
// for it by hand.
#pragma once

#include "isthmus/session/session.hpp"
#include "tests/support/plain_list.hpp"

namespace isthmus::test {

using plan::Step;
using plan::StepKind;

// Net of each channel: 1 and 2 touch TIDE, 3 and 4 touch GND.
inline int net_of(int channel) { return channel <= 2 ? 0 : 1; }

inline expect::Board two_nets() {
  expect::Board board;
  expect::Expectation& e = board.expectation;
  e.stage = Stage::etched_top;
  e.basis = "netlist";
  for (int i = 0; i < 4; ++i) {
    expect::Point p;
    p.id = "J1." + std::to_string(i + 1);
    p.net = net_of(i + 1) ? "GND" : "TIDE";
    p.at = position_mm(2.54 * i, 0);
    p.group = GroupId{static_cast<std::uint32_t>(net_of(i + 1))};
    e.points.push_back(p);
  }
  e.groups = {{"TIDE", {PointId{0}, PointId{1}}, {}, ""},
              {"GND", {PointId{2}, PointId{3}}, {}, ""}};
  e.pairs = {{GroupId{0}, GroupId{1}, 1e6, {}, {}, 1}};
  list_plainly(board);
  return board;
}

class PlanWriter {
 public:
  // Without a channel that has no tip the adapter's check is never seen to say no.
  explicit PlanWriter(std::size_t placements = 1, bool free_channel = true)
      : free_channel_(free_channel) {
    plan_.contact_check = true;
    for (std::size_t i = 0; i < placements; ++i) {
      plan::Placement p;
      p.name = std::string(1, static_cast<char>('A' + i));
      for (int c = 1; c <= 4; ++c) {
        p.probes.push_back({c, PointId{static_cast<std::uint32_t>(c - 1)}, {}, {}});
      }
      plan_.placements.push_back(p);
      write(i);
    }
  }
  plan::Plan plan() && { return std::move(plan_); }

 private:
  Step& add(StepKind kind, std::vector<int> source, std::vector<int> ret) {
    Step s;
    s.id = StepId{static_cast<std::uint32_t>(plan_.steps.size() + 1)};
    s.placement = placement_;
    s.kind = kind;
    s.source = std::move(source);
    s.ret = std::move(ret);
    s.block = block_;
    return plan_.steps.emplace_back(std::move(s));
  }
  void references() {
    for (int k : {1, 2}) {
      Step& s = add(StepKind::reference, {}, {});
      s.reference = k;
      s.limit = Ohms{k == 1 ? 10.0 : 1e7};
    }
  }
  // No tip is on channel 5.
  void check_says_no() {
    if (!free_channel_) return;
    add(StepKind::contact, {5}, {}).contact_by_row1 = true;
    add(StepKind::contact, {}, {5}).contact_by_row1 = false;
  }
  void contacts(bool closing) {
    for (int c = 1; c <= 4; ++c) {
      for (const bool row1 : {true, false}) {
        Step& s = row1 ? add(StepKind::contact, {c}, {}) : add(StepKind::contact, {}, {c});
        s.contact_by_row1 = row1;
        s.points = {PointId{static_cast<std::uint32_t>(c - 1)}};
        s.closing = closing;
      }
    }
  }
  void continuity(bool closing) {
    for (int c : {1, 3}) {
      Step& s = add(StepKind::continuity, {c}, {c + 1});
      s.groups = {GroupId{static_cast<std::uint32_t>(net_of(c))}};
      s.points = {PointId{static_cast<std::uint32_t>(c - 1)},
                  PointId{static_cast<std::uint32_t>(c)}};
      s.limit = Ohms{10};
      s.closing = closing;
    }
  }
  void nothing_conducts() {
    add(StepKind::control_open, {1, 2, 3, 4}, {}).limit = Ohms{100};
    add(StepKind::control_open, {}, {1, 2, 3, 4}).limit = Ohms{100};
  }
  void controls() {
    for (const bool high : {true, false}) {
      Step& s = high ? add(StepKind::control_open, {1}, {}) : add(StepKind::control_open, {}, {3});
      s.volts = Volts{10};
      s.limit = Ohms{10e6};
    }
    references();
    Step& s = add(StepKind::control_short, {1}, {2});
    s.volts = Volts{10};
    s.limit = Ohms{100e3};
  }
  void write(std::size_t placement) {
    placement_ = placement;
    ++block_;
    add(StepKind::board_voltage, {1}, {3});
    references();
    nothing_conducts();
    check_says_no();
    contacts(false);
    continuity(false);
    nothing_conducts();
    ++block_;
    controls();
    Step& s = add(StepKind::isolation, {1}, {3});
    s.groups = {GroupId{0}, GroupId{1}};
    s.volts = Volts{10};
    s.limit = Ohms{10e6};
    controls();
    ++block_;
    check_says_no();
    contacts(true);
    continuity(true);
    nothing_conducts();
    references();
  }

  plan::Plan plan_;
  bool free_channel_;
  std::size_t placement_{}, block_{};
};

}  // namespace isthmus::test
