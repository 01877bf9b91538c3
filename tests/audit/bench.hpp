// SPDX-License-Identifier: Apache-2.0
// An ideal bench: answers the steps of a plan from the raster alone. Tips always touch, meters
// never err, copper has just the resistance that was predicted.
#pragma once

#include <map>
#include <optional>
#include <vector>

#include "isthmus/diagnose/knowledge.hpp"
#include "tests/audit/faulty.hpp"

namespace isthmus::audit {

// REQUIRES: the raster outlives it.
class Bench {
 public:
  Bench(const Raster& raster, const std::vector<plan::Placement>& placements, int wires);

  [[nodiscard]] plan::Outcome answer(const plan::Step& step, const Faulty& board) const;
  // What lies under each contact now.
  [[nodiscard]] std::vector<Label> labels(const Faulty& board) const;
  // The same with labels by first appearance: equal for two faults, equal runs.
  [[nodiscard]] std::vector<Label> signature(const Faulty& board) const;
  // kNone where the placement has no such channel.
  [[nodiscard]] std::uint32_t contact(std::size_t placement, plan::Channel channel) const;

 private:
  struct Contact {
    std::vector<Cell> cells;  // nearest first, all of one conductor
    std::optional<std::size_t> metal;
    Label good{kNone};
  };
  [[nodiscard]] Contact contact_of(const plan::Probe& probe) const;
  [[nodiscard]] Label under(const Contact& contact, const Faulty& board) const;
  [[nodiscard]] std::vector<Label> under(const plan::Step& step,
                                         const std::vector<plan::Channel>& channels,
                                         const Faulty& board) const;

  const Raster& raster_;
  int wires_;
  std::map<std::pair<std::size_t, plan::Channel>, std::uint32_t> contact_;  // twins share one
  std::vector<Contact> contacts_;
};

// As a session: the plan's steps placement by placement, with what the diagnosis wants of each.
struct IdealRun {
  diagnose::Diagnosis diagnosis;
  plan::Plan plan;  // with the wanted steps
  std::vector<plan::Reading> readings;
};
IdealRun run_ideal(const expect::Board& board, plan::Plan plan, const Bench& bench,
                   const Faulty& copper);

}  // namespace isthmus::audit
