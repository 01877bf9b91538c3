// SPDX-License-Identifier: Apache-2.0
// The steps of one placement: contacts, continuity, isolation, controls.
#pragma once

#include <utility>

#include "isthmus/plan/step_maker.hpp"

namespace isthmus::plan {

// The probes of one group in a placement.
struct GroupInPlacement {
  GroupId group{};
  std::vector<std::size_t> probes;  // indices into Placement::probes, the representative first
};

// Ascending by group; a point without copper has none.
std::vector<GroupInPlacement> groups_in(const expect::Board& board, const Placement& placement);

// One isolation test: these groups against those. Every two groups present that must not conduct,
// near or far, are on opposite sides of at least one.
struct Partition {
  std::vector<std::size_t> source, ret;  // indices into the list of groups
};
std::vector<Partition> partitions(const expect::Board& board,
                                  const std::vector<GroupInPlacement>& groups);

class StepBuilder {
 public:
  StepBuilder(const expect::Board& board, const Means& means, int channels, Plan& plan);
  void placement(std::size_t index);  // appends the steps of that placement

 private:
  [[nodiscard]] const Probe& probe(const GroupInPlacement& g, std::size_t k) const;
  [[nodiscard]] std::vector<Channel> channels_of(const std::vector<std::size_t>& groups) const;
  [[nodiscard]] std::vector<GroupId> ids_of(const Partition& p) const;
  void voltages();
  void by_current(const std::vector<Partition>& parts);
  void references(Volts volts);
  void check_says_no();
  void contacts(bool closing);
  void contact(const Probe& p, bool by_row1, bool closing);
  void conducts(const Probe& a, const Probe& b, std::vector<GroupId> groups);
  void continuity(const GroupInPlacement& g);
  void ties();
  void isolation(const std::vector<Partition>& parts, bool closing);
  // A second channel on the group's copper, by the drawing.
  [[nodiscard]] std::optional<Channel> partner(std::size_t group) const;
  void loaded(const std::vector<Partition>& parts);
  void nothing_conducts();
  void controls(const std::vector<Partition>& parts);

  const expect::Board& board_;
  Means means_;
  int channels_;
  Plan& plan_;
  StepMaker make_;  // of the placement
  std::vector<GroupInPlacement> groups_;
  std::vector<bool> isolated_;  // by index of groups_: takes part in an isolation step
  std::size_t placement_{};
  std::size_t block_{};
};

}  // namespace isthmus::plan
