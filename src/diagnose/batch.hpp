// SPDX-License-Identifier: Apache-2.0
// Steps to ask for together: a block of their own, with the controls that judge it.
#pragma once

#include <set>

#include "diagnose/asked.hpp"
#include "diagnose/isolation.hpp"
#include "isthmus/plan/step_maker.hpp"

namespace isthmus::diagnose {

// What is known and what was asked.
struct SoFar {
  const expect::Board& board;
  const plan::Plan& plan;
  const Evidence& evidence;  // settled
  const Asked& asked;
};

// Leaves out what was asked three times.
class Batch {
 public:
  Batch(const SoFar& so_far, std::size_t placement);

  void contact(Channel c);
  // Probes or their twins.
  void continuity(Channel a, Channel b, GroupId group, std::optional<copper::Predicted> predicted);
  void isolation(const Question& q);
  void isolation_by_current(const Question& q);
  void resistance(Channel a, Channel b) { add(make_.resistance(a, b)); }
  // Controls, proofs of contact around isolation, the steps, and controls again. Without ids.
  std::vector<plan::Step> finish();

 private:
  void add(plan::Step step);
  [[nodiscard]] std::vector<GroupId> groups_of(const Question& q) const;
  void prove(Channel c, std::vector<plan::Step>& into) const;
  void check_says_no(std::vector<plan::Step>& into) const;
  void load(const Question& q, std::vector<plan::Step>& into) const;
  void controls(Volts volts, std::vector<plan::Step>& into) const;

  SoFar so_far_;
  const plan::Placement& placement_;
  std::size_t index_;  // of the placement
  plan::StepMaker make_;
  std::vector<plan::Step> body_;
  std::set<Channel> isolated_, proven_;
  std::vector<Question> questions_;
};

}  // namespace isthmus::diagnose
