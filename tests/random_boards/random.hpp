// SPDX-License-Identifier: Apache-2.0
// Random numbers that are the same with every library.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

namespace isthmus::random_boards {

class Rng {
 public:
  explicit Rng(std::uint64_t seed) : state_(seed) {}
  // Source: S. Vigna, splitmix64 (public domain).
  std::uint64_t next() {
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15U);
    z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27U)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31U);
  }
  std::size_t below(std::size_t n) { return n == 0 ? 0 : next() % n; }
  int between(int least, int most) {
    return least + static_cast<int>(below(static_cast<std::size_t>(most - least + 1)));
  }
  double real(double lo, double hi) {
    return lo + (hi - lo) * static_cast<double>(next() >> 11U) / 9007199254740992.0;
  }
  bool chance(double p) { return real(0, 1) < p; }
  template <class T>
  const T& pick(const std::vector<T>& list) {
    return list[below(list.size())];
  }
  template <class T>
  void shuffle(std::vector<T>& list) {
    for (std::size_t i = list.size(); i > 1; --i) std::swap(list[i - 1], list[below(i)]);
  }

 private:
  std::uint64_t state_;
};

}  // namespace isthmus::random_boards
