// SPDX-License-Identifier: Apache-2.0
// Which fragments conduct to each other that must not, and what must still be asked to know.
#pragma once

#include "diagnose/fragments.hpp"

namespace isthmus::diagnose {

using Channels = std::vector<Channel>;  // ascending

// One isolation question: these against those.
struct Question {
  Channels source, ret;
  auto operator<=>(const Question&) const = default;
};

// What is known of a question, from every trusted reading of it either way round.
struct Known {
  std::size_t good{}, bad{}, doubt{};  // surely above the limit, surely below it, neither
  std::size_t forward{};               // of the bad ones: source the lower channels'
  double ohms{};                       // of the last bad one
  double uncertainty{};
  [[nodiscard]] std::size_t asked() const { return good + bad + doubt; }
};

// Two single channels heard to conduct, in both polarities.
struct BadPair {
  Channel a{}, b{};
  double ohms{}, uncertainty{};
};

class Isolation {
 public:
  Isolation(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence,
            const Fragments& fragments, std::size_t placement);

  // Down from every failed reading to single pairs: which are known, which must be asked.
  [[nodiscard]] const std::vector<BadPair>& bad() const { return bad_; }
  [[nodiscard]] const std::set<Question>& wanted() const { return wanted_; }
  // Single pairs whose readings contradict each other.
  [[nodiscard]] const std::set<std::pair<Channel, Channel>>& doubtful() const { return doubtful_; }
  // A trusted reading had `a` and `b` on opposite sides, within the limit, contacts proven before
  // and after.
  [[nodiscard]] bool isolated(Channel a, Channel b) const;
  // The switch and the tip behind it were proven before and after the reading, and with as many
  // others closed.
  [[nodiscard]] bool surely_touched(int row, Channel channel, const IsolationReading& r) const;
  // One of the two is the only tip on its copper, so that no control shows it at the test voltage,
  // and no reading by current heard the two apart either.
  [[nodiscard]] bool unheard(Channel a, Channel b) const;
  // Pools by current that would hear what is unheard and was meant to be, one for each such tip.
  [[nodiscard]] std::vector<Question> unheard() const;
  // Surely above the limit.
  [[nodiscard]] bool surely_isolated(const IsolationReading& r) const;
  // What other landings say of two channels: heard once, it is doubt; or it was cleared.
  void doubt(Channel a, Channel b);
  void clear(Channel a, Channel b);

 private:
  [[nodiscard]] Known known(const Question& q) const;
  void descend(const Question& q);
  void descend_pair(const Question& q, const Known& k);
  void doubt_unexplained(const Question& q);
  void ask_fragments();
  void find_alone();
  [[nodiscard]] bool apart(const IsolationReading& r, Channel a, Channel b) const;

  const expect::Board& board_;
  const plan::Plan& plan_;
  const Evidence& evidence_;
  const Fragments& fragments_;
  std::size_t placement_;
  double limit_;
  std::map<Question, Known> known_;
  std::set<Channel> alone_;
  std::set<Question> seen_, wanted_;
  std::vector<BadPair> bad_;
  std::set<std::pair<Channel, Channel>> doubtful_;
};

}  // namespace isthmus::diagnose
