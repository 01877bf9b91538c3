// SPDX-License-Identifier: Apache-2.0
#include "plan/hand/choose_clips.hpp"

#include <algorithm>
#include <map>
#include <tuple>

namespace isthmus::plan::hand {
namespace {

class Chooser {
 public:
  Chooser(const std::vector<Hold>& holds, const Needs& needs, const ClipWork& work)
      : holds_(holds), work_(work) {
    for (const auto& [a, b] : needs.pairs) {
      next_[a].push_back(b);
      next_[b].push_back(a);
    }
    for (const Place& p : needs.places) ++places_[p.piece];
  }

  std::vector<HandClip> run() {
    while (chosen_.size() < work_.channels.size()) {
      const auto best = best_hold();
      if (!best) break;
      take(*best);
    }
    while (exchange()) {
    }
    return numbered();
  }

 private:
  using Index = std::size_t;

  // Landings that it saves, beside its own.
  [[nodiscard]] std::size_t gain(Index h) const {
    std::size_t sum = 0;
    for (const PieceId piece : holds_[h].pieces) {
      if (clipped_.contains(piece)) continue;
      if (const auto at = next_.find(piece); at != next_.end())
        sum += static_cast<std::size_t>(std::ranges::count_if(
            at->second, [&](PieceId other) { return !clipped_.contains(other); }));
      if (const auto at = places_.find(piece); work_.ties && at != places_.end()) sum += at->second;
    }
    return sum;
  }

  // A clip that meets none of its neighbours tells nothing of them.
  [[nodiscard]] std::size_t saved_by(Index h) const {
    if (!work_.both_ends || chosen_.empty()) return gain(h);
    std::size_t ties = 0;
    for (const PieceId p : holds_[h].pieces) ties += places_.contains(p) ? places_.at(p) : 0;
    return ties + company(h);
  }

  [[nodiscard]] std::size_t worth(Index h) const {
    const std::size_t saved = saved_by(h);
    return saved - std::min(saved, holds_[h].landings);
  }

  // How many of the piece's own pairs are clipped at the other end: kept together, they need no
  // landing of their own.
  [[nodiscard]] std::size_t company(Index h) const {
    std::size_t sum = 0;
    for (const PieceId piece : holds_[h].pieces) {
      const auto at = next_.find(piece);
      if (!work_.ties || at == next_.end()) continue;
      sum += static_cast<std::size_t>(std::ranges::count_if(
          at->second, [&](PieceId other) { return clipped_.contains(other); }));
    }
    return sum;
  }

  [[nodiscard]] bool fits(Index h) const {
    return std::ranges::all_of(chosen_, [&](Index c) {
      return distance_nm(holds_[c].at, holds_[h].at) >= static_cast<double>(kClipRoom.value) &&
             std::ranges::none_of(holds_[h].pieces, [&](PieceId p) {
               return std::ranges::find(holds_[c].pieces, p) != holds_[c].pieces.end();
             });
    });
  }

  [[nodiscard]] std::optional<Index> best_hold() const {
    std::optional<Index> best;
    std::tuple<std::size_t, bool, int> best_rank{0, false, 0};
    for (Index h = 0; h < holds_.size(); ++h) {
      const std::size_t saved = saved_by(h);
      if (saved <= holds_[h].landings) continue;
      const std::tuple rank{saved - holds_[h].landings + 2 * company(h), holds_[h].whole,
                            holds_[h].ease};
      if ((best && rank <= best_rank) || !fits(h)) continue;
      best = h;
      best_rank = rank;
    }
    return best;
  }

  void take(Index h) {
    chosen_.push_back(h);
    for (const PieceId p : holds_[h].pieces) clipped_.insert(p);
  }

  void drop(std::size_t at) {
    for (const PieceId p : holds_[chosen_[at]].pieces) clipped_.erase(p);
    chosen_.erase(chosen_.begin() + static_cast<std::ptrdiff_t>(at));
  }

  // One clip for another that saves more; false where there is none.
  bool exchange() {
    for (std::size_t at = 0; at < chosen_.size(); ++at) {
      const Index old = chosen_[at];
      drop(at);
      const std::size_t before = worth(old);
      const auto better = best_hold();
      if (better && worth(*better) > before) {
        take(*better);
        return true;
      }
      chosen_.insert(chosen_.begin() + static_cast<std::ptrdiff_t>(at), old);
      for (const PieceId p : holds_[old].pieces) clipped_.insert(p);
    }
    return false;
  }

  // Channels in the order of the points, so that wires do not cross.
  [[nodiscard]] std::vector<HandClip> numbered() const {
    std::vector<HandClip> clips;
    for (const Index h : chosen_) clips.push_back(holds_[h].clip);
    std::ranges::sort(clips, {}, [](const HandClip& c) { return c.point; });
    for (std::size_t i = 0; i < clips.size(); ++i) clips[i].channel = work_.channels[i];
    return clips;
  }

  const std::vector<Hold>& holds_;
  const ClipWork& work_;
  std::map<PieceId, std::vector<PieceId>> next_;
  std::map<PieceId, std::size_t> places_;
  std::vector<Index> chosen_;
  std::set<PieceId> clipped_;
};

}  // namespace

std::vector<HandClip> choose_clips(const std::vector<Hold>& holds, const Needs& needs,
                                   const ClipWork& work) {
  return Chooser(holds, needs, work).run();
}

}  // namespace isthmus::plan::hand
