// SPDX-License-Identifier: Apache-2.0
// Notices, by measuring alone, that a needle lands, bounces and is lifted.
#pragma once

#include "isthmus/plan/hand.hpp"
#include "session/measurer.hpp"

namespace isthmus::session {

// What it may be heard against.
struct Watched {
  plan::Needle needle;
  std::vector<plan::Channel> far;  // clips, and needles that stand
  bool contact_check{false};
};

// A contact is steady once it was unbroken for 100 ms, and gone after 20 ms without one; adapter
// time, counted low by what its readings must take. Common practice, no source.
class Watch {
 public:
  Watch(adapter::Instrument& instrument, MeasurerSetup setup)
      : instrument_(instrument), setup_(std::move(setup)) {}

  void on(Watched what);
  // It stands still on the last pad: what comes next counts only once it was lifted.
  void must_lift() { lifted_ = false; }
  // For the next landing of the same.
  void on_again() {
    touching_s_ = 0;
    begun_s_ = clock_s_;
  }
  // A handful of readings, 25 ms at most. What ends them is in ending().
  void look();
  [[nodiscard]] bool steady() const;
  [[nodiscard]] bool gone() const;
  // Nothing can tell that this needle touches.
  [[nodiscard]] bool blind() const;
  [[nodiscard]] double looked_s() const { return clock_s_ - begun_s_; }  // since on()
  [[nodiscard]] double clock_s() const { return clock_s_; }              // since it was made
  [[nodiscard]] const Ending& ending() const { return ending_; }

  // To which of these channels it conducts, each asked alone.
  std::vector<plan::Channel> conducts_to(const std::vector<plan::Channel>& channels);

 private:
  void count(bool touches);
  bool let_time_pass();
  void measure(const std::vector<plan::Step>& steps, const Measurer::Arrived& arrived);
  [[nodiscard]] plan::Step step() const;

  adapter::Instrument& instrument_;
  MeasurerSetup setup_;
  Watched what_;
  bool lifted_{true};
  bool waits_{true};  // the simulator knows how to let time pass
  double reading_s_{}, touching_s_{}, open_s_{}, clock_s_{}, begun_s_{};
  Ending ending_;
};

}  // namespace isthmus::session
