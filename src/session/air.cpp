// SPDX-License-Identifier: Apache-2.0
#include "session/air.hpp"

#include <fmt/format.h>

#include <cmath>
#include <map>

#include "isthmus/base/binary_words.hpp"
#include "isthmus/plan/step_maker.hpp"
#include "session/problems.hpp"

namespace isthmus::session {
namespace {

using plan::Channel;
using plan::Step;

constexpr std::size_t kMostRounds = 4;  // the first, and three for pairs
constexpr std::size_t kBlock = 4;       // channels on a row, where few are to be closed

std::set<Channel> all_of(const plan::Probe& p) {
  std::set<Channel> list{p.channel};
  if (p.twin) list.insert(*p.twin);
  return list;
}

using Channels = std::vector<Channel>;

// All of these on two rows, by the binary words of their numbers.
void add_words(const Channels& all, const plan::StepMaker& make, std::vector<Step>& steps) {
  for (auto& [source, ret] : by_binary_words(all))
    steps.push_back(make.open_in_air(std::move(source), std::move(ret)));
}

// Each two of these, few at a time.
void add_few(const std::set<Channel>& all, const plan::StepMaker& make, std::vector<Step>& steps) {
  std::vector<Channels> blocks;
  for (const Channel c : all) {
    if (blocks.empty() || blocks.back().size() == kBlock) blocks.emplace_back();
    blocks.back().push_back(c);
  }
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    add_words(blocks[i], make, steps);
    for (std::size_t k = 0; k < i; ++k) steps.push_back(make.open_in_air(blocks[k], blocks[i]));
  }
}

// "3 (U1.2) and 27 (R4.1), 49 and 50, and 3 more pairs"
std::string in_words(const std::set<ChannelPair>& pairs,
                     const std::function<std::string(Channel)>& name) {
  constexpr std::size_t kMostNamed = 3;
  std::string text;
  std::size_t n = 0;
  for (const auto& [a, b] : pairs) {
    if (n++ == kMostNamed) {
      const std::size_t more = pairs.size() - kMostNamed;
      return text + fmt::format(", and {} more pair{}", more, more == 1 ? "" : "s");
    }
    text += fmt::format("{}{} and {}", n == 1 ? "" : ", ", name(a), name(b));
  }
  return text;
}

}  // namespace

Hanging hanging(const expect::Board& board, const plan::Plan& plan, std::size_t placement) {
  Hanging out;
  out.contact_check = plan.contact_check;
  std::map<GroupId, std::set<Channel>> by_group;
  for (const plan::Probe& p : plan.placements[placement].probes) {
    const std::set<Channel> own = all_of(p);
    out.channels.insert(own.begin(), own.end());
    if (const auto& group = board.expectation.point(p.point).group)
      by_group[*group].insert(own.begin(), own.end());
    else
      out.together.insert(own);
  }
  for (const auto& [group, channels] : by_group) out.together.insert(channels);
  return out;
}

void add(Hanging& to, const Hanging& more) {
  to.channels.insert(more.channels.begin(), more.channels.end());
  to.together.insert(more.together.begin(), more.together.end());
  to.contact_check = to.contact_check || more.contact_check;
}

std::vector<Step> Air::first() const {
  const plan::StepMaker make({}, hanging_.contact_check, 0);
  const Channels all(hanging_.channels.begin(), hanging_.channels.end());
  std::vector<Step> steps{make.board_voltage({all[0]}, {all.begin() + 1, all.end()})};
  add_words(all, make, steps);
  for (const Channel c : all) {
    if (!hanging_.contact_check) break;
    steps.push_back(make.no_contact(c, true));
    steps.push_back(make.no_contact(c, false));
  }
  for (const std::set<Channel>& each : hanging_.together) add_few(each, make, steps);
  return steps;
}

std::vector<Step> Air::next() {
  if (hanging_.channels.size() < 2 || ++round_ > kMostRounds) return {};
  if (round_ == 1) return first();
  const plan::StepMaker make({}, hanging_.contact_check, 0);
  std::vector<Step> steps;
  for (const auto& [a, b] : unread_) steps.push_back(make.open_in_air({a}, {b}));
  return steps;
}

Result<Done> Air::take(const Step& step, const plan::Reading& reading) {
  const auto* measured = std::get_if<plan::Measured>(&reading.outcome);
  if (step.kind == plan::StepKind::board_voltage) {
    if (measured && std::fabs(measured->value) <= kMostBoardVolts) return Done{};
    return because(Cause::bench, "SES-007",
                   "there is a voltage between the tips, or it could not be read",
                   "let the tips hang in the air, away from everything");
  }
  if (step.kind == plan::StepKind::contact) {
    if (!usable(reading) || (measured && measured->value > 0.5)) always_yes_.insert(step.tip());
    return Done{};
  }
  const bool open = !measured && usable(reading);
  const bool two = step.source.size() == 1 && step.ret.size() == 1;
  for (const Channel a : step.source) {
    for (const Channel b : step.ret) {
      const ChannelPair pair{std::min(a, b), std::max(a, b)};
      if (two && usable(reading)) unread_.erase(pair);
      if (open) continue;
      (two && usable(reading) ? touching_ : unread_).insert(pair);
    }
  }
  return Done{};
}

Result<Done> try_in_air(adapter::Instrument& instrument, const MeasurerSetup& setup,
                        Hanging hanging, const std::function<std::string(Channel)>& name) {
  Measurer measurer(instrument, setup);
  Air air(std::move(hanging));
  measure_what_is_wanted(measurer, air);
  if (auto opened = instrument.open_all(); !opened) measurer.end(opened.problem());
  if (const Ending& why = measurer.ending(); why.any())
    return why.link_failure ? *why.link_failure : *why.stopped;
  if (!air.touching().empty()) {
    return because(Cause::bench, "SES-034",
                   fmt::format("channels {} conduct with all tips in the air: their wires or tips "
                               "touch, or a tip still lies on something",
                               in_words(air.touching(), name)),
                   "lift all tips clear of the board; part the wires or tips; then start again");
  }
  if (!air.always_yes().empty()) {
    const Channel c = *air.always_yes().begin();
    return because(
        Cause::bench, "SES-034",
        fmt::format("the contact check says yes to {} of the tips in the air, channel {} "
                    "among them: it proves nothing",
                    air.always_yes().size(), name(c)),
        "lift all tips clear of the board; see what holds the check's input; then "
        "start again");
  }
  if (!air.unread().empty()) {
    return because(Cause::bench, "SES-035",
                   fmt::format("whether channels {} touch could not be read, three times over",
                               in_words(air.unread(), name)),
                   "look for hum and loose leads; then start again");
  }
  return Done{};
}

}  // namespace isthmus::session
