// SPDX-License-Identifier: Apache-2.0
#include "session/guide/hand_run.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "session/outcome.hpp"
#include "session/problems.hpp"
#include "session/voltage.hpp"

namespace isthmus::session {
namespace {

constexpr Amperes kGentle{1e-3}, kFull{std::numeric_limits<double>::infinity()};
constexpr std::size_t kMostRounds = 12;       // of wanted steps at one landing
constexpr std::size_t kReferencesEvery = 16;  // landings: they stand beside the matrix

}  // namespace

Foretold::Foretold(const expect::Board& board, Nanometres tip)
    : board_(board), tip_(tip), resistances_(plan::resistances_of(board)) {}

std::optional<copper::Predicted> Foretold::between(const plan::Probe& a, const plan::Probe& b) {
  const End here{a.point, a.side}, there{b.point, b.side};
  const std::pair<End, End> key = std::minmax(here, there);
  const auto [it, fresh] = known_.try_emplace(key);
  if (!fresh) return it->second;
  const auto electrode = [&](const plan::Probe& p) {
    return p.side == Side::both ? expect::electrode_of(board_, p.point, tip_)
                                : expect::electrode_at(board_, p.point, p.side, tip_);
  };
  const auto from = electrode(a), to = electrode(b);
  if (!from || !to) return std::nullopt;
  const std::size_t piece = resistances_->piece_of(from->island);
  if (piece != resistances_->piece_of(to->island)) return std::nullopt;
  if (std::exchange(piece_, piece) != piece) resistances_->forget();
  return it->second = resistances_->between(*from, *to);
}

HandRun::HandRun(const With& with, plan::Plan plan, const std::vector<plan::Reading>& carried)
    : with_(with),
      carried_(carried.size()),
      carried_placements_(plan.placements.size()),
      knowledge_(with.board, std::move(plan)),
      foretold_(with.board, knowledge_.plan().tip),
      measurer_(with.instrument, measurer_setup()),
      recorded_(knowledge_.plan().steps.size()) {
  for (const plan::Placement& p : knowledge_.plan().placements)
    first_round_ = std::max(first_round_, p.round.value_or(0) + 1);
  std::uint32_t sequence = 0;
  for (plan::Reading r : carried) {
    r.sequence = sequence++;
    measurer_.keep(write(r));
    knowledge_.take(r);
  }
}

namespace {

using Ends = std::pair<PointId, PointId>;

// The least that was read between two touched places: contact resistance only adds.
std::map<Ends, plan::Measured> resistances_of(const plan::Plan& plan,
                                              std::span<const plan::Reading> readings) {
  std::map<Ends, plan::Measured> list;
  for (const plan::Reading& r : readings) {
    const plan::Step& step = plan.step(r.step);
    const auto* m = std::get_if<plan::Measured>(&r.outcome);
    if (step.kind != plan::StepKind::continuity || step.wanted || !m || !usable(r)) continue;
    if (!plan.placements[step.placement].taken_back.empty()) continue;
    const auto [it, fresh] =
        list.try_emplace(std::minmax(step.points.at(0), step.points.at(1)), *m);
    if (!fresh && m->value < it->second.value) it->second = *m;
  }
  return list;
}

// Two contacts in either, and another landing each time. Common practice, no source.
bool agree(const plan::Measured& then, const plan::Measured& now, const plan::Plan& plan) {
  constexpr double kTips = 0.2, kTwoWires = 2, kShare = 0.02;
  return std::fabs(now.value - then.value) <= 3 * std::hypot(then.uncertainty, now.uncertainty) +
                                                  kShare * std::fabs(then.value) + kTips +
                                                  (plan.wires == 2 ? kTwoWires : 0);
}

}  // namespace

HandRun::Agreement HandRun::agreement() const {
  const std::span<const plan::Reading> all(knowledge_.readings());
  const plan::Plan& plan = knowledge_.plan();
  const auto then = resistances_of(plan, all.first(carried_));
  const auto now = resistances_of(plan, all.subspan(carried_));
  Agreement out;
  for (const auto& [ends, value] : now) {
    const auto old = then.find(ends);
    if (old == then.end()) continue;
    ++out.compared;
    out.differing += !agree(old->second, value, plan);
  }
  return out;
}

void HandRun::settle_carried(bool holds) {
  const std::size_t touches = std::exchange(carried_placements_, 0);
  carried_ = 0;
  for (std::size_t p = 0; !holds && p < touches; ++p) {
    if (knowledge_.plan().placements[p].taken_back.empty()) take_back(p, "not the same board");
  }
  remarks_.push_back(
      holds ? "continues a run that broke off: its touches are carried over"
            : "a run that broke off was not continued, the board does not read as it did or too "
              "little could be compared: everything was touched anew");
}

MeasurerSetup HandRun::bare_setup() const {
  MeasurerSetup setup;
  setup.wires = knowledge_.plan().wires;
  setup.interrupted = with_.interrupted;
  return setup;
}

MeasurerSetup HandRun::measurer_setup() {
  MeasurerSetup setup = bare_setup();
  setup.journal = this;
  setup.first_sequence = static_cast<std::uint32_t>(carried_);
  return setup;
}

Result<Done> HandRun::write(const plan::Reading& reading) {
  return with_.record.add_reading(with_.id, reading);
}

void HandRun::record_new_steps() {
  const auto& all = knowledge_.plan().steps;
  if (all.size() == recorded_) return;
  measurer_.keep(with_.record.add_steps(
      with_.id, {all.begin() + static_cast<std::ptrdiff_t>(recorded_), all.end()}));
  recorded_ = all.size();
}

void HandRun::measure(std::vector<plan::Step> steps, bool gently) {
  record_new_steps();
  with_.instrument.drive(gently ? kGentle : kFull);
  measurer_.measure(steps, [&](const plan::Step& step, const plan::Reading& r) -> Result<Done> {
    knowledge_.take(r);
    if (step.kind != plan::StepKind::board_voltage) return Done{};
    return judge_voltage(knowledge_.plan(), step, r.outcome);
  });
}

bool HandRun::foretell(const plan::Placement& placement, plan::Channel needle) {
  bool fresh = false;
  for (const plan::Channel c : plan::own_channels(with_.board, placement, needle)) {
    const plan::Probe &here = placement.probe(needle), &there = placement.probe(c);
    fresh = fresh || !foretold_.knows(here, there);
    foretold_.between(here, there);
  }
  return fresh;
}

bool HandRun::proves_itself(const plan::Placement& p, plan::Channel needle) const {
  return knowledge_.plan().contact_check || p.probe(needle).twin;
}

HandRun::Landed HandRun::land(plan::Placement placement, plan::Channel needle,
                              plan::AtLanding known) {
  known.with_references = knowledge_.plan().placements.size() % kReferencesEvery == 0;
  placement.tried_in_air = tried_in_air_;
  const std::size_t at = knowledge_.land(std::move(placement));
  const plan::Placement& p = knowledge_.plan().placements[at];
  const bool by_itself = proves_itself(p, needle);
  measurer_.keep(with_.record.add_placement(with_.id, at, p));
  plan::Means means{knowledge_.plan().wires, with_.instrument.capabilities().references};
  plan::LandingSteps steps = plan::steps_of_landing(with_.board, knowledge_.plan(), at, needle,
                                                    means, knowledge_.next_block(), known);
  Landed out{at, {}, std::nullopt};
  for (plan::Step& s : steps.resistance) {
    if (s.kind != plan::StepKind::continuity) continue;
    s.predicted = foretold_.between(p.probe(s.source[0]), p.probe(s.ret[0]));
    if (!out.predicted) out.predicted = s.predicted;
  }
  const auto lost = [&] {
    out.what = knowledge_.landing(at, needle);
    // By its clip alone it was heard to land: over-range since then is a needle that was lifted.
    return ended() || !out.what.held || (out.what.apart && !by_itself);
  };
  measure(knowledge_.append(std::move(steps.gentle)), true);
  if (!lost() && !steps.resistance.empty())
    measure(knowledge_.append(std::move(steps.resistance)), false);
  const auto clear = [&] {  // as it should be: nothing more is to be asked
    return !out.what.apart && !out.what.unread && !out.what.too_much &&
           out.what.isolation == diagnose::Landing::Isolation::good;
  };
  bool asked = false;
  for (std::size_t round = 0; !lost() && !clear() && round < kMostRounds; ++round) {
    std::vector<plan::Step> wanted = knowledge_.next(at);
    if (wanted.empty()) break;
    asked = true;
    const bool isolates = std::ranges::any_of(
        wanted, [](const plan::Step& s) { return s.kind == plan::StepKind::isolation; });
    measure(std::move(wanted), isolates);
  }
  // What other landings do not tell either.
  if (lost() || (out.what.unread && asked)) {
    out.what.held = false;
    take_back(at, "lost");
  } else {
    ++booked_;
    measurer_.keep(with_.record.placement_done(with_.id, at));
  }
  return out;
}

void HandRun::take_back(std::size_t placement, const std::string& why) {
  knowledge_.take_back(placement, why);
  measurer_.keep(with_.record.take_back(with_.id, placement, why));
}

void HandRun::rework(const std::vector<PointId>& points) {
  knowledge_.rework(points);
  const auto& all = knowledge_.plan().reworked;
  measurer_.keep(with_.record.add_rework(with_.id, all.size() - 1, all.back()));
}

Outcome HandRun::finish(bool complete) {
  if (!measurer_.ending().link_failure) measurer_.keep(with_.instrument.open_all());
  return close_run(with_.record, {with_.id, booked_, complete && !ended()}, knowledge_, measurer_);
}

}  // namespace isthmus::session
