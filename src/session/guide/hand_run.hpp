// SPDX-License-Identifier: Apache-2.0
// One run by hand in the record: landings measured, one after the other.
#pragma once

#include <map>

#include "isthmus/diagnose/knowledge.hpp"
#include "isthmus/plan/landing.hpp"
#include "isthmus/session/guide.hpp"
#include "session/measurer.hpp"

namespace isthmus::session {

// What copper between two touched places should read. One piece is solved at a time.
class Foretold {
 public:
  explicit Foretold(const expect::Board& board, Nanometres tip);
  std::optional<copper::Predicted> between(const plan::Probe& a, const plan::Probe& b);
  [[nodiscard]] bool knows(const plan::Probe& a, const plan::Probe& b) const {
    return known_.contains(std::minmax(End{a.point, a.side}, End{b.point, b.side}));
  }

 private:
  using End = std::pair<PointId, Side>;
  const expect::Board& board_;
  Nanometres tip_;
  std::unique_ptr<plan::Resistances> resistances_;
  std::size_t piece_{SIZE_MAX};
  std::map<std::pair<End, End>, std::optional<copper::Predicted>> known_;
};

class HandRun final : private Journal {
 public:
  struct With {
    const expect::Board& board;
    adapter::Instrument& instrument;
    record::Record& record;
    record::RunId id;
    std::function<bool()> interrupted;
  };
  // `carried` are readings of another run of the same plan, in order.
  HandRun(const With& with, plan::Plan plan, const std::vector<plan::Reading>& carried);
  HandRun(const HandRun&) = delete;
  HandRun& operator=(const HandRun&) = delete;

  struct Landed {
    std::size_t placement{};
    diagnose::Landing what;
    std::optional<copper::Predicted> predicted;  // to the first clip of its own net
  };
  // Measures a needle that stands. Where its contact was lost meanwhile, its readings are taken back.
  Landed land(plan::Placement placement, plan::Channel needle, plan::AtLanding known);
  void take_back(std::size_t placement, const std::string& why);
  // What was read of these points' copper counts for nothing any longer.
  void rework(const std::vector<PointId>& points);
  // What it will be asked; so that nothing is solved while somebody holds still.
  // False where it knew already.
  bool foretell(const plan::Placement& placement, plan::Channel needle);
  void in_air(bool tried) { tried_in_air_ = tried; }

  void stop(Problem why) { measurer_.end(std::move(why)); }
  [[nodiscard]] bool ended() const { return measurer_.ended(); }
  [[nodiscard]] diagnose::Knowledge& knowledge() { return knowledge_; }
  [[nodiscard]] MeasurerSetup bare_setup() const;  // for readings that are not kept

  // Rounds and landings of the run before.
  [[nodiscard]] std::size_t first_round() const { return first_round_; }
  [[nodiscard]] bool resuming() const { return carried_ > 0; }
  // Resistances between the same places then and now.
  struct Agreement {
    std::size_t compared{}, differing{};
  };
  [[nodiscard]] Agreement agreement() const;
  void settle_carried(bool holds);
  [[nodiscard]] const std::vector<std::string>& remarks() const { return remarks_; }

  Outcome finish(bool complete);

 private:
  Result<Done> write(const plan::Reading& reading) override;
  MeasurerSetup measurer_setup();
  void measure(std::vector<plan::Step> steps, bool gently);
  void record_new_steps();
  [[nodiscard]] bool proves_itself(const plan::Placement& p, plan::Channel needle) const;

  With with_;
  std::size_t first_round_{}, carried_{}, carried_placements_{};
  std::vector<std::string> remarks_;
  diagnose::Knowledge knowledge_;
  Foretold foretold_;
  Measurer measurer_;
  std::size_t recorded_{};  // steps of the plan
  std::size_t booked_{};
  bool tried_in_air_{false};
};

}  // namespace isthmus::session
