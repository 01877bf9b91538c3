// SPDX-License-Identifier: Apache-2.0
// A trial without a board: with all tips on nothing no two channels may conduct, and no contact
// check may say yes.
#pragma once

#include <set>
#include <utility>

#include "isthmus/diagnose/harness.hpp"
#include "session/loop.hpp"

namespace isthmus::session {

using diagnose::ChannelPair;

// What hangs in the air, and what to ask of it.
struct Hanging {
  std::set<plan::Channel> channels;
  // Of one net, or on one pad: each two of a set are asked with eight switches closed at most, since
  // what the board's own readings rest on must not rest on many switches that pull in at once.
  std::set<std::set<plan::Channel>> together;
  bool contact_check{false};
};
// The channels of a placement; together are those on the points of one group, twins included.
Hanging hanging(const expect::Board& board, const plan::Plan& plan, std::size_t placement);
// Those of both.
void add(Hanging& to, const Hanging& more);

// First that there is no voltage; then all channels by the words of their numbers (each two are on
// different rows once; Kautz 1974), every check, and each two of `together`, four against four. Each
// two across a reading that conducted are asked alone; what could not be read three times.
class Air final : public Knowing {
 public:
  explicit Air(Hanging hanging) : hanging_(std::move(hanging)) {}

  std::vector<plan::Step> next() override;
  Result<Done> take(const plan::Step& step, const plan::Reading& reading) override;

  // After all rounds.
  [[nodiscard]] const std::set<ChannelPair>& touching() const { return touching_; }
  [[nodiscard]] const std::set<plan::Channel>& always_yes() const { return always_yes_; }
  [[nodiscard]] const std::set<ChannelPair>& unread() const { return unread_; }

 private:
  [[nodiscard]] std::vector<plan::Step> first() const;

  Hanging hanging_;
  std::size_t round_{};
  std::set<ChannelPair> touching_, unread_;  // unread: to be asked alone
  std::set<plan::Channel> always_yes_;
};

// Carries the trial out. `name` says a channel as people know it. Errors: SES-034 what touches, or
// which check says yes; SES-035 what could not be read; SES-007 voltage; SES-008; what the link says.
Result<Done> try_in_air(adapter::Instrument& instrument, const MeasurerSetup& setup,
                        Hanging hanging, const std::function<std::string(plan::Channel)>& name);

}  // namespace isthmus::session
