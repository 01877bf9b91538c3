// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "diagnose/contacts.hpp"
#include "diagnose/foil_fit.hpp"

namespace isthmus::diagnose {

// Two contacts in line, as they are in this run; ohms.
struct Contacts {
  double pair{};   // the middle of what was read, never less than the fixture says
  double reach{};  // to either side: what two tips of a good bench may be off by
  double best{};   // the least that two of them may have
  std::size_t readings{};
};

// This board's copper and this bench's contacts.
struct Fitted {
  FoilChoice foil;
  Contacts contacts;
};

// Copper, from every pair of tips that was heard to conduct; contacts, from what those read above
// their copper and from each tip against its twin: median, and three times 1.4826 times the median
// of what lies off it. With fewer than kLeastContacts readings two tips may have kFewContacts. Two
// contacts of a good bench have kMostContacts at most, whatever the fixture says: what is beyond is
// told apart (contacts.hpp), or doubt.
Fitted fitted(const expect::Board& board, const plan::Plan& plan, const Evidence& evidence);
inline constexpr std::size_t kLeastContacts = 6;
// Spring pins have 10 to 200 mohm; common practice, no source.
inline constexpr double kFewContacts = 0.4, kMostContacts = 1.0;

// What a reading between two tips should be at most: copper, two contacts, two standard deviations
// of the one and the reach of the other.
struct Band {
  double expected{};  // ohms
  double uncertainty{};
};
Band band_of(const copper::Predicted& predicted, const Fitted& fitted);

// False where the foil is not what the board's file says, and what it may be leaves this copper
// unsure by more than the excess that is looked for.
bool judged(const expect::Board& board, const Heard& heard, const Fitted& fitted);

enum class Excess {
  none,     // or nothing can be said: two wires see their switches too, unless zeroed; no foil
  copper,   // no contact of a dull tip explains it
  unclear,  // the copper or a dull tip
};
// The copper has more than is predicted of it, by more than limits.excess and its own uncertainty.
Excess excess_of(const expect::Board& board, const plan::Plan& plan, const Heard& heard,
                 const Fitted& fitted);

// Ohms and limit as a finding shows them; REQUIRES an excess.
struct Shown {
  double measured{}, limit{}, uncertainty{};
};
Shown shown(const expect::Board& board, const Heard& heard, const Fitted& fitted);

// The least that copper must have too much to be surely noticed.
struct Floor {
  double ohms{};
  double if_thicker{};  // with the foil of FoilChoice::thicker; never less
};
// Nothing where no reading was judged.
std::optional<Floor> noticed_from(const expect::Board& board, const plan::Plan& plan,
                                  const Evidence& evidence, const Fitted& fitted);

}  // namespace isthmus::diagnose
