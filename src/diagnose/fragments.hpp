// SPDX-License-Identifier: Apache-2.0
// The pieces that the points of each group turned out to fall into.
#pragma once

#include "diagnose/evidence.hpp"

namespace isthmus::diagnose {

// Some probes of one fragment in one placement.
struct LocalFragment {
  GroupId group{};
  PointId root{};                   // the fragment, over all placements
  std::vector<std::size_t> probes;  // indices into Placement::probes
};

class Fragments {
 public:
  Fragments(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence);

  [[nodiscard]] PointId root(PointId p) const;
  // Contact was proven in some placement, or it conducted.
  [[nodiscard]] bool measured(PointId p) const { return measured_[index(p)]; }
  // Two fragments were heard to be apart, twice, with all contacts proven.
  [[nodiscard]] bool apart(PointId a, PointId b) const;
  // Measured points only, each fragment ascending, fragments by their first point.
  [[nodiscard]] std::vector<std::vector<PointId>> of_group(GroupId g) const;
  // The fragments with probes in a placement; probes without contact are left out.
  [[nodiscard]] std::vector<LocalFragment> in_placement(std::size_t placement) const;
  // Readings of this pair contradict each other, so that the point is in doubt.
  [[nodiscard]] bool in_doubt(PointId p) const { return doubtful_[index(p)]; }

 private:
  const expect::Board& board_;
  const plan::Plan& plan_;
  const Evidence& evidence_;
  std::vector<PointId> parent_;
  std::vector<bool> measured_, doubtful_;
  std::set<std::pair<PointId, PointId>> apart_;  // of roots
};

}  // namespace isthmus::diagnose
