// SPDX-License-Identifier: Apache-2.0
#include "plan/hand/left.hpp"

#include <algorithm>
#include <map>

#include "isthmus/base/sets.hpp"

namespace isthmus::plan::hand {
namespace {

class Left {
 public:
  Left(const expect::Board& board, const expect::Facts& facts, const std::vector<HandClip>& clips,
       const std::set<PointId>& held)
      : board_(board),
        held_(held),
        tied_(board.faults.wiring.nodes.size()),
        touched_(board.faults.wiring.nodes.size(), false) {
    for (const std::uint32_t n : facts.touched) touched_[n] = true;
    for (const auto& [a, b] : facts.one_piece) tied_.unite(a, b);
    for (const HandClip& c : clips) {
      for (const std::uint32_t n : clip_nodes(board, c)) clip_nodes_.push_back(n);
    }
    for (const auto& [a, b] : facts.two_pieces) told_.insert(pair_of(piece(a), piece(b)));
  }

  [[nodiscard]] Needs of(const Demand& demand) {
    Needs needs;
    for (const PiecePair& p : demand.pairs) {
      if (!told_.contains(p)) needs.pairs.insert(p);
    }
    std::map<PieceId, std::vector<Place>> by_piece;
    for (const Place& p : demand.places) by_piece[p.piece].push_back(p);
    for (const auto& [piece, places] : by_piece) add(places, needs.places);
    return needs;
  }

 private:
  [[nodiscard]] PieceId piece(std::uint32_t n) const { return board_.faults.wiring.nodes[n].piece; }

  void add(const std::vector<Place>& places, std::vector<Place>& out) {
    std::map<std::uint32_t, std::size_t> parts;
    for (const Place& p : places) {
      if (touched_[p.node]) ++parts[tied_.find(p.node)];
    }
    std::optional<std::uint32_t> main;
    for (const auto& [part, count] : parts) {
      if (!main || count > parts.at(*main)) main = part;
    }
    const auto in_main = [&](std::uint32_t n) {
      return main && touched_[n] && tied_.find(n) == *main;
    };
    const std::size_t before = out.size();
    for (const Place& p : places) {
      if (!in_main(p.node) && !held_.contains(p.point)) out.push_back(p);
    }
    if (out.size() == before || std::ranges::any_of(clip_nodes_, in_main)) return;
    const auto one = std::ranges::find_if(places, [&](const Place& p) { return in_main(p.node); });
    if (one != places.end()) out.push_back(*one);
  }

  const expect::Board& board_;
  const std::set<PointId>& held_;
  Sets tied_;
  std::vector<bool> touched_;
  std::vector<std::uint32_t> clip_nodes_;
  std::set<PiecePair> told_;
};

}  // namespace

Needs needs_after(const expect::Board& board, const Demand& demand, const expect::Facts& facts,
                  const std::vector<HandClip>& clips, const std::set<PointId>& held) {
  return Left(board, facts, clips, held).of(demand);
}

std::vector<Place> asked_under_clips(const Demand& demand, const expect::Derived& derived) {
  std::vector<Place> out;
  const auto add = [&](const Place& p) {
    if (std::ranges::find(out, p) == out.end()) out.push_back(p);
  };
  for (const expect::WouldTell& w : derived.would_tell) {
    for (const Place& p : demand.places) {
      if ((p.node != w.p && p.node != w.q) || derived.component[p.node] != expect::Wiring::kNone)
        continue;
      add(p);
      const auto other = std::ranges::find_if(demand.places, [&](const Place& q) {
        return q.piece == p.piece && derived.component[q.node] != expect::Wiring::kNone;
      });
      if (other != demand.places.end()) add(*other);
    }
  }
  return out;
}

}  // namespace isthmus::plan::hand
