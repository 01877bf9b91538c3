// SPDX-License-Identifier: Apache-2.0
// Holds an adapter to docs/adapter.md, clause by clause, over its link alone.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "isthmus/adapter/instrument.hpp"

namespace isthmus::adapter {

enum class Holds { yes, no, not_tried };

struct Clause {
  std::string subject;  // "grammar", "switches"...
  std::string says;     // what the page asks
  Holds holds{Holds::not_tried};
  std::string
      seen;  // no: what was sent, wanted and got; not_tried: why; yes: how often it was tried
};

struct ContractReport {
  std::optional<Identity> identity;
  std::optional<Capabilities> capabilities;
  std::vector<Clause> clauses;
  // The link was lost, the adapter fell silent (ADP-010 to ADP-022), or the board has a voltage of
  // its own (ADP-028): what follows was not tried.
  std::optional<Problem> stopped;
  [[nodiscard]] std::size_t count(Holds holds) const;
};

// Tries what a host can try, wrong messages included. No board need lie on the adapter; whatever
// lies there is measured for a voltage of its own before the source is used. Leaves switches open
// and source off.
//
// Cost    a few hundred round trips and 5 readings a channel.
// Source  docs/adapter.md.
ContractReport check_contract(std::unique_ptr<ByteStream> stream);

}  // namespace isthmus::adapter
