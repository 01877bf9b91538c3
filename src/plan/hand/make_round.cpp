// SPDX-License-Identifier: Apache-2.0
#include "plan/hand/make_round.hpp"

#include <algorithm>

#include "isthmus/plan/hand_tips.hpp"
#include "plan/hand/route.hpp"
#include "plan/hand/trail.hpp"

namespace isthmus::plan::hand {
namespace {

// What is done about one tip of a clip.
struct TipWork {
  std::vector<Place> places;     // to be touched, and tied by it
  bool returns{false};           // relied upon between two proofs: touched first and last
  bool again{false};             // ... and has one place alone, touched twice
  std::optional<Place> learned;  // where its first landing was
};

class RoundMaker {
 public:
  RoundMaker(const expect::Board& board, const HandMeans& means, const Demand& demand,
             const Needs& needs, const std::vector<HandClip>& clips)
      : board_(board),
        means_(means),
        proof_(proof_of(means)),
        seat_(board, clips),
        work_(seat_.tips().size()) {
    find_usable(demand, clips);
    for (const Tip& tip : seat_.tips()) clipped_.insert(board.faults.wiring.nodes[tip.node].piece);
    for (const Place& p : needs.places) {
      if (!is_usable(p) || is_clipped(clips, p)) continue;
      if (const auto tip = tip_of(p))
        work_[*tip].places.push_back(p);
      else if (!clipped_.contains(p.piece))
        loose_[p.piece].push_back(p);
    }
    for (const auto& [a, b] : needs.pairs) take_pair(a, b);
    for (std::size_t t = 0; t < work_.size(); ++t) find_returns(t);
  }

  std::vector<Touch> run(const std::optional<Place>& from) {
    here_ = from;
    meet_clips(false);
    meet_clips(true);
    std::vector<Place> tour = loose_singles();
    for (const TipWork& w : work_) tour.insert(tour.end(), w.places.begin(), w.places.end());
    keep_closing(tour);
    for (const Place& p : route(std::move(tour), here_)) land({0, p, false});
    for (const Leg& leg : trail()) land(leg);
    for (const Place& p : route(std::move(closing_), here_)) land({0, p, false});
    return std::move(touches_);
  }

 private:
  // Those under a clip come last: the far ring of its hole, where a piece has no other.
  void find_usable(const Demand& demand, const std::vector<HandClip>& clips) {
    for (const bool own : {false, true}) {
      for (const Place& p : demand.places) {
        if (is_clipped(clips, p) != own) continue;
        if (std::ranges::all_of(clips, [&](const HandClip& c) { return in_reach(board_, c, p); }))
          usable_[p.piece].push_back(p);
      }
    }
  }

  [[nodiscard]] bool is_clipped(const std::vector<HandClip>& clips, const Place& p) const {
    return std::ranges::any_of(clips,
                               [&](const HandClip& c) { return lies_under(board_, c, p.point); });
  }

  [[nodiscard]] bool is_usable(const Place& p) const {
    const auto at = usable_.find(p.piece);
    return at != usable_.end() && std::ranges::find(at->second, p) != at->second.end();
  }

  [[nodiscard]] std::optional<std::size_t> tip_of(const Place& p) const {
    const auto& tips = seat_.tips();
    for (std::size_t t = 0; t < tips.size(); ++t) {
      if (board_.faults.wiring.nodes[tips[t].node].piece == p.piece &&
          seat_.says(tips[t].node, p.node))
        return t;
    }
    return std::nullopt;
  }

  void take_pair(PieceId a, PieceId b) {
    const bool ca = clipped_.contains(a), cb = clipped_.contains(b);
    if (!ca && !cb) {
      if (can_meet(means_) && usable_.contains(a) && usable_.contains(b)) meet_.insert({a, b});
      return;
    }
    partners_[a].insert(b);
    partners_[b].insert(a);
    const PieceId loose = ca ? b : a;
    if (!(ca && cb) && usable_.contains(loose)) wanted_.insert(loose);
  }

  // Whether the clip's isolation counts only between two landings on its copper.
  [[nodiscard]] bool framed(std::size_t t) const {
    return !means_.contact_check || seat_.tips()[t].one_side;
  }

  // A tip with one landing alone can be read to those that are framed by two; else it is touched
  // twice itself.
  void find_returns(std::size_t t) {
    TipWork& w = work_[t];
    const PieceId piece = board_.faults.wiring.nodes[seat_.tips()[t].node].piece;
    if (w.places.empty() && !partners_.contains(piece)) return;  // nothing is read to it
    if (w.places.empty()) {
      for (const Place& p : usable_[piece]) {
        if (w.places.empty() && seat_.says(seat_.tips()[t].node, p.node)) w.places.push_back(p);
      }
    }
    if (!framed(t) || w.places.empty()) return;
    w.returns = w.places.size() > 1;
    if (w.returns) return;
    w.again = std::ranges::any_of(partners_[piece], [&](PieceId other) {
      return !clipped_.contains(other) || !has_two(other, t);
    });
    w.returns = w.again;
  }

