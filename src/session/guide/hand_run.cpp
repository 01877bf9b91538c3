// SPDX-License-Identifier: Apache-2.0
#include "session/guide/hand_run.hpp"

#include <algorithm>
#include <limits>

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
  const auto key = std::minmax(End{a.point, a.side}, End{b.point, b.side});
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

HandRun::HandRun(const expect::Board& board, adapter::Instrument& instrument,
                 record::Record& record, record::RunId id, plan::Plan plan,
                 const std::function<bool()>& interrupted)
    : board_(board),
      instrument_(instrument),
      record_(record),
      interrupted_(interrupted),
      id_(id),
      knowledge_(board, std::move(plan)),
      foretold_(board, knowledge_.plan().tip),
      measurer_(instrument, measurer_setup()) {}

MeasurerSetup HandRun::bare_setup() const {
  MeasurerSetup setup;
  setup.wires = knowledge_.plan().wires;
  setup.interrupted = interrupted_;
  return setup;
}

MeasurerSetup HandRun::measurer_setup() {
  MeasurerSetup setup = bare_setup();
  setup.journal = this;
  return setup;
}

Result<Done> HandRun::write(const plan::Reading& reading) {
  return record_.add_reading(id_, reading);
}

void HandRun::record_new_steps() {
  const auto& all = knowledge_.plan().steps;
  if (all.size() == recorded_) return;
  measurer_.keep(
      record_.add_steps(id_, {all.begin() + static_cast<std::ptrdiff_t>(recorded_), all.end()}));
  recorded_ = all.size();
}

void HandRun::measure(std::vector<plan::Step> steps, bool gently) {
  record_new_steps();
  instrument_.drive(gently ? kGentle : kFull);
  measurer_.measure(steps, [&](const plan::Step& step, const plan::Reading& r) -> Result<Done> {
    knowledge_.take(r);
    if (step.kind != plan::StepKind::board_voltage) return Done{};
    return judge_voltage(knowledge_.plan(), step, r.outcome);
  });
}

void HandRun::foretell(const plan::Placement& placement, plan::Channel needle) {
  for (const plan::Channel c : plan::own_channels(board_, placement, needle))
    foretold_.between(placement.probe(needle), placement.probe(c));
}

bool HandRun::proves_itself(const plan::Placement& p, plan::Channel needle) const {
  return knowledge_.plan().contact_check || p.probe(needle).twin;
}

HandRun::Landed HandRun::land(plan::Placement placement, plan::Channel needle) {
  placement.tried_in_air = tried_in_air_;
  const std::size_t at = knowledge_.land(std::move(placement));
  const plan::Placement& p = knowledge_.plan().placements[at];
  const bool by_itself = proves_itself(p, needle);
  measurer_.keep(record_.add_placement(id_, at, p));
  plan::Means means{knowledge_.plan().wires, instrument_.capabilities().references};
  plan::LandingSteps steps =
      plan::steps_of_landing(board_, knowledge_.plan(), at, needle, means, knowledge_.next_block(),
                             at % kReferencesEvery == 0);
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
  for (std::size_t round = 0; !lost() && round < kMostRounds; ++round) {
    std::vector<plan::Step> wanted = knowledge_.next(at);
    if (wanted.empty()) break;
    const bool by_current = std::ranges::any_of(
        wanted, [](const plan::Step& s) { return s.kind == plan::StepKind::resistance; });
    measure(std::move(wanted), !by_current);
  }
  if (lost()) {
    out.what.held = false;
    take_back(at, "lost");
  } else {
    ++booked_;
    measurer_.keep(record_.placement_done(id_, at));
  }
  return out;
}

void HandRun::take_back(std::size_t placement, const std::string& why) {
  knowledge_.take_back(placement, why);
  measurer_.keep(record_.take_back(id_, placement, why));
}

Outcome HandRun::finish(bool complete) {
  if (!measurer_.ending().link_failure) measurer_.keep(instrument_.open_all());
  complete = complete && !ended();
  Outcome out;
  out.run = id_;
  out.plan = knowledge_.plan();
  out.readings = knowledge_.readings();
  out.link_failure = measurer_.ending().link_failure;
  out.stopped = measurer_.ending().stopped;
  record::RunResult& result = out.result;
  result.seconds = measurer_.seconds();
  result.placements = booked_;
  result.state = complete ? "done" : "broken off";
  if (out.stopped) result.problem = out.stopped->message;
  if (out.link_failure) result.problem = out.link_failure->message;
  result.measurements = out.readings.size();
  result.diagnosis = knowledge_.diagnosis(complete);
  if (out.link_failure) result.diagnosis.verdict = diagnose::Verdict::incomplete;
  if (auto kept = record_.finish(id_, result); !kept && !out.stopped) out.stopped = kept.problem();
  return out;
}

}  // namespace isthmus::session
