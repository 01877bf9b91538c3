// SPDX-License-Identifier: Apache-2.0
// What came back for a step.
#pragma once

#include <cstdint>
#include <string>
#include <variant>
#include <vector>

#include "isthmus/base/terms.hpp"
#include "isthmus/base/units.hpp"

namespace isthmus::plan {

struct Measured {
  double value{};        // ohms; volts for board_voltage; 1 or 0 for contact by the adapter's check
  double uncertainty{};  // one standard deviation, same unit
  bool operator==(const Measured&) const = default;
};
struct OverRange {
  bool operator==(const OverRange&) const = default;
};
struct NoReading {
  std::string why;
  bool operator==(const NoReading&) const = default;
};
using Outcome = std::variant<Measured, OverRange, NoReading>;

// Status bits as docs/adapter.md gives them.
inline constexpr unsigned kStatusNotSettled = 2, kStatusSourceLimit = 4, kStatusHalvesDisagree = 8,
                          kStatusBoardVoltage = 16, kStatusNotDone = 32;

struct Reading {
  StepId step{};
  std::uint32_t sequence{};  // order of arrival in the run, from 0; a repeated step has several
  Outcome outcome;
  unsigned status{};  // adapter status bits, docs/adapter.md
  bool operator==(const Reading&) const = default;
};

// True when there is a reading and its status bits leave the value usable.
inline bool usable(const Reading& reading) {
  constexpr unsigned kSpoiled =
      kStatusNotSettled | kStatusHalvesDisagree | kStatusBoardVoltage | kStatusNotDone;
  return (reading.status & kSpoiled) == 0 && !std::holds_alternative<NoReading>(reading.outcome);
}

}  // namespace isthmus::plan
