// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>

#include "plan/hand/bounds.hpp"
#include "plan/hand/left.hpp"
#include "plan/hand/replay.hpp"

namespace isthmus::plan {
namespace hand {
namespace {

// More rounds of clips than this nobody fits.
constexpr std::size_t kMostRounds = 40;

std::size_t tips_of(const HandMeans& means) {
  return static_cast<std::size_t>(means.needles) + (means.forked ? 1 : 0);
}

// The last channels.
std::vector<Needle> needles_of(const HandMeans& means) {
  auto channel = static_cast<Channel>(static_cast<std::size_t>(means.channels) - tips_of(means));
  std::vector<Needle> needles;
  for (int n = 0; n < means.needles; ++n) {
    Needle needle;
    needle.channel = ++channel;
    if (n == 0 && means.forked) needle.fork = ++channel;
    needles.push_back(needle);
  }
  return needles;
}

Problem problem(std::string code, std::string message, std::string hint) {
  Problem p;
  p.code = std::move(code);
  p.message = std::move(message);
  p.hint = std::move(hint);
  return p;
}

std::optional<Problem> wrong_means(const HandMeans& means) {
  const std::size_t tips = tips_of(means);
  if (means.channels >= static_cast<int>(tips) && means.channels >= 2) return std::nullopt;
  return problem("HND-001",
                 fmt::format("{} channels are too few for {} tip{} in the hand", means.channels,
                             tips, tips == 1 ? "" : "s"),
                 "one needle takes a channel, a forked one two; with two channels: --needles 2");
}

class Planner {
 public:
  Planner(const expect::Board& board, const HandMeans& means, const ClipWish& wish)
      : board_(board), means_(means), wish_(wish), demand_(demand_of(board)) {
    work_.ties = means.needles < 2;
    work_.both_ends = proof_of(means) == Proof::none;
    const auto clips = static_cast<std::size_t>(means.channels) - tips_of(means);
    for (std::size_t c = 1; c <= clips; ++c) work_.channels.push_back(static_cast<Channel>(c));
    holds_ = holds_of(board, demand_, wish.struck_out);
  }

  [[nodiscard]] std::optional<Problem> wrong_clip() const;
  // No clip on a hole whose ends must be read to each other: such a clip wants a round without it.
  void only_whole() {
    std::erase_if(holds_, [](const Hold& h) { return !h.whole; });
  }

  HandPlan run() {
    needs_ = needs_after(board_, demand_, facts_, {}, held_);
    while (plan_.rounds.size() < kMostRounds && needs_.any()) {
      if (!add_round()) break;
    }
    count();
    return std::move(plan_);
  }

 private:
  // False where it would prove nothing more.
  bool add_round() {
    Round round;
    round.needles = needles_of(means_);
    const bool given = plan_.rounds.empty() && !wish_.fixed.empty();
    round.clips = given ? wish_.fixed : choose_clips(usable_holds(), needs_, work_);
    std::ranges::sort(round.clips, {}, &HandClip::channel);
    const std::set<PointId> held_before = held_;
    for (const HandClip& c : round.clips) {
      for (const PointId p : under(board_, c)) held_.insert(p);
    }
    expect::Facts facts;
    Needs left;
    for (int attempt = 0; attempt < 4; ++attempt) {
      round.touches = make_touches(board_, means_, demand_, needs_, round.clips, std::nullopt);
      facts = facts_;
      add_facts(board_, means_, round, round.touches.size(), facts);
      left = needs_after(board_, demand_, facts, {}, held_);
      if (left.any()) break;
      const expect::Derived derived = expect::derive(board_.faults.wiring, facts);
      if (!add_asked(board_, derived, demand_)) {
        left.places = asked_under_clips(demand_, derived);
        break;
      }
      needs_ = needs_after(board_, demand_, facts_, {}, held_before);
    }
    if (round.touches.empty() || weight(left) >= weight(needs_)) return false;
    facts_ = std::move(facts);
    needs_ = std::move(left);
    plan_.rounds.push_back(std::move(round));
    return true;
  }

  // A hook that ties both ends of a hole which must be read to each other served once: what it
  // left is told without it.
  [[nodiscard]] std::vector<Hold> usable_holds() const {
    if (plan_.rounds.empty()) return holds_;
    std::vector<Hold> whole;
    for (const Hold& h : holds_) {
      if (h.whole) whole.push_back(h);
    }
    return whole;
  }

  [[nodiscard]] static std::size_t weight(const Needs& n) {
    return n.places.size() + n.pairs.size();
  }

  // What the rounds do, of all that is asked for.
  [[nodiscard]] Demand told() const {
    Demand done = demand_;
    std::erase_if(done.places, [&](const Place& p) {
      return std::ranges::find(needs_.places, p) != needs_.places.end();
    });
    std::erase_if(done.pairs, [&](const PiecePair& p) { return needs_.pairs.contains(p); });
    return done;
  }

