// SPDX-License-Identifier: Apache-2.0
#include "plan/hand/replay.hpp"

#include <algorithm>

namespace isthmus::plan::hand {
namespace {

// In long rounds so many touches are asked about at once, to be quick: the last of them has what
// they settle together.
constexpr std::size_t kTogether = 4, kFew = 100;

using States = std::vector<expect::FaultState>;

class Replay {
 public:
  Replay(const expect::Board& board, const HandMeans& means, std::vector<Round>& rounds)
      : board_(board), means_(means), rounds_(rounds) {}

  std::vector<expect::EntryId> run() {
    expect::Facts facts;
    States before = states(facts);
    std::vector<std::pair<Round*, std::pair<States, States>>> ends;
    for (Round& round : rounds_) {
      base_ = facts;
      add_facts(board_, means_, round, round.touches.size(), facts);
      States after = states(facts);
      ends.push_back({&round, {before, after}});
      bases_.push_back(std::move(base_));
      before = std::move(after);
    }
    find_sum(before);
    for (std::size_t i = 0; i < ends.size(); ++i) {
      base_ = std::move(bases_[i]);
      const auto& [first, last] = ends[i].second;
      share_out(*ends[i].first, 0, ends[i].first->touches.size(), first, last);
    }
    return untold(before);
  }

 private:
  [[nodiscard]] States states(const expect::Facts& facts) const {
    return expect::derive(board_.faults.wiring, facts).state;
  }

  [[nodiscard]] bool counts(std::size_t e, const States& s) const {
    return s[e] == expect::FaultState::excluded && !board_.faults.entries[e].waived;
  }

  void find_sum(const States& last) {
    for (std::size_t e = 0; e < last.size(); ++e) {
      const expect::PossibleFault& f = board_.faults.entries[e];
      if (!f.waived && last[e] != expect::FaultState::harmless) sum_ += f.likelihood;
    }
  }

  // Halves the touches until nothing is settled between two of them, or one is left.
  void share_out(Round& round, std::size_t lo, std::size_t hi, const States& before,
                 const States& after) {
    std::size_t count = 0;
    double likelihood = 0;
    for (std::size_t e = 0; e < after.size(); ++e) {
      if (!counts(e, after) || counts(e, before)) continue;
      ++count;
      likelihood += board_.faults.entries[e].likelihood;
    }
    if (count == 0 || hi == lo) return;
    if (hi - lo <= (round.touches.size() > kFew ? kTogether : 1)) {
      round.touches[hi - 1].excludes = count;
      round.touches[hi - 1].likelihood = sum_ > 0 ? likelihood / sum_ : 0;
      return;
    }
    const std::size_t middle = (lo + hi) / 2;
    expect::Facts facts = base_;
    add_facts(board_, means_, round, middle, facts);
    const States between = states(facts);
    share_out(round, lo, middle, before, between);
    share_out(round, middle, hi, between, after);
  }

  [[nodiscard]] std::vector<expect::EntryId> untold(const States& last) const {
    std::vector<expect::EntryId> out;
    for (std::size_t e = 0; e < last.size(); ++e) {
      if (!board_.faults.entries[e].waived && last[e] == expect::FaultState::cannot_tell)
        out.push_back(static_cast<expect::EntryId>(e));
    }
    return out;
  }

  const expect::Board& board_;
  const HandMeans& means_;
  std::vector<Round>& rounds_;
  std::vector<expect::Facts> bases_;
  expect::Facts base_;  // of the rounds before
  double sum_{};
};

}  // namespace

std::vector<expect::EntryId> replay(const expect::Board& board, const HandMeans& means,
                                    std::vector<Round>& rounds) {
  return Replay(board, means, rounds).run();
}

}  // namespace isthmus::plan::hand
