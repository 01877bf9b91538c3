// SPDX-License-Identifier: Apache-2.0
// The pieces that the points of each group turned out to fall into.
#pragma once

#include "diagnose/nodes.hpp"
#include "isthmus/base/sets.hpp"

namespace isthmus::diagnose {

enum class FragmentId : std::uint32_t {};

// Some probes of one fragment in one placement.
struct LocalFragment {
  GroupId group{};
  FragmentId id{};                  // over all placements
  std::vector<std::size_t> probes;  // indices into Placement::probes
};

struct Fragment {
  FragmentId id{};
  std::vector<PointId> points;  // measured ones, ascending, never empty
};

// A needle must land there again, where need be while another stands there.
struct Again {
  PointId at{};
  std::optional<PointId> beside;
  bool operator==(const Again&) const = default;
};

// A hole touched from the top and from the bottom is two ends: that both were touched says nothing
// of the join between them. They count as one only where a reading tied them, or where current must
// have run through the other side's copper (expect::derive).
class Fragments {
 public:
  Fragments(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence,
            const TouchedNodes& nodes);

  // Of its point, as touched from its side; of a clip that ties two ends, the end that was heard.
  [[nodiscard]] FragmentId fragment(const plan::Probe& probe) const;
  // The same in that placement, where a clip is of the copper whose needle conducts to it.
  [[nodiscard]] FragmentId fragment_in(std::size_t placement, const plan::Probe& probe) const;
  // Readings tied them, from whichever side.
  [[nodiscard]] bool together(PointId a, PointId b) const;
  // Contact was proven in some placement, or it conducted.
  [[nodiscard]] bool measured(PointId p) const { return measured_[index(p)]; }
  // Two fragments were heard to be apart, twice, with all contacts proven.
  [[nodiscard]] bool apart(FragmentId a, FragmentId b) const;
  [[nodiscard]] std::vector<Fragment> of_group(GroupId g) const;  // by their first point
  // Two ends that landings heard apart, both known to touch.
  [[nodiscard]] bool apart_by_hand(const plan::Probe& a, const plan::Probe& b) const {
    return high_by_hand_.contains(std::minmax(end(a), end(b)));
  }
  // What one landing heard alone, or others contradict.
  [[nodiscard]] const std::vector<Again>& again() const { return again_; }
  // The fragments with probes in a placement; probes without contact are left out.
  [[nodiscard]] std::vector<LocalFragment> in_placement(std::size_t placement) const;
  // Readings of this pair contradict each other, so that the point is in doubt.
  [[nodiscard]] bool in_doubt(PointId p) const { return doubtful_[index(p)]; }

 private:
  using End = std::size_t;  // of a point: index as touched from the top, index + n from the bottom
  struct HeardEnds {
    const plan::Probe *a, *b;
    End from, to;
    const Heard* heard;
    bool contacts_proven;
    bool by_hand;
    bool either{false};  // by a clip that ties two ends, and nothing says by which of them
  };
  // Of two ends, over all landings of needles: an open is one that two landings heard, and none
  // contradicts; one that was heard once is cleared by two that conduct.
  struct Landings {
    std::size_t high{}, conduct{};
    [[nodiscard]] bool apart() const { return high >= 2 && conduct == 0; }
    [[nodiscard]] bool doubtful() const { return high > 0 && conduct > 0 && conduct <= high; }
  };
  void note_again(const HeardEnds& h, const Landings& all);
  [[nodiscard]] static std::map<std::pair<End, End>, Landings> landings_of(
      const std::vector<HeardEnds>& heard);
  [[nodiscard]] End end(const plan::Probe& probe) const;
  [[nodiscard]] PointId point_of(End e) const;
  [[nodiscard]] End root(End e) const { return sets_.find(e); }
  [[nodiscard]] std::vector<HeardEnds> all_heard(const TouchedNodes& nodes) const;
  void find_end_of_clip(HeardEnds& heard, std::size_t placement, const TouchedNodes& nodes) const;
  [[nodiscard]] std::optional<End> end_at(PointId hole, std::uint32_t node) const;
  [[nodiscard]] std::vector<End> ends_of_hole(PointId hole) const;
  void note_touches();
  void tie_sides(const TouchedNodes& nodes);

  const expect::Board& board_;
  const plan::Plan& plan_;
  const Evidence& evidence_;
  std::size_t points_;
  Sets sets_;                  // of ends
  std::vector<bool> touched_;  // by end: under a probe with contact
  std::vector<bool> measured_, doubtful_;
  std::set<std::pair<End, End>> apart_;         // of roots
  std::set<std::pair<End, End>> high_by_hand_;  // of ends
  std::vector<Again> again_;
};

}  // namespace isthmus::diagnose
