// SPDX-License-Identifier: Apache-2.0
// The person at the bench: reads what the guide says, fits clips, puts needles down, now and then
// beside their pads, and answers. docs/simulator.md, The hand.
#pragma once

#include <functional>
#include <map>
#include <set>
#include <string_view>
#include <vector>

#include "hostsim/hand/agenda.hpp"
#include "hostsim/hand/event.hpp"
#include "hostsim/hand/held.hpp"
#include "hostsim/hand/landing.hpp"
#include "hostsim/hand/log.hpp"
#include "hostsim/hand/surface.hpp"
#include "hostsim/moving.hpp"
#include "hostsim/scenario/scenario.hpp"

namespace isthmus::hostsim {

class Hand : public Moving {
 public:
  using Answer = std::function<void(std::string_view)>;  // "done", "cannot-reach"...
  // Borrows the surface. Answers are given while time passes.
  Hand(const Scenario& scenario, Surface& surface, Answer answer);

  // A line of the event stream, read at this moment; false where it is none.
  bool hear(std::string_view line, double now);
  // Whether anybody has spoken to it yet.
  [[nodiscard]] bool at_work() const { return at_work_; }
  // Takes everything off the board at once.
  void take_off(double now);
  // Time has passed: does, and says, what was due until now.
  void pass(double now);

  const Laid* moved(double seconds) override;
  [[nodiscard]] double next_change() const override;

 private:
  struct Needle {
    NeedleEvent tips;
    Place at;  // where it stands, or hangs
    bool down{false};
    bool leaves{false};  // was told to land again: whatever is said until then
    Fate fate;
    std::vector<std::vector<Contact>> contacts;  // a list a tip
    std::optional<Skin> skin;
    std::optional<TouchEvent> target;
    int tries{0};
  };
  struct Clip {
    ClipEvent wanted;  // where it belongs
    std::vector<Contact> contacts;
    bool sits{false}, rattles{false};
    bool conducts{false};  // at this moment
  };

  void on_start(const Event& e, double now);
  void on_air(double now);
  void on_clips(const Event& e, double now);
  void on_touch(const TouchEvent& t, double now);
  void on_told(const Event& e, double now);
  void on_clip(const Event& e, double now);
  void on_pause(double now);
  void on_end(double now);

  // Needles: hand.cpp and needles.cpp.
  Needle& needle(std::size_t index);
  void go(std::size_t index, double now);
  [[nodiscard]] double seconds_to(const Needle& n, const TouchEvent& t) const;
  void land(std::size_t index, double now);
  void stand(Needle& n);
  void plan_accidents(std::size_t index, double now);
  void lift(std::size_t index);
  void lift_all();
  void lift_at(std::size_t index, double seconds);
  void forget_plans(std::size_t index);
  void forget(std::size_t index);
  void try_again(std::size_t index, double now);
  void wait_for_word(std::size_t index, double until);

  // Clips: clips.cpp.
  double fit(const std::vector<ClipEvent>& clips, const std::vector<formats::Channel>& remove,
             double from);
  void put_on(formats::Channel channel, const ClipEvent& where);
  void take_off_clip(formats::Channel channel);
  void maybe_drop_a_clip(const Fate& fate, double now);
  void rattle(double seconds);

  void drop_all();
  void say(double seconds, std::string_view word);
  void say_now(double seconds, std::string_view word);
  [[nodiscard]] double paced(double seconds) const { return seconds * hand_.pace; }
  void lay();

  HandDraw hand_;
  ContactDraw contact_;
  std::uint64_t seed_;
  int channels_;
  Surface& surface_;
  Solved solved_;
  Answer answer_;
  HandLog log_;
  Agenda agenda_;
  std::map<std::size_t, Needle> needles_;
  std::map<formats::Channel, Clip> clips_;
  Side up_{Side::top};  // the side of the board in hand
  bool at_work_{false}, changed_{false};
  double busy_until_{0}, last_landing_{0}, now_{0};
  long landings_{0}, fitted_{0}, asked_{0};
  Laid laid_;
};

}  // namespace isthmus::hostsim
