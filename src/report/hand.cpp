// SPDX-License-Identifier: Apache-2.0
#include "isthmus/report/hand.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "report/dumped.hpp"
#include "report/nets.hpp"

namespace isthmus::report {
namespace {

using Json = nlohmann::ordered_json;

double mm(std::int64_t nm) { return std::round(static_cast<double>(nm) / 100) / 1e4; }

std::string place(Position p, const TextStyle& style) {
  return style.inch ? fmt::format("({:.4f}, {:.4f}) in", static_cast<double>(p.x) / 25.4e6,
                                  static_cast<double>(p.y) / 25.4e6)
                    : fmt::format("({:.2f}, {:.2f}) mm", to_mm(p.x), to_mm(p.y));
}

std::string counted(std::size_t n, const std::string& what, const std::string& more = "s") {
  return fmt::format("{} {}{}", n, what, n == 1 ? "" : more);
}

std::string net_of_piece(const expect::Board& board, std::uint32_t piece) {
  const auto& groups = board.faults.groups_of_piece[piece];
  if (!groups.empty()) return board.expectation.group(groups.front()).net;
  const auto& islands = board.faults.islands_of_piece[piece];
  return islands.empty() ? "" : net_of(board, islands.front());
}

Json clip_json(const expect::Board& board, const plan::HandClip& c) {
  const expect::Point& p = board.expectation.point(c.point);
  return {{"channel", c.channel}, {"point", p.id},      {"net", p.net},      {"side", name(c.side)},
          {"from", name(c.from)}, {"x_mm", mm(p.at.x)}, {"y_mm", mm(p.at.y)}};
}

Json clips_json(const expect::Board& board, const plan::Round& round) {
  Json list = Json::array();
  for (const plan::HandClip& c : round.clips) list.push_back(clip_json(board, c));
  return list;
}

Json touch_json(const expect::Board& board, const plan::Round& round, const plan::Touch& t) {
  const plan::Needle& needle = round.needles[t.needle];
  const expect::Point& p = board.expectation.point(t.point);
  Json j{{"needle", needle.channel}, {"point", p.id},      {"net", p.net},
         {"side", name(t.side)},     {"x_mm", mm(t.at.x)}, {"y_mm", mm(t.at.y)}};
  if (needle.fork) j["fork"] = *needle.fork;
  j["other_stands"] = t.other_stands;
  j["excludes"] = t.excludes;
  j["likelihood"] = t.likelihood;
  return j;
}

Json untold_json(const expect::Board& board, expect::EntryId id) {
  const expect::PossibleFault& f = board.faults.entry(id);
  Json nets = Json::array({net_of_piece(board, f.piece)});
  if (f.kind == expect::FaultKind::bridge) nets.push_back(net_of_piece(board, f.other));
  return {{"kind", f.kind == expect::FaultKind::bridge ? "bridge" : "break"},
          {"nets", std::move(nets)},
          {"x_mm", mm(f.at.x)},
          {"y_mm", mm(f.at.y)},
          {"side", expect::side_name(f, board.copper.layers)}};
}

std::string minutes(const plan::HandPlan& plan) {
  return fmt::format("{:.0f} to {:.0f} minutes", std::floor(plan.minutes_low),
                     std::ceil(plan.minutes_high));
}

std::string untold_text(const expect::Board& board, const plan::HandPlan& plan,
                        const TextStyle& style) {
  constexpr std::size_t kShown = 5;
  if (plan.cannot_tell.empty()) return "cannot tell   nothing: every possible fault is excluded\n";
  std::size_t bridges = 0;
  for (const expect::EntryId id : plan.cannot_tell)
    bridges += board.faults.entry(id).kind == expect::FaultKind::bridge;
  std::string out =
      fmt::format("cannot tell   {}, {} (a run like this ends incomplete)\n",
                  counted(plan.cannot_tell.size() - bridges, "break"), counted(bridges, "bridge"));
  for (std::size_t i = 0; i < plan.cannot_tell.size() && i < kShown; ++i) {
    const expect::PossibleFault& f = board.faults.entry(plan.cannot_tell[i]);
    const bool bridge = f.kind == expect::FaultKind::bridge;
    out += fmt::format("              {} {}{} at {} {}\n", bridge ? "bridge" : "break",
                       net_of_piece(board, f.piece),
                       bridge ? " and " + net_of_piece(board, f.other) : "", place(f.at, style),
                       expect::side_name(f, board.copper.layers));
  }
  if (plan.cannot_tell.size() > kShown)
    out += fmt::format("              and {} more (--json)\n", plan.cannot_tell.size() - kShown);
  return out;
}

std::string needles_text(const plan::Round& round) {
  std::string out;
  for (const plan::Needle& n : round.needles) {
    out += out.empty() ? "" : ", ";
    out +=
        n.fork ? fmt::format("{} and {} (forked)", n.channel, *n.fork) : std::to_string(n.channel);
  }
  return out;
}

// Share of all likelihood after half and three quarters of the touches.
std::string early_text(const plan::HandPlan& plan) {
  double sum = 0, half = 0, most = 0;
  std::size_t done = 0;
  for (const plan::Round& r : plan.rounds) {
    for (const plan::Touch& t : r.touches) {
      sum += t.likelihood;
      ++done;
      if (2 * done <= plan.touches) half = sum;
      if (4 * done <= 3 * plan.touches) most = sum;
    }
  }
  return fmt::format(
      "{} of the likelihood of all possible faults after half of the touches, {} "
      "after three quarters, {} at the end",
      percent(half), percent(most), percent(sum));
}

}  // namespace

std::string hand_clip_in_words(const expect::Board& board, const plan::HandClip& clip,
                               const TextStyle& style) {
  const expect::Point& p = board.expectation.point(clip.point);
  const std::string where = p.join && clip.side == Side::both ? "in or on the hole, " : "";
  return fmt::format("{} on {}, {}from {} {}", clip.channel, p.id, where,
                     clip.from == Side::bottom ? "below" : "above", place(p.at, style));
}

std::string hand_text(const expect::Board& board, const plan::HandMeans& means,
                      const plan::HandPlan& plan, const TextStyle& style) {
  std::string out = fmt::format(
      "{} at stage {}, by hand: {} channels, {}{}{}\n", board.design.board.name,
      name(board.expectation.stage), means.channels,
      counted(static_cast<std::size_t>(means.needles), "needle"),
      means.forked ? ", the first forked" : "", means.contact_check ? ", contact check" : "");
  out += fmt::format("touches       {} (these clips: at least {}; any clips: at least {})\n",
                     plan.touches, plan.bound, plan.free_bound);
  out += fmt::format("time          {}, clips and turns included\n", minutes(plan));
  out +=
      fmt::format("asked for     {}, {}, {} that must not conduct\n", counted(plan.places, "place"),
                  counted(plan.groups, "piece") + " of copper", counted(plan.pairs, "pair"));
  out += fmt::format("without clip  {} of them with no clip at either end\n", plan.pairs_unclipped);
  if (!plan.rounds.empty())
    out += fmt::format("needles       channel {}\n", needles_text(plan.rounds[0]));
  if (plan.unnoticed > 0)
    out += fmt::format(
        "left out      {} that nothing can notice: a forked needle, a second one or a contact "
        "check would\n",
        counted(plan.unnoticed, "landing"));
  out += fmt::format("likelihood    {}\n", early_text(plan));
  for (std::size_t r = 0; r < plan.rounds.size(); ++r) {
    const plan::Round& round = plan.rounds[r];
    out += plan.rounds.size() == 1 ? fmt::format("clips         {}\n", round.clips.size())
                                   : fmt::format("round {:<2}      {}, {}\n", r + 1,
                                                 counted(round.clips.size(), "clip"),
                                                 counted(round.touches.size(), "touch", "es"));
    for (const plan::HandClip& c : round.clips)
      out += fmt::format("              {}\n", hand_clip_in_words(board, c, style));
  }
  return out + untold_text(board, plan, style);
}

std::string hand_json(const expect::Board& board, const plan::HandMeans& means,
                      const plan::HandPlan& plan) {
  Json j;
  j["board"] = board.design.board.name;
  j["stage"] = name(board.expectation.stage);
  j["channels"] = means.channels;
  j["needles"] = means.needles;
  j["forked"] = means.forked;
  j["contact_check"] = means.contact_check;
  j["clips"] = plan.rounds.empty() ? Json::array() : clips_json(board, plan.rounds[0]);
  j["touches"] = plan.touches;
  j["bound"] = plan.bound;
  j["bound_free"] = plan.free_bound;
  j["places"] = plan.places;
  j["groups"] = plan.groups;
  j["pairs"] = plan.pairs;
  j["pairs_unclipped"] = plan.pairs_unclipped;
  j["unnoticed"] = plan.unnoticed;
  const auto tenths = [](double m) { return std::round(m * 10) / 10; };
  j["minutes"] = tenths((plan.minutes_low + plan.minutes_high) / 2);
  j["minutes_low"] = tenths(plan.minutes_low);
  j["minutes_high"] = tenths(plan.minutes_high);
  j["rounds"] = Json::array();
  j["touch_list"] = Json::array();
  for (std::size_t r = 0; r < plan.rounds.size(); ++r) {
    const plan::Round& round = plan.rounds[r];
    j["rounds"].push_back({{"clips", clips_json(board, round)}, {"touches", round.touches.size()}});
    for (const plan::Touch& t : round.touches) {
      Json x = touch_json(board, round, t);
      x["round"] = r + 1;
      j["touch_list"].push_back(std::move(x));
    }
  }
  j["cannot_tell"] = Json::array();
  for (const expect::EntryId id : plan.cannot_tell)
    j["cannot_tell"].push_back(untold_json(board, id));
  return dumped(j) + "\n";
}

}  // namespace isthmus::report
