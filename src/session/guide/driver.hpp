// SPDX-License-Identifier: Apache-2.0
// Which landing is asked for next, and what becomes of it.
#pragma once

#include <deque>
#include <set>

#include "session/guide/hand_run.hpp"
#include "session/guide/pace.hpp"
#include "session/guide/watch.hpp"

namespace isthmus::session {

class Driver {
 public:
  Driver(const expect::Board& board, const plan::HandPlan& plan, adapter::Instrument& instrument,
         HandRun& run, const GuideHooks& hooks);

  void start(const record::RunHead& head);
  // All tips and clips apart. SES-034 where some conduct all the same.
  void air();
  void round(std::size_t number);
  [[nodiscard]] bool going() const { return !quit_ && !run_.ended(); }
  [[nodiscard]] bool complete() const { return going() && left_out_ == 0; }
  void end(diagnose::Verdict verdict) { tell(event::End{verdict}); }

 private:
  struct Job {
    plan::Touch touch;
    std::string why{};  // empty: planned
    bool again{false};
    int lost{};
    int wrong{};                             // times that the same was heard instead
    std::vector<plan::Channel> heard{};      // then
    std::vector<plan::Channel> heard_own{};  // of its own net, at this landing
  };
  struct BookedJob {
    Job job;
    std::size_t placement{};
  };
  // How waiting for a landing ended.
  enum class Came { landed, given_up, ended };

  void tell(decltype(Event::what) what);
  std::optional<Answer> answer();
  std::optional<Answer> wait_for_answer();  // nothing: it ended
  bool wait_for_done();
  void idle();

  void fit(std::size_t number);
  void foretell(const Job& job);
  void attend(Job job);
  Came wait(Job& job);
  bool take(const Answer& a, Job& job);
  enum class Pad { right, wrong, later };
  Pad pad_of(Job& job);
  enum class Swapped { no, perhaps, yes };
  Swapped exchanged(const Job& job, const std::vector<plan::Channel>& heard);
  [[nodiscard]] bool can_be_noticed(const Job& job) const;
  [[nodiscard]] bool next_notices(const Job& job);
  void stand(const Job& job);
  void silent(const Job& job);
  void book(Job& job, const HandRun::Landed& landed);
  void compare_with_before(bool at_end);
  void tell_clips();
  void tell_findings();
  void mended(const std::string& which);
  bool offer_rework();
  void tell_coverage();
  [[nodiscard]] double now_s() const;
  void ask_more(bool at_end);
  bool ask(const std::vector<PointId>& places, const std::string& why,
           std::optional<PointId> beside = std::nullopt);
  bool stand_beside(const plan::Touch& touch, PointId at, const std::string& why);
  void undo();
  void pause(std::size_t touch);
  void lay_down(Job job);
  void announce(const Job& job, bool noticed);

  [[nodiscard]] std::optional<plan::Touch> touch_at(PointId point) const;
  [[nodiscard]] plan::Placement placement_for(const Job& job) const;
  [[nodiscard]] std::vector<plan::Channel> idle_beside(const plan::Placement& p) const;
  [[nodiscard]] std::vector<PointId> points_near(const std::vector<plan::Channel>& clips,
                                                 const Job& job) const;
  [[nodiscard]] const plan::Needle& tips(const Job& job) const {
    return round_.needles[job.touch.needle];
  }

  const expect::Board& board_;
  const plan::HandPlan& plan_;
  adapter::Instrument& instrument_;
  HandRun& run_;
  const GuideHooks& hooks_;
  Watch watch_;
  plan::Round round_;
  std::size_t number_{};  // of the round, from 0
  Pace pace_;
  std::deque<Job> queue_;
  std::vector<BookedJob> booked_;
  std::map<std::size_t, plan::Standing> stands_;  // by needle
  std::map<std::pair<PointId, std::string>, int> asked_;
  std::map<plan::Channel, plan::Channel> answered_instead_;  // clip: the one that did
  std::set<plan::Channel> proven_;
  std::set<plan::Channel> answered_;  // clips that a needle on their own net conducted to
  std::vector<PointId> cannot_reach_;
  struct Told {
    diagnose::Finding finding;
    bool withdrawn{false};
  };
  std::vector<Told> told_;
  std::uint32_t n_{};
  std::size_t touch_{}, left_out_{};
  Side up_{Side::top};
  std::set<std::size_t> standing_;  // needles that were not seen to be lifted since they were read
  std::map<plan::Channel, std::set<PointId>> silent_;  // places that did not hear the clip
  bool quit_{false};
};

}  // namespace isthmus::session
