// SPDX-License-Identifier: Apache-2.0
#include "plan/hand/holds.hpp"

#include <algorithm>
#include <map>
#include <optional>

#include "isthmus/plan/hand_tips.hpp"

namespace isthmus::plan::hand {
namespace {

using expect::Wiring;

bool closer(Position a, Position b, Nanometres than) {
  return distance_nm(a, b) < static_cast<double>(than.value);
}

// A hole from whose other end nothing hangs that is not etched yet.
bool has_room(const expect::Board& board, const expect::Point& p) {
  if (!p.join || p.via || board.expectation.sheet) return false;
  return board.expectation.joins[*p.join].diameter >= kHoldHole;
}

// A wire through a via, as long as its end was left long.
bool has_wire(const expect::Board& board, const expect::Point& p) {
  if (!p.join || board.expectation.sheet) return false;
  const expect::Join& join = board.expectation.joins[*p.join];
  return join.conducts && join.kind == formats::JoinKind::wire;
}

// A landing on a ring of its own hole would be a part of the piece that nothing ties to the rest.
bool ties_one_piece(const expect::Board& board, const HandClip& clip) {
  const auto nodes = clip_nodes(board, clip);
  const auto& all = board.faults.wiring.nodes;
  return nodes.size() == 2 && all[nodes[0]].piece == all[nodes[1]].piece;
}

// "J1" of "J1.3@top".
std::string part_of(const std::string& id) { return id.substr(0, id.find('.')); }

class Finder {
 public:
  Finder(const expect::Board& board, const Demand& demand) : board_(board), demand_(demand) {
    const auto& points = board.expectation.points;
    for (std::size_t i = 0; i < points.size(); ++i) {
      if (has_room(board, points[i])) rows_[part_of(points[i].id)].push_back(points[i].at);
    }
  }

  [[nodiscard]] std::optional<Hold> at(PointId id) const {
    const expect::Point& p = board_.expectation.point(id);
    if (!p.group) return std::nullopt;
    Hold hold;
    hold.clip.point = id;
    hold.at = p.at;
    if (has_room(board_, p)) {
      hold.clip.side = sides_of(id);
      hold.ease = in_row(p) ? 3 : 2;
    } else if (has_wire(board_, p)) {
      hold.clip.side = Side::both;
    } else if (p.size >= kHoldPad && p.side != Side::both) {
      hold.clip.side = p.side;
      hold.ease = 1;
    } else {
      return std::nullopt;
    }
    if (!find_body(hold)) return std::nullopt;
    return hold;
  }

 private:
  [[nodiscard]] bool in_row(const expect::Point& p) const {
    constexpr Nanometres kPitch{2'700'000};
    const auto& row = rows_.at(part_of(p.id));
    return std::ranges::count_if(
               row, [&](Position q) { return q != p.at && closer(p.at, q, kPitch); }) > 0;
  }

  // A hook ties what copper there is at both ends.
  [[nodiscard]] Side sides_of(PointId id) const {
    HandClip clip;
    clip.point = id;
    clip.side = Side::both;
    if (clip_nodes(board_, clip).size() != 1) return Side::both;
    const expect::Point& p = board_.expectation.point(id);
    if (p.side != Side::both) return p.side;
    const bool top = board_.faults.node_of(id, Side::top) != Wiring::kNone;
    const bool bottom = board_.faults.node_of(id, Side::bottom) != Wiring::kNone;
    return top && bottom ? Side::both : top ? Side::top : Side::bottom;
  }

  // From the side where it hides nothing that must be touched.
  [[nodiscard]] bool find_body(Hold& hold) const {
    const bool hole = board_.expectation.point(hold.clip.point).join.has_value();
    for (const Side from : {Side::bottom, Side::top}) {
      if (!hole && from != hold.clip.side) continue;
      hold.clip.from = from;
      if (std::ranges::all_of(demand_.places,
                              [&](const Place& place) {
                                return lies_under(board_, hold.clip, place.point) ||
                                       in_reach(board_, hold.clip, place);
                              }) &&
          find_pieces(hold))
        return true;
    }
    return false;
  }

  // Copper that has to be touched, and of which the clip leaves nothing in reach to prove it by,
  // must not hang on it.
  [[nodiscard]] bool find_pieces(Hold& hold) const {
    hold.pieces.clear();
    hold.whole = true;
    hold.landings = 0;
    const Seat seat(board_, {hold.clip});
    for (const Tip& tip : seat.tips()) {
      const PieceId piece = board_.faults.wiring.nodes[tip.node].piece;
      if (!seat.says(tip.node, tip.node)) return false;
      bool asked = false, learned = false;
      std::size_t others = 0;
      for (const Place& place : demand_.places) {
        if (place.piece != piece || !seat.says(tip.node, place.node)) continue;
        asked = true;
        learned = learned || in_reach(board_, hold.clip, place);
        if (!lies_under(board_, hold.clip, place.point)) ++others;
      }
      if (asked && !learned && !ties_one_piece(board_, hold.clip)) return false;
      if (!learned) continue;
      // Framed by two landings on a side that has fewer to be touched anyway.
      if (tip.one_side && others < 2) hold.landings += 2 - others;
      if (std::ranges::find(hold.pieces, piece) != hold.pieces.end())
        hold.whole = false;
      else
        hold.pieces.push_back(piece);
    }
    return !hold.pieces.empty();
  }

  const expect::Board& board_;
  const Demand& demand_;
  std::map<std::string, std::vector<Position>> rows_;  // holes by part
};

}  // namespace

std::vector<PointId> under(const expect::Board& board, const HandClip& clip) {
  std::vector<PointId> own;
  for (std::size_t i = 0; i < board.expectation.points.size(); ++i) {
    const auto id = static_cast<PointId>(i);
    if (lies_under(board, clip, id)) own.push_back(id);
  }
  return own;
}

bool lies_under(const expect::Board& board, const HandClip& clip, PointId point) {
  if (point == clip.point) return true;
  const auto& join = board.expectation.point(clip.point).join;
  return join && board.expectation.point(point).join == join;
}

bool in_reach(const expect::Board& board, const HandClip& clip, const Place& place) {
  const expect::Point& p = board.expectation.point(clip.point);
  const Position at = p.at;
  if (lies_under(board, clip, place.point))
    return p.join && place.side != clip.from && !ties_one_piece(board, clip);
  if (place.side == clip.from) return !closer(at, place.at, kClipBody);
  return clip.side != Side::both || !closer(at, place.at, kHookEnd);
}

std::vector<Hold> holds_of(const expect::Board& board, const Demand& demand,
                           std::span<const PointId> struck_out) {
  const Finder finder(board, demand);
  std::vector<Hold> holds;
  for (std::size_t i = 0; i < board.expectation.points.size(); ++i) {
    const auto id = static_cast<PointId>(i);
    if (std::ranges::find(struck_out, id) != struck_out.end()) continue;
    if (auto hold = finder.at(id)) holds.push_back(std::move(*hold));
  }
  return holds;
}

bool can_hold(const expect::Board& board, const HandClip& clip) {
  const expect::Point& p = board.expectation.point(clip.point);
  if (clip_nodes(board, clip).empty()) return false;
  if (has_wire(board, p)) return true;
  if (p.join) return board.expectation.joins[*p.join].diameter >= kHoldHole;
  return p.size >= kHoldPad / 2;
}

}  // namespace isthmus::plan::hand
