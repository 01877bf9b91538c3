// SPDX-License-Identifier: Apache-2.0
#include "session/guide/driver.hpp"

#include <algorithm>

#include "session/air.hpp"
#include "session/problems.hpp"

namespace isthmus::session {
namespace {

constexpr int kMostLost = 12;    // landings at one place of which none could be read to the end
constexpr double kNobody = 900;  // s of a simulator's time without a landing
constexpr std::size_t kCoverageEvery = 8;

std::string_view name(diagnose::Landing::Isolation i) {
  switch (i) {
    case diagnose::Landing::Isolation::good:
      return "good";
    case diagnose::Landing::Isolation::conducts:
      return "conducts";
    case diagnose::Landing::Isolation::not_read:
      return "not-read";
  }
  return "";
}

Problem nobody_there() {
  return because(Cause::bench, "HND-014", "no needle landed for a quarter of an hour",
                 "a simulated bench needs a hand: in its scenario");
}

}  // namespace

Driver::Driver(const expect::Board& board, const plan::HandPlan& plan,
               adapter::Instrument& instrument, HandRun& run, const GuideHooks& hooks)
    : board_(board),
      plan_(plan),
      instrument_(instrument),
      run_(run),
      hooks_(hooks),
      watch_(instrument, run.bare_setup()) {}

void Driver::tell(decltype(Event::what) what) {
  if (hooks_.tell) hooks_.tell({++n_, std::move(what)});
}

std::optional<Answer> Driver::answer() { return hooks_.heard ? hooks_.heard() : std::nullopt; }

void Driver::start(const record::RunHead& head) {
  event::Start s{
      head.board,        head.stage,        instrument_.capabilities().channels, {}, plan_.touches,
      plan_.minutes_low, plan_.minutes_high};
  if (!plan_.rounds.empty()) s.needles = plan_.rounds.front().needles;
  tell(std::move(s));
}

// Time passes by measuring alone, on a simulated bench too.
void Driver::idle() {
  watch_.look();
  if (watch_.ending().any()) {
    const Ending& why = watch_.ending();
    run_.stop(why.link_failure ? *why.link_failure : *why.stopped);
  }
  if (instrument_.capabilities().simulated && watch_.looked_s() > kNobody)
    run_.stop(nobody_there());
}

std::optional<Answer> Driver::wait_for_answer() {
  while (going()) {
    if (auto a = answer()) return a;
    idle();
  }
  return std::nullopt;
}

bool Driver::wait_for_done() {
  while (const auto a = wait_for_answer()) {
    if (a->kind == Answer::Kind::done) return true;
    if (a->kind == Answer::Kind::quit) quit_ = true;
    if (a->kind == Answer::Kind::skip || a->kind == Answer::Kind::again) return false;
  }
  return false;
}

void Driver::air() {
  Hanging all;
  all.contact_check = run_.knowledge().plan().contact_check;
  for (const plan::Round& r : plan_.rounds) {
    for (const plan::Needle& n : r.needles) {
      all.channels.insert(n.channel);
      if (n.fork) all.channels.insert(*n.fork);
    }
    for (const plan::HandClip& c : r.clips) all.channels.insert(c.channel);
  }
  if (all.channels.size() < 2) return;
  all.together.insert(all.channels);
  const auto& needle = plan_.rounds.front().needles.front();
  std::vector<plan::Channel> far(all.channels.begin(), all.channels.end());
  std::erase(far, needle.channel);
  watch_.on({{needle.channel, std::nullopt}, far, false});
  tell(event::Air{});
  if (!wait_for_done()) return;
  const auto tried = try_in_air(instrument_, run_.bare_setup(), std::move(all),
                                [](plan::Channel c) { return std::to_string(c); });
  if (!tried) return run_.stop(tried.problem());
  run_.in_air(true);
}

void Driver::fit(std::size_t number) {
  event::Clips e{number + 1, plan_.rounds.size(), plan_.rounds[number].clips, {}};
  if (number > 0) {
    for (const plan::HandClip& old : plan_.rounds[number - 1].clips) {
      if (std::ranges::find(e.clips, old) == e.clips.end()) e.remove.push_back(old.channel);
    }
  }
  if (!e.clips.empty() || !e.remove.empty()) tell(std::move(e));
}

void Driver::round(std::size_t number) {
  number_ = run_.first_round() + number;
  round_ = plan_.rounds[number];
  stands_.clear();
  proven_.clear();
  answered_.clear();
  asked_.clear();
  silent_.clear();
  answered_instead_.clear();
  for (const plan::Touch& t : round_.touches) queue_.push_back({.touch = t});
  fit(number);
  pace_.rested(now_s());
  for (const Job& job : queue_) foretell(job);
  while (going()) {
    if (queue_.empty() && run_.resuming()) compare_with_before(true);
    if (queue_.empty()) ask_more(true);
    if (queue_.empty()) tell_findings();
    const bool last = number + 1 == plan_.rounds.size();
    if (queue_.empty() && !(last && offer_rework())) break;
    Job job = std::move(queue_.front());
    queue_.pop_front();
    attend(std::move(job));
  }
  if (!told_.empty()) tell_findings();
  tell_coverage();
}

plan::Placement Driver::placement_for(const Job& job) const {
  const plan::Standing here{job.touch.needle, job.touch.point, job.touch.side, job.touch.at};
  std::vector<plan::Standing> others;
  for (const auto& [needle, standing] : stands_) {
    if (needle != job.touch.needle && job.touch.other_stands) others.push_back(standing);
  }
  plan::Placement p = plan::placement_of(board_, round_, touch_ + 1, here, others);
  p.round = number_;
  return p;
}

// Of needles that stand nowhere.
std::vector<plan::Channel> Driver::idle_beside(const plan::Placement& p) const {
  std::vector<plan::Channel> list;
  for (const plan::Needle& n : round_.needles) {
    if (std::ranges::find(p.probes, n.channel, &plan::Probe::channel) == p.probes.end())
      list.push_back(n.channel);
  }
  return list;
}

// With it, while its copper is solved, what will be touched of the same later on: touches go to and fro
// between the nets, and solving a piece anew for each takes long.
void Driver::foretell(const Job& job) {
  const plan::Placement p = placement_for(job);
  if (!run_.foretell(p, tips(job).channel)) return;
  const auto own = plan::own_channels(board_, p, tips(job).channel);
  for (const Job& later : queue_) {
    if (later.touch.other_stands) continue;
    const plan::Placement q = placement_for(later);
    if (plan::own_channels(board_, q, tips(later).channel) == own)
      run_.foretell(q, tips(later).channel);
  }
}

// One job, until it is booked or given up: a landing that does not count is asked for again.
void Driver::attend(Job job) {
  for (auto it = stands_.begin(); it != stands_.end();) {
    const bool goes = it->first != job.touch.needle && !job.touch.other_stands;
    if (goes) tell(event::Lift{it->first});
    it = goes ? stands_.erase(it) : std::next(it);
  }
  foretell(job);
  const plan::Placement p = placement_for(job);
  Watched watched{tips(job), {}, run_.knowledge().plan().contact_check};
  for (const plan::Probe& probe : p.probes) {
    if (probe.channel != tips(job).channel) watched.far.push_back(probe.channel);
  }
  watch_.on(std::move(watched));
  const bool noticed = can_be_noticed(job);
  ++touch_;
  if (!noticed && next_notices(job)) {
    announce(job, false);
    stand(job);
    return;
  }
  announce(job, true);
  pace_.begin(now_s());
  if (!noticed) {
    tell(event::Note{"skipped", touch_, "nothing can tell that this needle touches"});
    ++left_out_;
    return;
  }
  if (standing_.erase(job.touch.needle) > 0) watch_.must_lift();
  while (going() && wait(job) == Came::landed) {
    tell(event::Landed{touch_});
    const Pad pad = pad_of(job);
    if (!going()) return;
    if (pad == Pad::later) {
      standing_.insert(job.touch.needle);
      return;
    }
    if (pad == Pad::wrong) {
      watch_.must_lift();
      continue;
    }
    const plan::Placement now = placement_for(job);
    const HandRun::Landed landed =
        run_.land(now, tips(job).channel, {job.heard_own, idle_beside(now)});
    if (!going()) return;
    if (!landed.what.held) {
      tell(event::Lost{touch_});
      job.again = true;
      job.why = "bounced";
      watch_.must_lift();  // it may stand there still: else the same is read and lost for ever
      if (++job.lost < kMostLost) continue;
      tell(event::Note{"skipped", touch_, "it could not be read"});
      ++left_out_;
      return;
    }
    return book(job, landed);
  }
}

// A single tip is heard by what it conducts to alone.
bool Driver::can_be_noticed(const Job& job) const {
  if (watch_.blind()) return false;
  if (tips(job).fork) return true;
  const bool meter_is_seen = !instrument_.capabilities().references.empty();
  if (run_.knowledge().plan().contact_check && meter_is_seen) return true;
  return !plan::own_channels(board_, placement_for(job), tips(job).channel).empty();
}

void Driver::stand(const Job& job) {
  const plan::Touch& t = job.touch;
  stands_[t.needle] = {t.needle, t.point, t.side, t.at};
}

// The other needle comes next, to the same piece of copper, while this one stays.
bool Driver::next_notices(const Job& job) {
  if (queue_.empty()) return false;
  const Job& next = queue_.front();
  if (!next.touch.other_stands || next.touch.needle == job.touch.needle) return false;
  const auto before = stands_;
  stand(job);
  const auto own = plan::own_channels(board_, placement_for(next), tips(next).channel);
  stands_ = before;
  return std::ranges::find(own, tips(job).channel) != own.end();
}

Driver::Came Driver::wait(Job& job) {
  watch_.on_again();
  while (going()) {
    if (const auto a = answer()) {
      if (!take(*a, job)) return going() ? Came::given_up : Came::ended;
      continue;
    }
    if (watch_.steady()) return Came::landed;
    idle();
  }
  return Came::ended;
}

// False where the job is not waited for any longer.
bool Driver::take(const Answer& a, Job& job) {
  switch (a.kind) {
    case Answer::Kind::done:
    case Answer::Kind::resume:
    case Answer::Kind::again:
      return true;
    case Answer::Kind::skip:
      tell(event::Note{"skipped", touch_, a.why});
      ++left_out_;
      return false;
    case Answer::Kind::cannot_reach:
      tell(event::Note{"skipped", touch_, "cannot reach"});
      cannot_reach_.push_back(job.touch.point);
      ++left_out_;
      silent(job);
      return false;
    case Answer::Kind::undo:
      queue_.push_front(job);
      undo();
      return false;
    case Answer::Kind::pause:
      pause(touch_);
      lay_down(job);
      return false;
    case Answer::Kind::mended:
      mended(a.why);
      return false;
    case Answer::Kind::quit:
      quit_ = true;
      return false;
  }
  return true;
}

void Driver::pause(std::size_t touch) {
  tell(event::Note{"pause", touch, ""});
  while (const auto a = wait_for_answer()) {
    if (a->kind == Answer::Kind::quit) quit_ = true;
    if (a->kind == Answer::Kind::resume) break;
  }
  pace_.rested(now_s());
  if (going()) tell(event::Note{"resume", touch, ""});
}

// Over a pause needles are laid down: what stood is asked for again, and then this.
void Driver::lay_down(Job job) {
  const bool other_stands = job.touch.other_stands;
  job.again = true;
  queue_.push_front(std::move(job));
  if (!other_stands) return;
  for (const auto& [needle, standing] : stands_) {
    if (needle == queue_.front().touch.needle) continue;
    plan::Touch t;
    t.needle = needle;
    t.point = standing.point;
    t.side = standing.side;
    t.at = standing.at;
    queue_.push_front({.touch = t, .again = true});
    break;
  }
}

void Driver::undo() {
  if (booked_.empty()) return;
  BookedJob last = std::move(booked_.back());
  booked_.pop_back();
  run_.take_back(last.placement, "undone");
  tell(event::Note{"undone", touch_, board_.expectation.point(last.job.touch.point).id});
  last.job.again = true;
  queue_.push_front(std::move(last.job));
}

void Driver::book(Job& job, const HandRun::Landed& landed) {
  using Isolation = diagnose::Landing::Isolation;
  standing_.insert(job.touch.needle);
  tell(event::Read{touch_, landed.what.ohms,
                   landed.predicted ? std::optional(landed.predicted->ohms) : std::nullopt,
                   std::string(name(landed.what.isolation)), landed.what.against});
  const bool fault = landed.what.apart || landed.what.isolation == Isolation::conducts;
  const bool good = !fault && !landed.what.too_much && landed.what.isolation == Isolation::good;
  tell(event::Booked{touch_, good ? "good" : fault ? "fault" : "high-resistance"});
  stand(job);
  pace_.booked(now_s());
  booked_.push_back({job, landed.placement});
  if (landed.what.conducts) {
    for (const plan::Channel c : plan::own_channels(board_, placement_for(job), tips(job).channel))
      answered_.insert(c);
  }
  tell_clips();
  if (landed.what.apart) silent(job);
  if (run_.resuming()) compare_with_before(false);
  const bool now_and_then = booked_.size() % kCoverageEvery == 0;
  if (!good || !job.why.empty() || (now_and_then && !told_.empty())) tell_findings();
  if (!good || !job.why.empty()) ask_more(false);
  if (now_and_then) tell_coverage();
}

// Whether it is the board of the run before, once enough was read to tell.
void Driver::compare_with_before(bool at_end) {
  constexpr std::size_t kEnough = 8;
  const HandRun::Agreement a = run_.agreement();
  if (a.differing == 0 && a.compared < kEnough && !at_end) return;
  const bool holds = a.differing == 0 && a.compared >= kEnough;
  run_.settle_carried(holds);
  if (!holds || !hooks_.left) return;
  // What clips still lack, then what the list does.
  const auto unproven = run_.knowledge().unproven_clips(number_);
  std::erase_if(queue_, [&](const Job& j) {
    const auto own = plan::own_channels(board_, placement_for(j), tips(j).channel);
    return std::ranges::none_of(
        own, [&](plan::Channel c) { return std::ranges::find(unproven, c) != unproven.end(); });
  });
  for (const plan::Touch& t : hooks_.left(round_, run_.knowledge().facts(), cannot_reach_))
    queue_.push_back({.touch = t});
}

}  // namespace isthmus::session
