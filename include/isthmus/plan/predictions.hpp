// SPDX-License-Identifier: Apache-2.0
// What the copper between the tips of a plan's steps should measure: asked for when it is wanted,
// never for the plan itself.
#pragma once

#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "isthmus/plan/plan.hpp"

namespace isthmus::plan {

// Who solves it: the field of the board's copper, or in tests what counts the questions.
class Resistances {
 public:
  virtual ~Resistances() = default;
  // Islands with the same number hang together: one solution serves them.
  [[nodiscard]] virtual std::size_t piece_of(IslandId island) const = 0;
  virtual std::optional<copper::Predicted> between(const copper::Electrode& a,
                                                   const copper::Electrode& b) = 0;
  // Frees what was solved. A later question has the same answer.
  virtual void forget() = 0;
};
// Quick (copper::Fidelity). Borrows the board; solves nothing before the first question.
std::unique_ptr<Resistances> resistances_of(const expect::Board& board);

// Fills in `predicted` of a plan's continuity steps, a piece of copper at a time, between tips of the
// fixture's diameter at the probes' own places. Only the numbers are kept.
//
// Shape   each planned step is asked for once, of one plan. A step without copper under both tips,
//         or whose copper does not hang together, stays without; so does what the diagnosis wants,
//         which has its prediction from what was heard before.
// Cost    one solution a piece of copper, over all placements; one is held at a time.
class Predictions {
 public:
  explicit Predictions(const expect::Board& board);
  Predictions(const expect::Board& board, std::unique_ptr<Resistances> resistances);

  // For the steps of this placement, and of every other on the same copper. Before each piece
  // `stop` is asked, which may be empty: true leaves the rest for later.
  //
  // Shape   the steps that have a prediction now and had none, ascending.
  std::vector<StepId> predict(Plan& plan, std::size_t placement,
                              const std::function<bool()>& stop = {});
  // For all placements. `progress(done, of)` pieces; may be empty.
  std::vector<StepId> predict(Plan& plan,
                              const std::function<void(std::size_t, std::size_t)>& progress = {});

 private:
  struct Question {
    std::size_t piece{}, step{};  // step: index into the plan's
    copper::Electrode from, to;
  };
  using Questions = std::span<const Question>;  // of one piece

  [[nodiscard]] std::vector<Question> questions(const Plan& plan) const;
  [[nodiscard]] std::optional<copper::Electrode> electrode(const Plan& plan, const Step& step,
                                                           Channel channel) const;
  void answer(Plan& plan, Questions questions, std::vector<StepId>& told);

  const expect::Board& board_;
  std::unique_ptr<Resistances> resistances_;
  std::vector<bool> asked_;  // by index of the plan's steps
};

}  // namespace isthmus::plan