  void count() {
    std::set<PiecePair> open = demand_.pairs;
    std::set<PieceId> pieces;
    for (const Place& p : demand_.places) pieces.insert(p.piece);
    for (const Round& r : plan_.rounds) {
      plan_.touches += r.touches.size();
      plan_.unnoticed += unnoticed(board_, means_, r);
      const auto clipped = clipped_pieces(board_, r.clips);
      std::erase_if(open, [&](const PiecePair& p) {
        return clipped.contains(p.first) || clipped.contains(p.second);
      });
    }
    plan_.places = demand_.places.size();
    plan_.groups = pieces.size();
    plan_.pairs = demand_.pairs.size();
    plan_.pairs_unclipped = open.size();
    const Demand done = told();
    plan_.bound = bound_with(board_, done, means_, plan_.rounds);
    std::size_t most = 1;
    for (const Hold& h : holds_) most = std::max(most, h.pieces.size());
    plan_.free_bound = std::min(
        plan_.bound, bound_without(done, means_, work_.channels.size(), plan_.rounds.size(), most));
    const Minutes m = minutes_of(demand_, plan_.rounds);
    plan_.minutes_low = m.low;
    plan_.minutes_high = m.high;
    plan_.cannot_tell = replay(board_, means_, plan_.rounds);
  }

  const expect::Board& board_;
  const HandMeans& means_;
  const ClipWish& wish_;
  Demand demand_;
  ClipWork work_;
  std::vector<Hold> holds_;
  expect::Facts facts_;     // of the rounds so far
  std::set<PointId> held_;  // under a clip in one of them
  Needs needs_;
  HandPlan plan_;
};

std::optional<Problem> Planner::wrong_clip() const {
  std::set<Channel> used;
  for (const HandClip& clip : wish_.fixed) {
    const std::string& id = board_.expectation.point(clip.point).id;
    if (std::ranges::find(work_.channels, clip.channel) == work_.channels.end() ||
        !used.insert(clip.channel).second)
      return problem("HND-004",
                     fmt::format("channel {} cannot hold the clip on {}", clip.channel, id),
                     fmt::format("clips have channels 1 to {}, each once; the last ones are the "
                                 "needles'",
                                 work_.channels.size()));
    if (!can_hold(board_, clip))
      return problem("HND-002", fmt::format("nothing can hold a clip on {}", id),
                     "choose a hole of 0.6 mm or more, or a pad of 1 mm or more, with copper on "
                     "that side");
    for (const Place& p : demand_.places) {
      if (in_reach(board_, clip, p) || lies_under(board_, clip, p.point)) continue;
      return problem("HND-003",
                     fmt::format("the clip on {} hides {}, which has to be touched", id,
                                 board_.expectation.point(p.point).id),
                     "clip it from the other side, or choose another place");
    }
  }
  return std::nullopt;
}

}  // namespace
}  // namespace hand

Result<HandPlan> plan_by_hand(const expect::Board& board, const HandMeans& means,
                              const ClipWish& wish, Diagnostics& /*notes*/) {
  if (auto wrong = hand::wrong_means(means)) return *wrong;
  hand::Planner planner(board, means, wish), without_ties = planner;
  if (auto wrong = planner.wrong_clip()) return *wrong;
  HandPlan plan = planner.run();
  if (plan.rounds.size() < 2 || !wish.fixed.empty()) return plan;
  without_ties.only_whole();
  HandPlan other = without_ties.run();
  // A round more is a bother that minutes do not count.
  constexpr double kWorthARound = 1.1;
  const bool better = other.cannot_tell.size() <= plan.cannot_tell.size() &&
                      other.rounds.size() <= plan.rounds.size() &&
                      other.minutes_high < plan.minutes_high * kWorthARound;
  return better ? other : plan;
}

std::vector<Touch> touches_left(const expect::Board& board, const Round& round,
                                const HandMeans& means, const expect::Facts& known,
                                std::span<const PointId> cannot_reach,
                                std::span<const Position> needles_at) {
  hand::Demand demand = hand::demand_of(board);
  std::erase_if(demand.places, [&](const hand::Place& p) {
    return std::ranges::find(cannot_reach, p.point) != cannot_reach.end();
  });
  std::set<PointId> held;
  for (const HandClip& c : round.clips) {
    for (const PointId p : hand::under(board, c)) held.insert(p);
  }
  const hand::Needs needs = hand::needs_after(board, demand, known, round.clips, held);
  std::optional<hand::Place> from;
  if (!needles_at.empty()) {
    from.emplace();
    from->at = needles_at.front();
    from->side = round.touches.empty() ? Side::top : round.touches.front().side;
  }
  return hand::make_touches(board, means, demand, needs, round.clips, from);
}

}  // namespace isthmus::plan
