// SPDX-License-Identifier: Apache-2.0
// What faults do to a small wiring and what ideal readings say of it, by trying them: no rule of
// src/expect/faults is used here.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "isthmus/expect/wiring.hpp"

namespace isthmus::test {

// Which pairs of pieces are read for isolation.
enum class Pairs {
  all,            // one placement: every two that must not conduct
  within_window,  // only those that face each other, also through pieces that nothing touches
};

// One thing that goes wrong by itself.
struct Primitive {
  std::vector<std::size_t> edges;      // lost together
  std::size_t facing{SIZE_MAX};        // joined
  std::vector<std::uint32_t> entries;  // of those; kNone is left out
  std::string name;
};

enum class Harm {
  none,
  masked,  // drawn copper parts features, but bridges within what may conduct join them again
  real,    // features parted, or joined to those of a piece that they must not conduct to
};

struct Played {
  Harm harm{};
  bool reads_good{};       // every reading that must conduct, or must not, is as of a good board
  std::vector<bool> free;  // readings between tied pieces: either will do
  std::vector<std::uint32_t> drawn;  // by node: what hangs together by drawn copper alone
};

class Exhaustion {
 public:
  Exhaustion(const expect::Wiring& wiring, std::vector<std::uint32_t> touched, Pairs pairs);

  // Breaks of every edge (feet of one join together), bridges of every facing, and "no join of the
  // board was made" where there are several.
  [[nodiscard]] const std::vector<Primitive>& primitives() const { return primitives_; }
  [[nodiscard]] Played play(const std::vector<std::size_t>& set) const;
  // Every reading of the board with these faults.
  [[nodiscard]] expect::Facts facts(const std::vector<std::size_t>& set) const;
  [[nodiscard]] std::string name(const std::vector<std::size_t>& set) const;

 private:
  using Pair = std::pair<std::uint32_t, std::uint32_t>;
  using Labels = std::vector<std::uint32_t>;

  void list_primitives();
  void list_readings(Pairs pairs);
  [[nodiscard]] std::vector<Pair> pairs_in_window() const;
  [[nodiscard]] bool may(std::uint32_t p, std::uint32_t q) const;
  [[nodiscard]] Labels labels(const std::vector<std::size_t>& set, bool with_bridges) const;
  [[nodiscard]] Harm harm(const Labels& drawn, const Labels& real) const;

  const expect::Wiring& w_;
  std::vector<std::uint32_t> touched_;
  std::vector<Primitive> primitives_;
  std::vector<Pair> one_, two_, free_;  // touched nodes read to each other
  std::vector<std::uint32_t> marked_;   // features and touched nodes
};

// Calls `visit` with every set of 1 to `most` numbers below `count`, smaller sets first.
void each_set(std::size_t count, std::size_t most,
              const std::function<void(const std::vector<std::size_t>&)>& visit);

}  // namespace isthmus::test