  // Whether a clip of the piece is framed by now, or will be by landings of its own.
  [[nodiscard]] bool has_two(PieceId piece, std::size_t than) const {
    for (std::size_t t = 0; t < work_.size(); ++t) {
      if (board_.faults.wiring.nodes[seat_.tips()[t].node].piece != piece) continue;
      if (!framed(t) || work_[t].places.size() > 1 || (t < than && work_[t].again)) return true;
    }
    return false;
  }

  // The first landing on each clip's copper; those touched once alone come after those framed by
  // two.
  void meet_clips(bool once) {
    std::set<std::size_t> left;
    for (std::size_t t = 0; t < work_.size(); ++t) {
      const bool late = framed(t) && !work_[t].returns;
      if (!work_[t].places.empty() && late == once) left.insert(t);
    }
    while (!left.empty()) {
      std::optional<std::pair<std::size_t, std::size_t>> best;  // tip, its place
      double best_way = 0;
      for (const std::size_t t : left) {
        for (std::size_t i = 0; i < work_[t].places.size(); ++i) {
          const double way = here_ ? travel(*here_, work_[t].places[i]) : 0;
          if (best && way >= best_way) continue;
          best = {t, i};
          best_way = way;
        }
      }
      TipWork& w = work_[best->first];
      w.learned = w.places[best->second];
      land({0, *w.learned, false});
      w.places.erase(w.places.begin() + static_cast<std::ptrdiff_t>(best->second));
      left.erase(best->first);
    }
  }

  // Pieces that one landing of a needle is enough for.
  std::vector<Place> loose_singles() {
    std::vector<Place> out;
    if (proof_ == Proof::none || proof_ == Proof::each_other) return out;
    for (auto& [piece, usable] : usable_) {
      if (clipped_.contains(piece) || meets_others(piece)) continue;
      const auto at = loose_.find(piece);
      const std::size_t asked = at == loose_.end() ? 0 : at->second.size();
      if (means_.needles == 2 && asked > 1) continue;
      const bool lone = asked == 1 && usable.size() == 1;
      if (asked == 1 || wanted_.contains(piece) || lone)
        out.push_back(asked > 0 ? at->second.front() : usable.front());
      if (at != loose_.end()) loose_.erase(at);
    }
    return out;
  }

  [[nodiscard]] bool meets_others(PieceId p) const {
    return std::ranges::any_of(meet_,
                               [&](const PiecePair& m) { return m.first == p || m.second == p; });
  }

  std::vector<Leg> trail() {
    if (means_.needles < 2) return {};
    TrailWork work;
    work.from = here_;
    work.pairs = meet_;
    for (auto& [piece, usable] : usable_) {
      if (clipped_.contains(piece)) continue;
      const auto at = loose_.find(piece);
      const bool asked = at != loose_.end();
      const bool needed =
          asked || meets_others(piece) || (proof_ == Proof::each_other && wanted_.contains(piece));
      if (!needed) continue;
      work.places[piece] = asked ? at->second : std::vector<Place>{usable.front()};
      for (const Place& p : usable) {
        if (std::ranges::find(work.places[piece], p) == work.places[piece].end())
          work.spare[piece].push_back(p);
      }
    }
    if (proof_ == Proof::itself) return walk_of_two(std::move(work));
    if (proof_ == Proof::fork) return walk_of_fork(std::move(work));
    return ties_of_two(std::move(work));
  }

  // One place of each clip that is relied upon between two proofs goes to the end.
  void keep_closing(std::vector<Place>& tour) {
    for (TipWork& w : work_) {
      if (!w.returns) continue;
      const Place last = w.places.empty() ? *w.learned : w.places.back();
      std::erase(tour, last);
      closing_.push_back(last);
    }
  }

  void land(const Leg& leg) {
    Touch t;
    t.needle = leg.needle;
    t.point = leg.place.point;
    t.side = leg.place.side;
    t.at = leg.place.at;
    t.other_stands = leg.other_stands;
    touches_.push_back(t);
    here_ = leg.place;
  }

  const expect::Board& board_;
  const HandMeans& means_;
  Proof proof_;
  Seat seat_;
  std::vector<TipWork> work_;                      // by tip
  std::map<PieceId, std::vector<Place>> usable_;   // not under a clip, nor beside one
  std::map<PieceId, std::vector<Place>> loose_;    // asked for, of pieces without a clip
  std::map<PieceId, std::set<PieceId>> partners_;  // pairs with a clip at one end at least
  std::set<PiecePair> meet_;                       // pairs for two needles
  std::set<PieceId> clipped_, wanted_;  // wanted: must be read to clips, holds none itself
  std::optional<Place> here_;
  std::vector<Place> closing_;
  std::vector<Touch> touches_;
};

}  // namespace

Proof proof_of(const HandMeans& means) {
  if (means.contact_check || (means.forked && means.needles == 1)) return Proof::itself;
  if (means.needles < 2) return Proof::none;
  return means.forked ? Proof::fork : Proof::each_other;
}

std::vector<Touch> make_touches(const expect::Board& board, const HandMeans& means,
                                const Demand& demand, const Needs& needs,
                                const std::vector<HandClip>& clips,
                                const std::optional<Place>& from) {
  return RoundMaker(board, means, demand, needs, clips).run(from);
}

}  // namespace isthmus::plan::hand
