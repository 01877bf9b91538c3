// SPDX-License-Identifier: Apache-2.0
#include "plan/reach.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "plan/ideal.hpp"

namespace isthmus::plan {
namespace {

class Reach {
 public:
  Reach(const expect::Board& board, const std::vector<Placement>& placements,
        const expect::Derived& derived, const std::vector<bool>& no_touch)
      : board_(board), derived_(derived), no_touch_(no_touch) {
    for (const Placement& p : placements) {
      for (const Probe& probe : p.probes) probed_.insert(probe.point);
    }
  }

  std::vector<Untested> report() {
    for (std::size_t i = 0; i < board_.expectation.points.size(); ++i) {
      const PointId id{static_cast<std::uint32_t>(i)};
      const expect::Point& point = board_.expectation.point(id);
      if (!point.required || point.waived) continue;
      if (!point.group) {
        list_.push_back({point.net, {point.id}, "no copper in the artwork"});
      } else if (!probed_.contains(id)) {
        list_.push_back({point.net, {point.id}, "not-reached: no probe"});
      }
    }
    for (const expect::WouldTell& w : derived_.would_tell) {
      if (!no_touch_[w.entry]) report(w);
    }
    report_untouchable();
    return std::move(list_);
  }

 private:
  void report(const expect::WouldTell& w) {
    const expect::PossibleFault& f = board_.faults.entries[w.entry];
    if (f.waived) return;
    Untested u{net_of(f.piece), {}, ""};
    for (const std::uint32_t node : {w.p, w.q}) {
      if (node == expect::Wiring::kNone || board_.faults.points_of_node[node].empty()) continue;
      u.points.push_back(board_.expectation.point(board_.faults.points_of_node[node].front()).id);
    }
    if (expect::is_break(f.kind)) {
      u.why = "not-tied: no placement ties these together";
    } else {
      u.why = fmt::format("not-reached: no placement probes {} and {} together", net_of(f.piece),
                          net_of(f.other));
    }
    if (said_.insert({u.net, u.points, u.why}).second) list_.push_back(std::move(u));
  }

  // One line for all of a net, or of two: the run lists each of them.
  void report_untouchable() {
    std::map<std::string, std::vector<const expect::PossibleFault*>> of_nets;
    for (std::size_t e = 0; e < derived_.state.size(); ++e) {
      const expect::PossibleFault& f = board_.faults.entries[e];
      if (!no_touch_[e] || f.waived || derived_.state[e] != expect::FaultState::cannot_tell)
        continue;
      of_nets[expect::is_break(f.kind) ? net_of(f.piece)
                                       : net_of(f.piece) + " and " + net_of(f.other)]
          .push_back(&f);
    }
    for (const auto& [nets, faults] : of_nets) list_.push_back({nets, {}, no_touch(faults)});
  }

  [[nodiscard]] std::string no_touch(
      const std::vector<const expect::PossibleFault*>& faults) const {
    const expect::PossibleFault& first = *faults.front();
    const bool one = faults.size() == 1;
    return fmt::format(
        "no-touch: no touch can tell of {} possible {}{}, {}at ({:.2f}, {:.2f}) mm {}: look at {}, "
        "or waive {} by name",
        faults.size(), expect::is_break(first.kind) ? "break" : "bridge", one ? "" : "s",
        one ? "" : "the first ", to_mm(first.at.x), to_mm(first.at.y),
        expect::side_name(first, board_.copper.layers), one ? "it" : "them", one ? "it" : "them");
  }

  [[nodiscard]] std::string net_of(std::uint32_t piece) const {
    const auto& groups = board_.faults.groups_of_piece[piece];
    if (!groups.empty()) return board_.expectation.group(groups.front()).net;
    return fmt::format("#{}", index(board_.faults.islands_of_piece[piece].front()));
  }

  const expect::Board& board_;
  const expect::Derived& derived_;
  const std::vector<bool>& no_touch_;  // by entry
  std::set<PointId> probed_;
  std::set<std::tuple<std::string, std::vector<std::string>, std::string>> said_;
  std::vector<Untested> list_;
};

}  // namespace

std::vector<Untested> out_of_reach(const expect::Board& board,
                                   const std::vector<Placement>& placements,
                                   const expect::Derived& derived,
                                   const std::vector<bool>& no_touch) {
  return Reach(board, placements, derived, no_touch).report();
}

std::vector<Untested> out_of_reach(const expect::Board& board,
                                   const std::vector<Placement>& placements, bool contact_check) {
  return out_of_reach(
      board, placements,
      expect::derive(board.faults.wiring, ideal_facts(board, placements, contact_check)),
      expect::told_by_no_touch(board.faults.wiring));
}

}  // namespace isthmus::plan
