// SPDX-License-Identifier: Apache-2.0
// Whether the controls of a block were right, so that what it reads may count.
#pragma once

#include <cstdint>
#include <vector>

#include "isthmus/plan/plan.hpp"
#include "isthmus/plan/reading.hpp"

namespace isthmus::diagnose {

// The readings of one block of one placement, in order of arrival.
class Block {
 public:
  void take(const plan::Step& step, const plan::Reading& reading);
  // After the readings so far.
  [[nodiscard]] bool good() const { return !wrong_ && guarded() && continuity_guarded(); }
  // A control of the isolation measurement read wrong.
  [[nodiscard]] bool distrusted() const { return distrusted_; }
  [[nodiscard]] const std::vector<plan::Reading>& readings() const { return readings_; }

 private:
  void take_contact(const plan::Step& step, const plan::Reading& reading);
  void take_control(const plan::Step& step, const plan::Reading& reading);
  [[nodiscard]] bool continuity_guarded() const;
  [[nodiscard]] bool guarded() const;

  std::vector<plan::Reading> readings_;
  std::uint32_t first_isolation_{UINT32_MAX}, last_isolation_{};
  std::vector<std::uint32_t> open_controls_, conducting_controls_;
  bool wrong_{false}, distrusted_{false};
  bool continuity_low_{false}, continuity_high_{false}, touched_{false};
};

}  // namespace isthmus::diagnose
