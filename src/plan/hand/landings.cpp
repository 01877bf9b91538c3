// SPDX-License-Identifier: Apache-2.0
#include "plan/hand/landings.hpp"

#include <algorithm>

namespace isthmus::plan::hand {
namespace {

using expect::Wiring;

// Landings, by number, during which something holds; empty where first > last.
struct Span {
  std::size_t first{SIZE_MAX}, last{};
  [[nodiscard]] bool empty() const { return first > last || first == SIZE_MAX; }
  void add(const Span& s) {
    if (s.empty()) return;
    first = std::min(first, s.first);
    last = empty() ? s.last : std::max(last, s.last);
  }
  [[nodiscard]] Span meet(const Span& s) const {
    if (empty() || s.empty()) return {};
    const Span m{std::max(first, s.first), std::min(last, s.last)};
    return m.empty() ? Span{} : m;
  }
};

// A tip for as long as it stays on one node.
struct Stay {
  std::uint32_t node{};
  Span stands, proven;
  bool clip{}, one_side{}, by_itself{};
  std::size_t owner{};  // clip or needle
};

class Readings {
 public:
  Readings(const expect::Board& board, const HandMeans& means, const Round& round,
           std::size_t count)
      : board_(board), seat_(board, round.clips) {
    if (count > 0) add_clips(means, count);
    for (std::size_t t = 0; t < count; ++t) add_needle(means, round, t, count);
    prove();
  }

  void add_to(expect::Facts& facts) const {
    for (const Stay& s : stays_) {
      if (!s.proven.empty()) facts.touched.push_back(s.node);
    }
    each_pair([&](const Stay& a, const Stay& b) {
      if (conduct(a, b)) facts.one_piece.push_back({a.node, b.node});
      const std::uint32_t p = piece(a), q = piece(b);
      if (p != q && !board_.faults.wiring.may_conduct(p, q) && !a.proven.meet(b.proven).empty())
        facts.two_pieces.push_back({a.node, b.node});
    });
  }

 private:
  [[nodiscard]] std::uint32_t piece(const Stay& s) const {
    return board_.faults.wiring.nodes[s.node].piece;
  }

  void add_clips(const HandMeans& means, std::size_t count) {
    for (const Tip& tip : seat_.tips()) {
      Stay s{tip.node, {0, count - 1}, {}, true, tip.one_side, false, tip.clip};
      s.by_itself = means.contact_check && !tip.one_side;
      stays_.push_back(s);
    }
  }

  void add_needle(const HandMeans& means, const Round& round, std::size_t t, std::size_t count) {
    const Touch& touch = round.touches[t];
    Stay s{node_of(board_, touch), {t, t}, {}, false, false, false, touch.needle};
    if (s.node == Wiring::kNone) return;
    for (std::size_t u = t + 1; u < count; ++u) {
      if (round.touches[u].needle == touch.needle || !round.touches[u].other_stands) break;
      s.stands.last = u;
    }
    s.by_itself = means.contact_check || round.needles[touch.needle].fork.has_value();
    stays_.push_back(s);
  }

  // Pairs of tips that are there at once; the two ends of one clip are no pair.
  template <class Do>
  void each_pair(Do&& what) const {
    for (std::size_t i = 0; i < stays_.size(); ++i) {
      for (std::size_t k = i + 1; k < stays_.size(); ++k) {
        const Stay &a = stays_[i], &b = stays_[k];
        if (a.clip == b.clip && a.owner == b.owner) continue;
        if (!a.stands.meet(b.stands).empty()) what(a, b);
      }
    }
  }

  [[nodiscard]] bool conduct(const Stay& a, const Stay& b) const {
    return piece(a) == piece(b) && seat_.says(a.node, b.node);
  }

  void prove() {
    std::vector<Span> proven(stays_.size());
    for (std::size_t i = 0; i < stays_.size(); ++i) {
      if (stays_[i].by_itself && !stays_[i].clip) proven[i] = stays_[i].stands;
    }
    for (std::size_t i = 0; i < stays_.size(); ++i) {
      for (std::size_t k = i + 1; k < stays_.size(); ++k) {
        const Stay &a = stays_[i], &b = stays_[k];
        if ((a.clip == b.clip && a.owner == b.owner) || !conduct(a, b)) continue;
        const Span both = a.stands.meet(b.stands);
        proven[i].add(both);
        proven[k].add(both);
      }
    }
    for (std::size_t i = 0; i < stays_.size(); ++i) {
      // A contact check knows that a clip touches, and from its first needle on where it hangs.
      const Stay& s = stays_[i];
      if (s.by_itself && s.clip && !proven[i].empty()) proven[i].last = s.stands.last;
      stays_[i].proven = proven[i];
    }
  }

  const expect::Board& board_;
  Seat seat_;
  std::vector<Stay> stays_;
};

}  // namespace

std::uint32_t node_of(const expect::Board& board, const Touch& touch) {
  return board.faults.node_of(touch.point, touch.side);
}

void add_facts(const expect::Board& board, const HandMeans& means, const Round& round,
               std::size_t count, expect::Facts& facts) {
  Readings(board, means, round, count).add_to(facts);
}

std::size_t unnoticed(const expect::Board& board, const HandMeans& means, const Round& round) {
  if (means.contact_check) return 0;
  const Seat seat(board, round.clips);
  std::size_t count = 0;
  for (std::size_t t = 0; t < round.touches.size(); ++t) {
    const Touch& touch = round.touches[t];
    if (round.needles[touch.needle].fork) continue;
    const std::uint32_t node = node_of(board, touch);
    if (node == Wiring::kNone) continue;
    const auto meets = [&](std::uint32_t other) {
      return board.faults.wiring.nodes[node].piece == board.faults.wiring.nodes[other].piece;
    };
    bool heard = std::ranges::any_of(seat.tips(), [&](const Tip& tip) { return meets(tip.node); });
    for (std::size_t u = t; touch.other_stands && u-- > 0;) {
      if (round.touches[u].needle == touch.needle) continue;
      heard = heard || meets(node_of(board, round.touches[u]));
      break;
    }
    // It is held until the other one, which comes next, lands on the same copper.
    if (t + 1 < round.touches.size()) {
      const Touch& next = round.touches[t + 1];
      heard = heard ||
              (next.other_stands && next.needle != touch.needle && meets(node_of(board, next)));
    }
    count += !heard;
  }
  return count;
}

}  // namespace isthmus::plan::hand
