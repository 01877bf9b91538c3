// SPDX-License-Identifier: Apache-2.0
// A trial without a board: with all tips on nothing no two channels may conduct, and no contact
// check may say yes.
#pragma once

#include <set>
#include <utility>

#include "session/loop.hpp"

namespace isthmus::session {

using ChannelPair = std::pair<plan::Channel, plan::Channel>;

// What hangs in the air, and what to ask of it.
struct Hanging {
  std::set<plan::Channel> channels;
  // Two of one net, or on one pad: asked alone, with no other switch closed, since what the board's
  // own readings rest on must not itself rest on many switches that pull in at once.
  std::set<ChannelPair> alone;
  bool contact_check{false};

  // Each two of these.
  void all_alone();
};
// The channels of a placement; alone are those on the points of one group, twins included.
Hanging hanging(const expect::Board& board, const plan::Plan& plan, std::size_t placement);
// Those of both.
void add(Hanging& to, const Hanging& more);

// First that there is no voltage; then all channels by the words of their numbers (each two are on
// different rows once; Kautz 1974), every check, and each pair of `alone`. What could not be read is
// asked three times.
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
  [[nodiscard]] std::vector<plan::Step> pairs(const std::set<ChannelPair>& of) const;

  Hanging hanging_;
  std::size_t round_{};
  std::set<ChannelPair> suspects_;  // across a word that conducted
  std::set<ChannelPair> touching_, unread_;
  std::set<plan::Channel> always_yes_;
};

// Carries the trial out. `name` says a channel as people know it. Errors: SES-034 what touches, or
// which check says yes; SES-035 what could not be read; SES-007 voltage; SES-008; what the link says.
Result<Done> try_in_air(adapter::Instrument& instrument, const MeasurerSetup& setup,
                        Hanging hanging, const std::function<std::string(plan::Channel)>& name);

}  // namespace isthmus::session
