// SPDX-License-Identifier: Apache-2.0
// How a step of each kind is made: for the plan, for what the diagnosis asks after it, and for
// zeroing.
#pragma once

#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

// Makes steps of one placement; which of them, and in which order, is for others to say.
//
// Shape   the limits are the board's; an id is given by add_steps. What is known of a step beyond
//         its kind (closing, wanted) is set on the step.
class StepMaker {
 public:
  StepMaker(const formats::LimitKeys& limits, bool contact_check, std::size_t placement)
      : limits_(limits), contact_check_(contact_check), placement_(placement) {}

  // Controls of this block judge the steps of this block.
  void block(std::size_t number) { block_ = number; }
  [[nodiscard]] std::size_t block() const { return block_; }

  [[nodiscard]] Step board_voltage(std::vector<Channel> source, std::vector<Channel> ret) const;
  [[nodiscard]] Step reference(int number, Ohms nominal, Volts volts) const;
  // These channels on one row alone: nothing can conduct but a stuck switch or meter.
  [[nodiscard]] Step open_on_row_1(std::vector<Channel> channels, Volts volts) const;
  [[nodiscard]] Step open_on_row_2(std::vector<Channel> channels, Volts volts) const;
  // With all tips on nothing: only wires or tips that touch each other can conduct.
  [[nodiscard]] Step open_in_air(std::vector<Channel> source, std::vector<Channel> ret) const;
  // Two channels that are known to conduct.
  [[nodiscard]] Step control_short(Channel source, Channel ret, Volts volts) const;
  // The channel's switch of row 1 (or 2), alone on its row, against a partner that conducts to it,
  // with the others closed beside the partner: what else of them conducts to it proves it as well.
  [[nodiscard]] Step loaded_on_row_1(Channel channel, Channel partner, std::vector<Channel> others,
                                     Volts volts) const;
  [[nodiscard]] Step loaded_on_row_2(Channel channel, Channel partner, std::vector<Channel> others,
                                     Volts volts) const;
  // One tip through its switch of row 1, or 2: by the adapter's check, else against its twin.
  // Nothing where there is neither.
  [[nodiscard]] std::optional<Step> contact(const Probe& probe, bool by_row1) const;
  // The adapter's check through one switch of a channel that nothing hangs on: must say no.
  [[nodiscard]] Step no_contact(Channel channel, bool by_row1) const;
  [[nodiscard]] Step continuity(const Probe& source, const Probe& ret, std::vector<GroupId> groups,
                                std::optional<copper::Predicted> predicted) const;
  [[nodiscard]] Step isolation(std::vector<Channel> source, std::vector<Channel> ret,
                               std::vector<GroupId> groups) const;
  // The limit is that of a bridge by metal: leakage takes the test voltage.
  [[nodiscard]] Step isolation_by_current(std::vector<Channel> source, std::vector<Channel> ret,
                                          std::vector<GroupId> groups) const;
  [[nodiscard]] Step resistance(Channel source, Channel ret) const;

 private:
  [[nodiscard]] Step make(StepKind kind, std::vector<Channel> source,
                          std::vector<Channel> ret) const;

  formats::LimitKeys limits_;
  bool contact_check_;
  std::size_t placement_;
  std::size_t block_{};
};

// Appends the step to the plan and gives it the next id.
Step& add_step(Plan& plan, Step step);

}  // namespace isthmus::plan
