// SPDX-License-Identifier: Apache-2.0
// The bench on which a random board is played, in process: ideal, merely poor, or faulty. Nothing
// here is taken from the program but the plan whose steps it answers.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "isthmus/plan/plan.hpp"
#include "isthmus/plan/reading.hpp"
#include "tests/random_boards/truth.hpp"

namespace isthmus::random_boards {

enum class BenchKind { ideal, poor, faulty };

// By channel in a placement.
using Tip = std::pair<std::size_t, formats::Channel>;

struct BenchSetup {
  BenchKind kind{BenchKind::ideal};
  std::string sort;   // "tarnish", "noise+late", "wires"...
  std::string words;  // what is the matter with it
  bool known{};       // nothing in a run can tell it from a fault of the board, or not yet
  // Poor: a good board must pass, or be incomplete.
  double contact{0.05}, spread{};  // ohms a tip, share to either side
  double excess{1};                // the board's limit, ohms
  double stated_um{35};            // the foil has 35
  double noise{};                  // ohms, one standard deviation
  double spoilt{};                 // chance that a reading gives nothing
  std::map<Tip, double> tarnish;   // ohms of that tip
  std::set<Tip> missing;           // touches nothing
  std::map<Tip, int> late;         // touches from that measurement of its placement on
  // Faulty: a bad board must not pass, a good one must not be called bad.
  std::size_t pulls_in{};           // so many switches at most; 0: all
  std::set<formats::Channel> weak;  // that drop out instead of the last ones
  std::size_t times_out{};          // from so many closed on isolation reads over-range; 0: never
  std::set<std::size_t> stale;      // numbers of measurements that give the value before
  bool check_always{};              // the contact check says yes
  bool dead_source{};               // of the isolation meter
  std::optional<formats::Channel> sense_stuck;
  double clips{};           // ohms, the stage that four wires use; 0: none
  bool tried_in_air{true};  // else nobody looked for wires that touch
  std::set<std::pair<formats::Channel, formats::Channel>> wires;      // of the harness that touch
  std::optional<std::pair<formats::Channel, formats::Channel>> swap;  // exchanged
  std::optional<Tip> drops;  // its tip loses contact whenever the test voltage is on
};

// Always the same for a seed and a plan.
BenchSetup draw_bench(BenchKind kind, std::uint64_t seed, const plan::Plan& plan);

class Bench {
 public:
  Bench(const RandomBoard& board, const std::vector<Fault>& faults, const plan::Plan& plan,
        const BenchSetup& setup);
  [[nodiscard]] plan::Outcome answer(const plan::Step& step);

 private:
  using Closed = std::set<formats::Channel>;
  void lay(std::size_t placement);
  [[nodiscard]] plan::Outcome measured(const plan::Step& step);
  [[nodiscard]] plan::Outcome resistance(const plan::Step& step, double most);
  [[nodiscard]] bool touches(const plan::Step& step, formats::Channel c) const;
  [[nodiscard]] std::pair<Closed, Closed> closed(const plan::Step& step) const;
  [[nodiscard]] double contact(std::size_t placement, formats::Channel c) const;
  [[nodiscard]] std::optional<double> ohms(const plan::Step& step) const;

  const RandomBoard& b_;
  Network network_;
  const plan::Plan& plan_;
  BenchSetup setup_;
  Rng rng_;
  std::map<Tip, std::size_t> piece_;
  std::map<Tip, double> contact_;
  std::size_t number_{};
  std::map<std::size_t, int> measured_;  // by placement
  plan::Outcome last_;
};

}  // namespace isthmus::random_boards
