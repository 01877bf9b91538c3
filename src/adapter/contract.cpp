// SPDX-License-Identifier: Apache-2.0
#include "isthmus/adapter/contract.hpp"

#include <initializer_list>

#include "adapter/checker.hpp"

namespace isthmus::adapter {

ContractReport check_contract(std::unique_ptr<ByteStream> stream) {
  ContractReport report;
  Conversation talk(std::move(stream));
  Checker check(talk, report);
  const auto all = [&](std::initializer_list<void (*)(Checker&)> parts) {
    for (const auto part : parts) {
      if (!check.ended()) part(check);
    }
  };
  if (talk.open() && check_identity(check, report)) {
    // What lies there is not known: no two channels are joined before it is known to have no
    // voltage.
    const bool quiet = check_board_voltage(check);
    all({check_arguments, check_errors, check_registers});
    if (quiet) {
      all({check_link, check_grammar, check_switches, check_levels, check_answers, check_measuring,
           check_references, check_contact, check_empty, check_simulator, check_ending});
    } else {
      check.subject("measuring");
      check.not_tried("everything that joins channels",
                      "the voltage of what lies there is not known");
    }
  }
  report.stopped = talk.stopped();
  return report;
}

}  // namespace isthmus::adapter
