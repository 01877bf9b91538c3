// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/quantity.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <optional>
#include <span>

#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

// Value in base units = number * up / down; one of the two is 1, so decimal input rounds once.
struct Unit {
  std::string_view name;
  double up, down;
};
constexpr std::array<Unit, 8> kLengths{{{"nm", 1, 1},
                                        {"um", 1e3, 1},
                                        {"mm", 1e6, 1},
                                        {"cm", 1e7, 1},
                                        {"m", 1e9, 1},
                                        {"mil", 25400, 1},
                                        {"inch", 25.4e6, 1},
                                        {"in", 25.4e6, 1}}};
constexpr std::array<Unit, 6> kResistances{{{"uohm", 1, 1e6},
                                            {"mohm", 1, 1e3},
                                            {"ohm", 1, 1},
                                            {"kohm", 1e3, 1},
                                            {"Mohm", 1e6, 1},
                                            {"Gohm", 1e9, 1}}};
constexpr std::array<Unit, 4> kVoltages{
    {{"uV", 1, 1e6}, {"mV", 1, 1e3}, {"V", 1, 1}, {"kV", 1e3, 1}}};
constexpr std::array<Unit, 4> kCurrents{
    {{"nA", 1, 1e9}, {"uA", 1, 1e6}, {"mA", 1, 1e3}, {"A", 1, 1}}};
constexpr std::array<Unit, 2> kTemperatures{{{"degC", 1, 1}, {"K", 1, 1}}};

struct Parsed {
  double value{};
  const Unit* unit{};
};

std::string names(std::span<const Unit> units) {
  std::string out;
  for (const Unit& u : units) out += (out.empty() ? "" : ", ") + std::string(u.name);
  return out;
}

Problem refuse(const char* code, std::string message, std::span<const Unit> units) {
  return {"", 0, 0, code, std::move(message), "units: " + names(units), ""};
}

Result<Parsed> parse(std::string_view text, std::span<const Unit> units) {
  text = trim(text);
  std::size_t end = 0;
  const auto exponent = [&](std::size_t i) {
    return (text[i] == 'e' || text[i] == 'E') && i + 1 < text.size() && i > 0 &&
           (is_digit(text[i + 1]) || text[i + 1] == '-' || text[i + 1] == '+');
  };
  while (end < text.size() && (is_digit(text[end]) || text[end] == '.' || text[end] == '-' ||
                               text[end] == '+' || exponent(end))) {
    ++end;
  }
  const std::optional<double> number = to_double(text.substr(0, end));
  if (!number) {
    return refuse("YML-007", "'" + shown(text) + "' does not begin with a number", units);
  }
  const std::string_view unit = trim(text.substr(end));
  if (unit.size() > 1 && unit[0] == ',' && is_digit(unit[1])) {
    std::string meant(text);
    meant[end] = '.';
    Problem p = refuse("YML-007", "'" + shown(text) + "' has a decimal comma", units);
    p.hint = "decimals take a point: '" + shown(meant) + "'";
    return p;
  }
  if (unit.empty()) return refuse("YML-005", "'" + shown(text) + "' has no unit", units);
  for (const Unit& u : units) {
    if (u.name == unit) return Parsed{*number * u.up / u.down, &u};
  }
  return refuse("YML-006", "'" + shown(unit) + "' is not a unit of this value (case matters)",
                units);
}

template <class T>
Result<T> parse_as(std::string_view text, std::span<const Unit> units) {
  Result<Parsed> p = parse(text, units);
  if (!p) return p.problem();
  if (!std::isfinite(p->value)) return refuse("YML-007", "the value is too large", units);
  return T{p->value};
}

// Shortest digits in the unit that puts the number into [1, 1000), or in the base unit.
std::string shortest(double v, std::span<const Unit> units) {
  const Unit* handy = nullptr;
  for (const Unit& u : units) {
    const double in_unit = std::abs(v) * u.down / u.up;
    if (v != 0 && in_unit >= 1 && in_unit < 1000) handy = &u;
  }
  const Unit* base = nullptr;
  for (const Unit& u : units) {
    if (u.up == 1 && u.down == 1) base = &u;
  }
  ENSURE(base != nullptr);
  for (const Unit* u : {handy, base}) {
    if (u == nullptr) continue;
    std::string text = fmt::format("{} {}", v * u->down / u->up, u->name);
    Result<Parsed> back = parse(text, units);
    if (back && back->value == v) return text;
  }
  return fmt::format("{} {}", v, base->name);
}

}  // namespace

Result<Nanometres> parse_length(std::string_view text) {
  Result<Parsed> p = parse(text, kLengths);
  if (!p) return p.problem();
  if (!(std::abs(p->value) <= static_cast<double>(kMaxCoordinate))) {
    return refuse("YML-012", "'" + shown(text) + "' is longer than 1.07 m", kLengths);
  }
  return Nanometres{std::llround(p->value)};
}

Result<Ohms> parse_resistance(std::string_view text) { return parse_as<Ohms>(text, kResistances); }
Result<Volts> parse_voltage(std::string_view text) { return parse_as<Volts>(text, kVoltages); }
Result<Amperes> parse_current(std::string_view text) { return parse_as<Amperes>(text, kCurrents); }

Result<Celsius> parse_temperature(std::string_view text) {
  Result<Parsed> p = parse(text, kTemperatures);
  if (!p) return p.problem();
  constexpr double kZeroCelsius = 273.15;  // K, by definition of the degree Celsius
  const double celsius = p->unit->name == "K" ? p->value - kZeroCelsius : p->value;
  if (celsius < -kZeroCelsius) {
    return refuse("YML-012", "'" + shown(text) + "' is below absolute zero", kTemperatures);
  }
  return Celsius{celsius};
}

std::string text_of(Nanometres v) {
  const std::int64_t size = v.value < 0 ? -v.value : v.value;
  std::int64_t unit = 1'000'000;
  if (size < 100'000) unit = size < 1000 && size != 0 ? 1 : 1000;
  std::string digits = std::to_string(size / unit);
  if (std::int64_t rest = size % unit; rest != 0) {
    std::string fraction = std::to_string(unit + rest).substr(1);
    while (fraction.back() == '0') fraction.pop_back();
    digits += "." + fraction;
  }
  return (v.value < 0 ? "-" : "") + digits + (unit == 1 ? " nm" : unit == 1000 ? " um" : " mm");
}

std::string text_of(Ohms v) { return shortest(v.value, kResistances); }
std::string text_of(Volts v) { return shortest(v.value, kVoltages); }
std::string text_of(Amperes v) { return shortest(v.value, kCurrents); }
std::string text_of(Celsius v) { return fmt::format("{} degC", v.value); }

}  // namespace isthmus::formats
