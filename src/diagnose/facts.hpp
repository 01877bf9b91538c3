// SPDX-License-Identifier: Apache-2.0
// From evidence to facts, and what they exclude.
#pragma once

#include "diagnose/findings.hpp"

namespace isthmus::diagnose {

// Places that are one piece: what conducts where contact is proven. Enough for the fragments.
expect::Facts conducting_facts(const plan::Plan& plan, const Evidence& evidence,
                               const TouchedNodes& nodes);

// All facts: also what was read to be two, with contacts proven before and after.
expect::Facts facts_of(const Study& study);

// Fills states, counts and what cannot be told of the diagnosis.
void derive_states(const Study& study, bool complete, Diagnosis& d);

}  // namespace isthmus::diagnose
