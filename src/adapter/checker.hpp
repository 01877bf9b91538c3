// SPDX-License-Identifier: Apache-2.0
// Tries clauses one by one and keeps what came of each. The clauses stand in contract_*.cpp, by
// subject of docs/adapter.md.
#pragma once

#include <string>
#include <vector>

#include "adapter/conversation.hpp"
#include "isthmus/adapter/contract.hpp"

namespace isthmus::adapter {

// One message, and what must come back: as_wanted(); "" is no response. Numbers of the errors it
// leaves in the queue.
struct Try {
  std::string send;
  std::string wanted;
  std::vector<int> errors{};
};

// Command units that belong together, and their wanted answers.
struct Unit {
  std::string send, wanted;
};

class Checker {
 public:
  Checker(Conversation& talk, ContractReport& report) : talk_(talk), report_(report) {}

  [[nodiscard]] const Capabilities& can() const { return *report_.capabilities; }
  [[nodiscard]] int rows() const { return can().wires == 4 ? 4 : 2; }
  [[nodiscard]] Conversation& talk() { return talk_; }
  [[nodiscard]] bool ended() const { return talk_.stopped().has_value(); }

  void subject(std::string name) { subject_ = std::move(name); }
  // Each message is sent after `*RST;*CLS`. The clause holds when all of them are answered so.
  void clause(const std::string& says, const std::vector<Try>& tries);
  // The same for many units, packed into messages as the program packs them.
  void units(const std::string& says, const std::vector<Unit>& units);
  void note(const std::string& says, bool holds, const std::string& seen);
  void not_tried(const std::string& says, const std::string& why);

  // What the adapter may take for the MEASure queries in a message (docs/adapter.md, Timing).
  [[nodiscard]] Seconds busy(std::string_view message) const;
  // Sends and says what was wrong; "" when nothing was.
  std::string attempt(const Try& one);

 private:
  Conversation& talk_;
  ContractReport& report_;
  std::string subject_;
};

bool check_identity(Checker& check, ContractReport& report);  // false: no adapter of this contract
void check_link(Checker& check);
void check_grammar(Checker& check);
void check_arguments(Checker& check);
void check_errors(Checker& check);
void check_registers(Checker& check);
void check_switches(Checker& check);
void check_levels(Checker& check);
void check_answers(Checker& check);
bool check_board_voltage(Checker& check);  // false: no channels may be joined, nothing driven
void check_measuring(Checker& check);
void check_references(Checker& check);
void check_contact(Checker& check);
void check_empty(Checker& check);
void check_simulator(Checker& check);
void check_ending(Checker& check);

}  // namespace isthmus::adapter
