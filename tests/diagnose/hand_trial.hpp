// SPDX-License-Identifier: Apache-2.0
// A board proven by hand on a bench that answers from a list of who conducts to whom.
#pragma once

#include "isthmus/plan/landing.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::test {

class HandTrial {
 public:
  static constexpr plan::Channel kNeedle = 15, kFork = 16, kSecond = 14;

  // Clips on the first pad of each net with two pads or more.
  explicit HandTrial(const expect::Board& board, bool forked = true, bool contact_check = false,
                     const std::set<std::string>& unclipped = {})
      : board_(board), knowledge_(board, empty(contact_check)), bench(board, empty(contact_check)) {
    round_.needles = {{kNeedle, forked ? std::optional(kFork) : std::nullopt}};
    plan::Channel next = 1;
    for (const char* id : {"U1.1", "U1.2", "U1.4", "U1.5", "J1.1"}) {
      if (!unclipped.contains(id)) round_.clips.push_back({next, point(id), Side::top, Side::top});
      ++next;
    }
  }

  // Lands on the pad; by `on` its tip in truth stands on another pad, or on none.
  diagnose::Landing touch(const std::string& id, std::optional<std::string> on = std::nullopt) {
    const PointId at = point(id);
    const plan::Standing stand{
        0, at, board_.expectation.point(at).side == Side::bottom ? Side::bottom : Side::top,
        board_.expectation.point(at).at};
    plan::Placement p = plan::placement_of(board_, round_, ++touches_, stand, {});
    p.round = number_;
    p.tried_in_air = true;
    last = knowledge_.land(std::move(p));
    if (on) bench.land(last, kNeedle, on);
    for (const auto& [clip, wrong] : hooked) bench.land(last, clip, wrong);
    for (const plan::Channel c : fallen) bench.land(last, c, std::nullopt);
    const auto heard = heard_own();
    plan::LandingSteps steps =
        plan::steps_of_landing(board_, knowledge_.plan(), last, kNeedle, {4, {10.0}},
                               knowledge_.next_block(), {heard, {}, true});
    for (plan::Step& s : steps.resistance) {
      if (s.kind == plan::StepKind::continuity) s.predicted = copper::Predicted{{0.04}, {0.01}};
    }
    measure(knowledge_.append(std::move(steps.gentle)));
    measure(knowledge_.append(std::move(steps.resistance)));
    for (auto more = knowledge_.next(last); !more.empty(); more = knowledge_.next(last))
      measure(more);
    return knowledge_.landing(last, kNeedle);
  }
  // The second needle lands there while the first one stays on `beside`.
  diagnose::Landing touch_beside(const std::string& id, const std::string& beside) {
    return land_beside(1, kSecond, id, beside);
  }
  // The first needle lands there while the second one stays on `beside`.
  diagnose::Landing touch_while(const std::string& id, const std::string& beside) {
    return land_beside(0, kNeedle, id, beside);
  }
  // Each pad once; the clips are met first and last.
  void touch_all() {
    for (const char* id : {"U2.1", "U2.2", "U4.1", "U2.5", "J1.2", "U1.3", "U3.1", "U3.2",
                           "VIA@12.000,6.000", "VIA@22.000,6.000", "J1.3", "J1.4"})
      touch(id);
    touch_clips();
  }
  void touch_clips() {
    for (const char* id : {"U2.1", "U2.2", "U4.1", "U2.5", "J1.2"}) touch(id);
  }
  diagnose::Diagnosis diagnosis() { return knowledge_.diagnosis(true); }
  std::vector<std::string> wanted(bool at_end) {
    std::vector<std::string> list;
    for (const auto& w : knowledge_.wanted_touches(number_, at_end))
      list.push_back(std::string(name(w.why)) + " " + board_.expectation.point(w.at.front()).id);
    return list;
  }
  void rework(const std::set<std::string>& nets) {
    std::vector<PointId> points;
    for (std::size_t i = 0; i < board_.expectation.points.size(); ++i) {
      if (nets.contains(board_.expectation.points[i].net))
        points.push_back(static_cast<PointId>(i));
    }
    knowledge_.rework(std::move(points));
  }
  void next_round() { ++number_; }
  [[nodiscard]] diagnose::Knowledge& knowledge() { return knowledge_; }

 private:
  diagnose::Landing land_beside(std::size_t moves, plan::Channel needle, const std::string& id,
                                const std::string& beside) {
    round_.needles.resize(1);
    round_.needles.push_back({kSecond, std::nullopt});
    const auto standing = [&](std::size_t n, const std::string& where) {
      return plan::Standing{n, point(where), Side::top, board_.expectation.point(point(where)).at};
    };
    plan::Placement p = plan::placement_of(board_, round_, ++touches_, standing(moves, id),
                                           {standing(1 - moves, beside)});
    p.round = number_;
    p.tried_in_air = true;
    last = knowledge_.land(std::move(p));
    plan::LandingSteps steps =
        plan::steps_of_landing(board_, knowledge_.plan(), last, needle, {4, {10.0}},
                               knowledge_.next_block(), {heard_own(needle), {}, true});
    measure(knowledge_.append(std::move(steps.gentle)));
    for (auto more = knowledge_.next(last); !more.empty(); more = knowledge_.next(last))
      measure(more);
    return knowledge_.landing(last, needle);
  }
  static plan::Plan empty(bool contact_check) {
    plan::Plan p;
    p.wires = 4;
    p.contact_check = contact_check;
    return p;
  }
  [[nodiscard]] PointId point(const std::string& id) const {
    return *expect::find_point(board_.expectation, id, std::nullopt);
  }
  // Clips of the needle's own net that it conducts to, as it is told from a wrong pad.
  std::vector<plan::Channel> heard_own(plan::Channel needle = kNeedle) {
    bench.follow(knowledge_.plan());
    const plan::StepMaker make({}, false, last);
    std::vector<plan::Channel> list;
    for (const plan::Channel c :
         plan::own_channels(board_, knowledge_.plan().placements[last], needle)) {
      const plan::Reading& r = bench.measure(make.open_in_air({needle}, {c}));
      const auto* m = std::get_if<plan::Measured>(&r.outcome);
      if (m && m->value < 100) list.push_back(c);
    }
    return list;
  }
  void measure(const std::vector<plan::Step>& steps) {
    bench.follow(knowledge_.plan());
    for (const plan::Step& s : steps) knowledge_.take(bench.measure(s));
  }

  const expect::Board& board_;
  diagnose::Knowledge knowledge_;
  plan::Round round_;
  std::size_t touches_{}, number_{};

 public:
  FakeBench bench;
  std::set<plan::Channel> fallen;               // clips, from the next landing on
  std::map<plan::Channel, std::string> hooked;  // clips that hang on another pad than was said
  std::size_t last{};                           // placement
};

}  // namespace isthmus::test
