// SPDX-License-Identifier: Apache-2.0
#include "cli/guide_words.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>

namespace isthmus::cli {
namespace {

namespace event = session::event;

constexpr double kNear = 15e6;  // nm

// "2.54 mm to the left of", seen from that side: from below, left is right.
std::string offset(Position from, Position to, Side side, bool both_axes) {
  const double mirror = side == Side::bottom ? -1 : 1;
  const double dx = mirror * static_cast<double>(to.x - from.x) * 1e-6;
  const double dy = static_cast<double>(to.y - from.y) * 1e-6;
  const auto along_x = [&] {
    return fmt::format("{:.2f} mm to the {}", std::fabs(dx), dx < 0 ? "left" : "right");
  };
  const auto along_y = [&] {
    return fmt::format("{:.2f} mm {}", std::fabs(dy), dy < 0 ? "below" : "above");
  };
  const bool x = std::fabs(dx) >= 0.1, y = std::fabs(dy) >= 0.1;
  if (both_axes || (x && y && std::min(std::fabs(dx), std::fabs(dy)) > 0.3))
    return along_x() + (dy < 0 ? " and " : " and ") + along_y();
  if (std::fabs(dx) >= std::fabs(dy)) return along_x() + " of";
  return along_y();
}

bool seen_from(const expect::Board& board, PointId point, Side side) {
  return board.faults.node_of(point, side) != expect::Wiring::kNone;
}

Box corners(const expect::Board& board) {
  Box box;
  for (const expect::Point& p : board.expectation.points) box.add(p.at);
  return box;
}

const std::string& id(const expect::Board& board, PointId p) {
  return board.expectation.point(p).id;
}

std::string minutes(double low, double high) {
  return fmt::format("{:.0f} to {:.0f} min", std::ceil(low), std::ceil(high));
}

std::string reason(const std::string& why) {
  if (why == "straddle") return "a bridge was heard from one place: is it there from here as well?";
  if (why == "fingers-off") return "a leak was heard: fingers off the copper";
  if (why == "prove-clip") return "to prove the clip of this net";
  if (why == "second-landing") return "to be sure";
  if (why == "mended") return "it lies near what was mended";
  if (why == "no-contact") return "nothing was felt";
  return why;
}

class Words {
 public:
  explicit Words(const expect::Board& board) : board_(board) {}

