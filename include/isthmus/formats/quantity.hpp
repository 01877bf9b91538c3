// SPDX-License-Identifier: Apache-2.0
// "35 um", "10 Mohm": values with units as YAML files and options carry them. Case matters.
#pragma once

#include <string_view>

#include "isthmus/base/result.hpp"
#include "isthmus/base/units.hpp"

namespace isthmus::formats {

// A number and its unit.
//
// Units   Lengths: nm um mm cm m mil inch(in). Resistances: uohm mohm ohm kohm Mohm Gohm.
//         Voltages: uV mV V kV. Currents: nA uA mA A. Temperatures: degC, K.
// Errors  YML-0xx: a missing, unknown or wrong-kind unit, a non-finite number, trailing text.
Result<Nanometres> parse_length(std::string_view text);
Result<Ohms> parse_resistance(std::string_view text);
Result<Volts> parse_voltage(std::string_view text);
Result<Amperes> parse_current(std::string_view text);
Result<Celsius> parse_temperature(std::string_view text);

// Shortest text that parses back to the same value, in the handiest unit: "0.2 mm", "10 Mohm".
std::string text_of(Nanometres v);
std::string text_of(Ohms v);
std::string text_of(Volts v);
std::string text_of(Amperes v);
std::string text_of(Celsius v);

}  // namespace isthmus::formats
