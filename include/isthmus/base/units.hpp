// SPDX-License-Identifier: Apache-2.0
// Physical quantities as distinct types: a length cannot be added to a resistance.
#pragma once

#include <cmath>
#include <compare>
#include <cstdint>

namespace isthmus {

// A length or coordinate. Integer nanometres; safe range +-1.07e9 (1.07 m), checked by the readers.
struct Nanometres {
  std::int64_t value{};
  auto operator<=>(const Nanometres&) const = default;
  constexpr Nanometres& operator+=(Nanometres o) { return value += o.value, *this; }
  constexpr Nanometres& operator-=(Nanometres o) { return value -= o.value, *this; }
};
constexpr Nanometres operator+(Nanometres a, Nanometres b) { return {a.value + b.value}; }
constexpr Nanometres operator-(Nanometres a, Nanometres b) { return {a.value - b.value}; }
constexpr Nanometres operator-(Nanometres a) { return {-a.value}; }
constexpr Nanometres operator*(Nanometres a, std::int64_t k) { return {a.value * k}; }
constexpr Nanometres operator*(std::int64_t k, Nanometres a) { return {a.value * k}; }
constexpr Nanometres operator/(Nanometres a, std::int64_t k) { return {a.value / k}; }
constexpr double ratio(Nanometres a, Nanometres b) {
  return static_cast<double>(a.value) / static_cast<double>(b.value);
}

inline constexpr std::int64_t kMaxCoordinate = 1'070'000'000;  // nm

// Rounds half away from zero: error <= 0.5 nm. REQUIRES |mm| < 1e6.
inline Nanometres from_mm(double mm) { return {std::llround(mm * 1e6)}; }
constexpr double to_mm(Nanometres n) { return static_cast<double>(n.value) * 1e-6; }
constexpr double to_mm(std::int64_t nm) { return static_cast<double>(nm) * 1e-6; }

consteval Nanometres operator""_nm(unsigned long long v) { return {static_cast<std::int64_t>(v)}; }
consteval Nanometres operator""_um(unsigned long long v) {
  return {static_cast<std::int64_t>(v) * 1000};
}
consteval Nanometres operator""_mm(unsigned long long v) {
  return {static_cast<std::int64_t>(v) * 1'000'000};
}

struct Ohms {
  double value{};
  auto operator<=>(const Ohms&) const = default;
};
constexpr Ohms operator+(Ohms a, Ohms b) { return {a.value + b.value}; }
constexpr Ohms operator-(Ohms a, Ohms b) { return {a.value - b.value}; }
constexpr Ohms operator*(Ohms a, double k) { return {a.value * k}; }

struct Volts {
  double value{};
  auto operator<=>(const Volts&) const = default;
};
struct Amperes {
  double value{};
  auto operator<=>(const Amperes&) const = default;
};
struct Celsius {
  double value{};
  auto operator<=>(const Celsius&) const = default;
};
constexpr Volts operator*(Ohms r, Amperes i) { return {r.value * i.value}; }
constexpr Ohms operator/(Volts u, Amperes i) { return {u.value / i.value}; }

}  // namespace isthmus
