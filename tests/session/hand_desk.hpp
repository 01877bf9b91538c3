// SPDX-License-Identifier: Apache-2.0
// A board on an adapter in memory, and a hand that does what the events say, or what a test makes it
// do. Who conducts to whom is a list; time is counted in readings.
#pragma once

#include <deque>

#include "isthmus/base/sets.hpp"
#include "isthmus/session/guide.hpp"
#include "tests/adapter/fake_adapter.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::test {

class HandDesk {
 public:
  static constexpr int kNeedle = 15, kFork = 16, kSecond = 14;

  explicit HandDesk(const expect::Board& board) : board_(board) {
    bench.measure = [this](const SeenStep& s) { return answer(s); };
    hooks.tell = [this](const session::Event& e) { hear(e); };
    hooks.heard = [this]() -> std::optional<session::Answer> {
      if (answers.empty()) return std::nullopt;
      const session::Answer a = answers.front();
      answers.pop_front();
      return a;
    };
    hooks.interrupted = [this] { return readings > 200'000; };
    plan_round();
  }

  [[nodiscard]] std::size_t point(const std::string& id) const {
    return index(*expect::find_point(board_.expectation, id, std::nullopt));
  }
  void tie(const std::string& a, const std::string& b, double ohms = 1) {
    ties_.push_back({point(a), point(b), ohms});
  }
  void mend() { ties_.clear(), alone_.clear(); }
  void cut_off(const std::string& a) { alone_.insert(point(a)); }
  void say(session::Answer::Kind kind) { answers.push_back({kind, ""}); }

  // What the hand does at its n-th landing, from 1, instead of standing where it should.
  std::map<int, std::string> lands_on;         // that pad
  std::map<int, std::string> straddles;        // this pad too
  std::map<int, int> lifts_after;              // so many readings
  std::map<int, std::pair<int, int>> bounces;  // readings: so many times on and off, so long each
  std::map<int, int> drops_clip;               // channel
  bool refits{true};
  bool lands{true};  // at all
  bool contact_check{false};
  double more_ohms{};         // of everything that conducts
  std::map<int, int> spoils;  // so many readings by the tips' current have status 8
  std::function<void(const session::Event&)> also;

  FakeBench bench;
  session::GuideHooks hooks;
  plan::HandPlan plan;
  std::deque<session::Answer> answers;
  std::map<int, std::size_t> clips;  // channel -> point
  std::vector<session::Event> events;
  int landings{}, readings{};

  template <class E>
  [[nodiscard]] std::vector<E> all() const {
    std::vector<E> list;
    for (const session::Event& e : events) {
      if (const auto* one = std::get_if<E>(&e.what)) list.push_back(*one);
    }
    return list;
  }

 private:
  struct Tie {
    std::size_t a{}, b{};
    double ohms{};
  };

  void plan_round() {
    plan::Round r;
    r.needles = {{kNeedle, kFork}};
    plan::Channel next = 1;
    for (const char* id : {"U1.1", "U1.2", "U1.4", "U1.5", "J1.1"})
      r.clips.push_back(
          {next++, PointId{static_cast<std::uint32_t>(point(id))}, Side::top, Side::top});
    for (const char* id :
         {"U2.1", "U2.2", "U4.1", "U2.5", "J1.2", "U1.3", "U3.1", "U3.2", "VIA@12.000,6.000",
          "VIA@22.000,6.000", "J1.3", "J1.4", "U2.1", "U2.2", "U4.1", "U2.5", "J1.2"}) {
      plan::Touch t;
      t.point = PointId{static_cast<std::uint32_t>(point(id))};
      t.at = board_.expectation.point(t.point).at;
      r.touches.push_back(t);
    }
    plan.touches = r.touches.size();
    plan.rounds = {r};
  }

  void hear(const session::Event& e) {
    namespace event = session::event;
    events.push_back(e);
    if (const auto* c = std::get_if<event::Clips>(&e.what)) {
      for (const plan::HandClip& clip : c->clips)
        clips.try_emplace(clip.channel, index(clip.point));
    }
    if (std::holds_alternative<event::Air>(e.what)) say(session::Answer::Kind::done);
    if (const auto* l = std::get_if<event::Lift>(&e.what)) {
      if (l->needle == active_)
        down_ = false;
      else
        other_on_.clear();
    }
    if (const auto* t = std::get_if<event::Touch>(&e.what)) {
      if (t->needle != active_) {  // the one that was in use stays where it stands
        std::swap(on_, other_on_);
        if (!std::exchange(down_, false)) other_on_.clear();
        active_ = t->needle;
      }
      target_ = index(t->point);
      lift_at_ = readings + 5;
      land_at_ = readings + 150;
      wants_ = true;
    }
    if (std::holds_alternative<event::Booked>(e.what)) wants_ = false;
    const bool again =
        std::holds_alternative<event::Wrong>(e.what) || std::holds_alternative<event::Lost>(e.what);
    if (again) {
      lift_at_ = readings + 5;
      land_at_ = readings + 150;
    }
    if (const auto* c = std::get_if<event::Clip>(&e.what); c && c->what == "lost" && refits)
      clips[c->channel] = index(c->point);
    if (also) also(e);
  }

  void pass_time() {
    ++readings;
    if (lift_at_ == readings) down_ = false;
    if (down_ || readings < land_at_) last_down_ = readings;
    // Nobody said anything: a little beside, then.
    if (land_at_ == readings || (wants_ && readings > last_down_ + 400)) land();
    if (bounce_ > 0 && (readings - landed_at_) % bounce_ == 0 && readings < bounces_until_)
      down_ = !down_;
    if (bounces_until_ == readings) down_ = true;
  }

  void land() {
    if (!lands) return;
    ++landings;
    down_ = true;
    landed_at_ = readings;
    on_ = {target_};
    bounce_ = bounces_until_ = 0;
    if (lands_on.contains(landings)) on_ = {point(lands_on[landings])};
    if (straddles.contains(landings)) on_.insert(point(straddles[landings]));
    if (lifts_after.contains(landings)) lift_at_ = readings + lifts_after[landings];
    if (bounces.contains(landings)) {
      bounce_ = bounces[landings].second;
      bounces_until_ = readings + bounces[landings].first * bounce_;
    }
    if (drops_clip.contains(landings)) clips.erase(drops_clip[landings]);
  }

  [[nodiscard]] std::set<std::size_t> under(int channel) const {
    const bool first = channel == kNeedle || channel == kFork;
    if (first || (channel == kSecond && !clips.contains(kSecond))) {
      if (first != (active_ == 0)) return other_on_;
      return down_ ? on_ : std::set<std::size_t>{};
    }
    const auto at = clips.find(channel);
    return at == clips.end() ? std::set<std::size_t>{} : std::set<std::size_t>{at->second};
  }

  // Ohms between the copper of both rows; the needle's own two tips join what they stand on.
  [[nodiscard]] double ohms(const std::set<std::size_t>& from,
                            const std::set<std::size_t>& to) const {
    const std::size_t n = board_.expectation.points.size();
    Sets hard(n);
    for (const expect::Group& g : board_.expectation.groups) {
      std::optional<std::size_t> first;
      for (const PointId p : g.points) {
        if (alone_.contains(index(p))) continue;
        if (first) hard.unite(*first, index(p));
        first = index(p);
      }
    }
    if (down_) {  // a tip that straddles
      for (const std::size_t p : on_) hard.unite(*on_.begin(), p);
    }
    double soft = INFINITY;
    for (const Tie& t : ties_) {
      if (t.ohms < 1000) hard.unite(t.a, t.b);
    }
    const auto meets = [&](std::size_t p, const std::set<std::size_t>& with) {
      return std::ranges::any_of(with, [&](std::size_t q) { return hard.find(p) == hard.find(q); });
    };
    for (const std::size_t p : from) {
      if (meets(p, to)) return 0.12;
    }
    for (const Tie& t : ties_) {
      if ((meets(t.a, from) && meets(t.b, to)) || (meets(t.b, from) && meets(t.a, to)))
        soft = std::min(soft, t.ohms);
    }
    return soft;
  }

  std::pair<double, unsigned> answer(const SeenStep& s) {
    pass_time();
    if (s.query == "VOLT") return {0.001, 0U};
    if (s.reference) return {s.reference == 1 ? 10.0 : 1e7, 0U};
    std::set<std::size_t> from, to;
    for (const auto& [row, channel] : s.closed) {
      const auto p = under(channel);
      if (row == 1) from.insert(p.begin(), p.end());
      if (row == 2) to.insert(p.begin(), p.end());
    }
    if (s.query == "CONT") return {from.empty() && to.empty() ? 0.0 : 1.0, 0U};
    const bool by_current = s.query.ends_with("RES") && s.amperes > 0.01;
    if (by_current && spoils.contains(landings) && spoils[landings]-- > 0) return {0.1, 8U};
    const double r = ohms(from, to);
    const double most = s.query == "ISOL" ? 1e9 : 1e4;
    if (r > most) return {9.9e37, s.query == "ISOL" ? 1U : 5U};
    return {(s.query == "RES" ? r + 8 : r) + more_ohms, 0U};
  }

  const expect::Board& board_;
  std::vector<Tie> ties_;
  std::set<std::size_t> alone_, on_;
  std::set<std::size_t> other_on_;  // under the needle that is not in use
  std::size_t target_{}, active_{};
  bool down_{false}, wants_{false};
  int last_down_{};
  int lift_at_{}, land_at_{}, landed_at_{}, bounce_{}, bounces_until_{};
};

}  // namespace isthmus::test
