// SPDX-License-Identifier: Apache-2.0
// Wires of the harness that touch: what they feign, and where.
#pragma once

#include "diagnose/findings.hpp"

namespace isthmus::diagnose {

// The probe whose tip, or twin, hangs on that channel in the placement.
const plan::Probe* probe_on(const plan::Placement& placement, Channel channel);

// Wires that touch, and carry tips in this placement.
std::vector<ChannelPair> touching_in(const plan::Placement& placement, const Harness& harness);

// Two channels that conduct to each other do so through wires that touch, each of which has its tip
// on the same copper as one of the two.
bool by_wires(const Study& s, std::size_t placement, Channel a, Channel b);

// Without what touching wires could feign: the adapter's check finds metal through the other's tip;
// two wires of one group conduct whatever the copper between does.
std::vector<plan::Reading> without_feigned(const expect::Board& board, const plan::Plan& plan,
                                           std::span<const plan::Reading> readings,
                                           const Harness& harness);

// "wires 3 and 5 of the harness touch".
std::string in_words(const ChannelPair& wires);

}  // namespace isthmus::diagnose