  std::string operator()(const event::Start& s) const {
    return fmt::format("{} at stage {}: {} touch{}, about {}.\n", s.board, s.stage, s.touches,
                       s.touches == 1 ? "" : "es", minutes(s.minutes_low, s.minutes_high));
  }
  std::string operator()(const event::Air&) const {
    return "Let all clips and needles hang apart in the air, touching nothing. Then press Enter.\n";
  }
  std::string operator()(const event::Clips& c) const {
    std::string text =
        c.of > 1 ? fmt::format("Clips, round {} of {}:\n", c.round, c.of) : "Clips:\n";
    for (const plan::Channel r : c.remove) text += fmt::format("  take off clip {}\n", r);
    for (const plan::HandClip& clip : c.clips) {
      const Side side = clip.side == Side::bottom ? Side::bottom : Side::top;
      text += fmt::format("  clip {} on {} ({}): {}\n", clip.channel, id(board_, clip.point),
                          clip.side == Side::both ? "through or over the rim" : name(clip.side),
                          where_in_words(board_, clip.point, side));
    }
    return text;
  }
  std::string operator()(const event::Touch& t) const {
    std::string text;
    if (t.turn_over) text += fmt::format("Turn the board over: {} side up.\n", name(t.side));
    text += fmt::format("{}: {}{} ({}), {}{}\n", t.left, t.needle > 0 ? "second needle on " : "",
                        id(board_, t.point), name(t.side), where_in_words(board_, t.point, t.side),
                        t.again ? ", again" : "");
    if (t.beside)
      text += fmt::format("  the {} needle stays on {}\n", t.beside->first > 0 ? "second" : "first",
                          id(board_, t.beside->second));
    if (const std::string why = reason(t.why); !why.empty()) text += "  " + why + "\n";
    if (!t.noticed)
      text += "  hold it there: the other needle, which comes next, tells that it stands\n";
    return text;
  }
  std::string operator()(const event::Lift&) const { return "Lift the needle.\n"; }
  std::string operator()(const event::Landed&) const { return ""; }
  std::string operator()(const event::Read& r) const {
    std::string text;
    if (r.ohms) text = fmt::format("  {:.3g} ohm", r.ohms->value);
    if (r.ohms && r.predicted) text += fmt::format(" (copper {:.2g})", r.predicted->value);
    if (r.isolation == "good" && r.against > 0)
      text += fmt::format("{}isolated from {} net{}", text.empty() ? "  " : ", ", r.against,
                          r.against == 1 ? "" : "s");
    return text.empty() ? text : text + "\n";
  }
  std::string operator()(const event::Booked& b) const {
    if (b.result == "good") return "";
    return b.result == "fault" ? "  not as it should be\n"
                               : "  more resistance than it should have\n";
  }
  std::string operator()(const event::Wrong& w) const {
    std::string heard;
    for (const PointId p : w.heard) heard += (heard.empty() ? "" : ", ") + id(board_, p);
    return fmt::format("  that conducts like {}; wanted is {}. Lift, and touch that.\n", heard,
                       id(board_, w.wanted));
  }
  std::string operator()(const event::Lost&) const {
    return "  lifted too soon: touch it again.\n";
  }
  std::string operator()(const event::Clip& c) const {
    if (c.what == "lost")
      return fmt::format("Clip {} on {} no longer conducts: see to it.\n", c.channel,
                         id(board_, c.point));
    if (c.what == "exchanged")
      return fmt::format(
          "Clips {} and {} are exchanged. Press Enter to take it so, a when they were "
          "put right.\n",
          c.channel, *c.with);
    return "";
  }
  std::string operator()(const event::Finding& f) const {
    std::string text = fmt::format("Found: {} of {}", diagnose::name(f.finding.kind),
                                   fmt::join(f.finding.nets, ", "));
    if (!f.finding.suspects.empty()) {
      const auto& s = f.finding.suspects.front();
      text += fmt::format("; look at {:.2f}, {:.2f} mm, {}", to_mm(s.at.x), to_mm(s.at.y), s.side);
    }
    return text + "\n";
  }
  std::string operator()(const event::Withdrawn& w) const {
    return fmt::format("No longer: {} of {}\n", diagnose::name(w.finding.kind),
                       fmt::join(w.finding.nets, ", "));
  }
  std::string operator()(const event::Offer& o) const {
    return fmt::format(
        "Everything is read; {} to mend. m when mended (the board cleaned, dry and cool): what the "
        "iron or\nthe knife came near is read anew, at once. Enter ends the run.\n",
        o.findings == 1 ? "one finding" : fmt::format("{} findings", o.findings));
  }
  std::string operator()(const event::Coverage& c) const {
    return fmt::format("  {:.0f} % of what is likely is excluded; {} to go, about {}\n",
                       std::floor(100 * c.likelihood), c.left,
                       minutes(c.minutes_low, c.minutes_high));
  }
  std::string operator()(const event::Note& n) const {
    if (n.what == "pause") return "Pause. Press p to go on.\n";
    if (n.what == "skipped")
      return fmt::format("  left out{}{}\n", n.why.empty() ? "" : ": ", n.why);
    if (n.what == "rest")
      return "25 minutes without a pause: rest eyes and hand? p pauses, nothing times out.\n";
    if (n.what == "undone") return fmt::format("  taken back: {}\n", n.why);
    return "";
  }
  std::string operator()(const event::End& e) const {
    return fmt::format("Done: {}.\n", diagnose::name(e.verdict));
  }

 private:
  const expect::Board& board_;
};

}  // namespace

const char* const kSafety =
    "The needle is sharp: goggles on, never a finger before its point, stop when the hand shakes.\n"
    "The board is unpowered, no battery, no charged capacitor, no cable to anything else; dry and\n"
    "cool. At the needle are at most 10 V and 1 mA while isolation is read. Hold it by its\n"
    "insulated handle. Local rules come first.\n";
const char* const kKeys =
    "Keys: Enter done, a again, s skip, c cannot reach, u undo, p pause, m mended, q quit.\n";

std::string where_in_words(const expect::Board& board, PointId point, Side side) {
  if (side == Side::both) side = Side::top;
  const Position at = board.expectation.point(point).at;
  double nearest = kNear;
  std::optional<PointId> best;
  for (std::size_t i = 0; i < board.expectation.points.size(); ++i) {
    const PointId other{static_cast<std::uint32_t>(i)};
    const expect::Point& p = board.expectation.points[i];
    if (other == point || p.via || p.unlisted || p.at == at || !seen_from(board, other, side))
      continue;
    const double d = distance_nm(p.at, at);
    if (d < nearest) nearest = d, best = other;
  }
  if (best) {
    const std::string text = offset(board.expectation.point(*best).at, at, side, false);
    const bool two = text.find(" and ") != std::string::npos;
    return fmt::format("{}{} {}", text, two ? " from" : "", id(board, *best));
  }
  const Box box = corners(board);
  const Position corner{side == Side::bottom ? box.hi.x : box.lo.x, box.lo.y};
  return offset(corner, at, side, true) + " from the lower left pad's corner";
}

std::string in_words(const expect::Board& board, const session::Event& event) {
  return std::visit(Words(board), event.what);
}

int bells(const session::Event& e) {
  if (const auto* b = std::get_if<event::Booked>(&e.what)) return b->result == "good" ? 1 : 3;
  const bool again =
      std::holds_alternative<event::Wrong>(e.what) || std::holds_alternative<event::Lost>(e.what);
  return again ? 2 : 0;
}

}  // namespace isthmus::cli
