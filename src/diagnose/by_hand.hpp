// SPDX-License-Identifier: Apache-2.0
// What one landing of a needle told, and which further landings would settle what is in doubt.
#pragma once

#include "diagnose/findings.hpp"
#include "isthmus/diagnose/knowledge.hpp"

namespace isthmus::diagnose {

// REQUIRES evidence that is settled.
Landing landing_of(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence,
                   std::size_t placement, Channel needle, const Fitted& fit);

std::vector<Channel> unproven_clips(const plan::Plan& plan, const Evidence& evidence,
                                    std::size_t round);

std::vector<WantedTouch> wanted_touches(const Study& s, std::size_t round, bool at_end);

}  // namespace isthmus::diagnose
