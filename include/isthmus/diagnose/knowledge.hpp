// SPDX-License-Identifier: Apache-2.0
// What is known of a board while it is measured: takes a reading at a time, says what to measure
// next.
#pragma once

#include <memory>

#include "isthmus/diagnose/diagnosis.hpp"
#include "isthmus/plan/predictions.hpp"

namespace isthmus::diagnose {

// What a landing was, by its own readings and proofs.
struct Landing {
  enum class Isolation { good, conducts, not_read };
  // Through the switch that was used the needle touched before and after everything that counts.
  bool held{};
  bool conducts{};           // to each clip of its own net that lies under it
  bool apart{};              // over-range to one of them
  std::optional<Ohms> ohms;  // to the first of them
  bool unread{};             // to one of them no reading is usable
  bool too_much{};           // above what the copper, and the contacts of this board, should have
  Isolation isolation{Isolation::not_read};
  std::size_t against{};  // clips of other nets
  bool operator==(const Landing&) const = default;
};

enum class WhyTouch { straddle, fingers_off, prove_clip, after_clip_lost, second_landing };
std::string_view name(WhyTouch w);  // "straddle", "fingers-off", "prove-clip", ...

// Land there, for this reason; several places may serve one reason.
struct WantedTouch {
  WhyTouch why{};
  std::vector<PointId> at;             // any of these
  std::optional<PointId> beside = {};  // while the other needle stands there
  bool operator==(const WantedTouch&) const = default;
};

// Shape   a placement is asked for what the plan has, then for what is in doubt after its
//         readings: repeats, isolation of fragments once an open is known, halving of a failed
//         isolation step down to pairs, the resistance of a bridge. What is asked for beyond the
//         plan joins it, with the next ids. Terminates: each distinct (kind, channels) is asked for
//         at most three times.
// Cost    of take: none that grows with the readings before. Of next beyond the plan: once over the
//         board's wiring and what conducted on it so far, and the placement's own readings.
class Knowledge {
 public:
  Knowledge(const expect::Board& board, plan::Plan plan);
  ~Knowledge();
  Knowledge(const Knowledge&) = delete;
  Knowledge& operator=(const Knowledge&) = delete;

  // What the placement's steps should measure, before they are: plan::Predictions::predict. Gives
  // the steps that have a prediction now.
  std::vector<plan::Step> predict(std::size_t placement, plan::Predictions& predictions,
                                  const std::function<bool()>& stop);
  // Of a step of the plan, in order of arrival.
  void take(const plan::Reading& reading);
  // Of the trial in the air, if one was made: before or after any reading.
  void take(Harness harness);
  // Its wires and tips were heard apart in the air. REQUIRES that none of its readings was taken.
  void tried_in_air(std::size_t placement);
  // What is to be measured now; empty when the placement has told all it can. REQUIRES that what
  // was given before was measured.
  std::vector<plan::Step> next(std::size_t placement);

  // A landing of a needle joins the plan; its steps do with append(). Gives its index.
  std::size_t land(plan::Placement placement);
  // With the next ids and a block of their own, as if they had been wanted. REQUIRES steps of one
  // placement that was landed.
  std::vector<plan::Step> append(std::vector<plan::Step> steps);
  [[nodiscard]] std::size_t next_block() const;
  // Nothing that was read in that landing counts, from now on.
  void take_back(std::size_t placement, std::string why);
  // What was read of these points' copper so far counts for nothing, from now on; of other copper it
  // does.
  void rework(std::vector<PointId> points);
  // What one landing told. Of what was taken since the last next() or landing() too.
  [[nodiscard]] Landing landing(std::size_t placement, plan::Channel needle);
  // What the clips of a round, and landings that heard what others did not, still ask for.
  // At the end of a round also the proofs that its isolation readings still lack.
  [[nodiscard]] std::vector<WantedTouch> wanted_touches(std::size_t round, bool at_end) const;
  // Clips of that round that no needle conducted to, or that were heard to be gone since.
  [[nodiscard]] std::vector<plan::Channel> unproven_clips(std::size_t round);
  [[nodiscard]] expect::Facts facts() const;
  // Share of all likelihood that is excluded; and entries that cannot be told yet.
  [[nodiscard]] std::pair<double, std::size_t> excluded() const;

  [[nodiscard]] const plan::Plan& plan() const;  // what was wanted included
  [[nodiscard]] const std::vector<plan::Reading>& readings() const;
  [[nodiscard]] Diagnosis diagnosis(bool complete) const;  // as diagnose()

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace isthmus::diagnose
