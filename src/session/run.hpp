// SPDX-License-Identifier: Apache-2.0
// One run in the record: placements laid and measured, one after the other.
#pragma once

#include "isthmus/diagnose/knowledge.hpp"
#include "isthmus/session/session.hpp"
#include "session/loop.hpp"

namespace isthmus::session {

// What a run works with.
struct Setting {
  const expect::Board& board;
  adapter::Instrument& instrument;
  record::Record& record;
  const Hooks& hooks;
};

// Which placements, and in which order, is for its driver.
class Run final : private Knowing, private Journal {
 public:
  // The record has begun a run with this head and plan. `carried` are readings of another run,
  // numbered from 0.
  Run(const Setting& with, record::RunId id, plan::Plan plan,
      const std::vector<plan::Reading>& carried = {});
  Run(const Run&) = delete;
  Run& operator=(const Run&) = delete;

  // Lays it and measures until nothing more is wanted of it. Nothing once the run has ended.
  void place(std::size_t placement);
  // It is finished, here or in the run before.
  void placement_done(std::size_t placement);
  void stop(Problem why) { measurer_.end(std::move(why)); }
  [[nodiscard]] bool ended() const { return measurer_.ended(); }
  [[nodiscard]] const diagnose::Knowledge& knowledge() const { return knowledge_; }

  // Opens the switches, gives the diagnosis, closes the run in the record.
  Outcome finish();

 private:
  std::vector<plan::Step> next() override;
  Result<Done> take(const plan::Step& step, const plan::Reading& reading) override;
  Result<Done> write(const plan::Reading& reading) override;
  void try_in_air(std::size_t placement);
  void in_air(std::size_t placement);
  bool lay(std::size_t placement);
  void predict(std::size_t placement);
  bool same_adapter();
  MeasurerSetup measurer_setup(std::size_t carried);

  Setting with_;
  record::RunId id_;
  diagnose::Knowledge knowledge_;
  plan::Predictions predictions_;
  Measurer measurer_;
  bool lifted_{false};                  // in this run
  std::size_t placements_{};            // finished
  std::size_t placement_{}, rounds_{};  // being measured; of wanted steps
};

}  // namespace isthmus::session
