// SPDX-License-Identifier: Apache-2.0
// What an audit of one board and fixture holds in hand.
#pragma once

#include <optional>

#include "tests/audit/audit.hpp"
#include "tests/audit/circuits.hpp"
#include "tests/audit/harm.hpp"

namespace isthmus::audit {

class Auditor {
 public:
  Auditor(const expect::Board& board, plan::Plan plan, const AuditWish& wish);
  Auditor(const Auditor&) = delete;
  Auditor& operator=(const Auditor&) = delete;

  Audit run();
  StepAudit without_each_step();

 private:
  void good_run();
  [[nodiscard]] std::vector<Fault> single_faults() const;
  // By step: a harmful fault that no other step tells.
  std::map<std::size_t, Fault> told_by_one();
  // The verdict with this step left out of the plan.
  [[nodiscard]] diagnose::Verdict without(std::size_t step, const Fault& fault);
  void judge(const Fault& fault);
  void judge_slit(const Fault& slit, const std::vector<Fault>& splashes);
  [[nodiscard]] bool passes();  // with what is applied now
  [[nodiscard]] Escape described(const Fault& fault, const Harm& harm) const;
  [[nodiscard]] std::vector<std::string> would_tell(const Harm& harm) const;

  const expect::Board& board_;
  plan::Plan plan_;
  AuditWish wish_;
  Raster raster_;
  Places places_;
  Faulty faulty_, scratch_;
  Bench bench_;
  Circuits circuits_;
  diagnose::Diagnosis good_;
  std::set<std::string> untested_nets_;
  std::map<std::vector<Label>, bool> passed_;  // by signature
  std::vector<Silent> silent_;
  Audit out_;
};

}  // namespace isthmus::audit
