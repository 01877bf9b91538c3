// SPDX-License-Identifier: Apache-2.0
// The adapter as its link sees it: program messages in, response messages out. docs/adapter.md.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "hostsim/bench.hpp"
#include "hostsim/device/instrument.hpp"
#include "hostsim/device/scpi.hpp"
#include "hostsim/device/status.hpp"
#include "hostsim/hand/hand.hpp"

namespace isthmus::hostsim {

class Device {
 public:
  // Borrows the bench for its lifetime.
  Device(const Scenario& scenario, Bench& bench);

  // Carries out one program message (without its LF) and returns the response message without its
  // LF; empty when the message held no query.
  std::string run(std::string_view message);
  // The link received more bytes than the buffer holds before an LF.
  void message_too_long();
  // What *STB? would answer now, no answer waiting.
  [[nodiscard]] int status_byte() const { return status_.status_byte(false); }
  // The serial number that *IDN? tells.
  [[nodiscard]] std::string serial_number() const;
  // The host has gone: switches open, no reference, rows discharged. Levels and registers stay.
  void host_gone() { instrument_.begin_step(); }
  // This person holds the probes once it has been told anything. Borrowed.
  void hand_to(Hand& hand) { hand_ = &hand; }
  // A line that the person reads, now. False where it says nothing to anybody.
  bool show(std::string_view event);
  // A message has come in.
  void start() { instrument_.start(); }
  // Time that passes on the link.
  void wait(double seconds) { instrument_.wait(seconds); }
  [[nodiscard]] std::size_t buffer() const { return static_cast<std::size_t>(draw_.buffer); }

 private:
  using Handler = void (Device::*)(const Unit&);
  struct Command {
    const char* header;  // "SYSTem:ERRor[:NEXT]"; common commands "*RST"
    bool query;
    const char* arguments;  // one letter each: n number, l list, s string
    Handler handler;
  };
  static const std::vector<Command>& commands();
  static bool matches(const Command& command, const Unit& unit,
                      const std::vector<std::string>& header);

  void execute(const Unit& unit);
  [[nodiscard]] const Command* find(const Unit& unit, const std::vector<std::string>& header) const;
  bool arguments_fit(const Command& command, const Unit& unit);
  void raise(int number, const std::string& detail = {});
  void answer(std::string text) { answers_.push_back(std::move(text)); }
  void answer_reading(const Reading& reading);
  void refuse_reading(int number, const std::string& detail);
  // Whole number in [lo, hi], or -222.
  bool whole(const Unit& unit, long lo, long hi, long& value);
  bool crosspoints(const Unit& unit, std::vector<Crosspoint>& points);
  bool check_read_back();
  bool circuit_allowed();

  void identify(const Unit&);
  void reset(const Unit&);
  void clear(const Unit&);
  void event_status(const Unit&);
  void set_event_enable(const Unit&);
  void event_enable(const Unit&);
  void set_service_enable(const Unit&);
  void service_enable(const Unit&);
  void status_byte(const Unit&);
  void operation_complete(const Unit&);
  void is_operation_complete(const Unit&);
  void wait_to_continue(const Unit&);
  void self_test(const Unit&);
  void next_error(const Unit&);
  void version(const Unit&);
  void capability(const Unit&);
  void tag(const Unit&);
  void close(const Unit&);
  void open(const Unit&);
  void open_all(const Unit&);
  void closed_state(const Unit&);
  void reference(const Unit&);
  void set_current(const Unit&);
  void current(const Unit&);
  void set_voltage(const Unit&);
  void voltage(const Unit&);
  void measure_resistance(const Unit&);
  void measure_four_wire(const Unit&);
  void measure_isolation(const Unit&);
  void measure_contact(const Unit&);
  void measure_voltage(const Unit&);
  void placement(const Unit&);
  void hashes(const Unit&);
  void time(const Unit&);
  void pass_time(const Unit&);

  AdapterDraw draw_;
  std::uint64_t seed_;
  Bench& bench_;
  Instrument instrument_;
  Hand* hand_{};
  StatusModel status_;
  long tag_{0};
  std::vector<std::string> path_;     // subtree of the unit before
  std::vector<std::string> answers_;  // of the message being carried out
};

// "(@1!5,2!9)"; "(@)" when empty.
std::string canonical_list(const std::vector<Crosspoint>& points);
// One answer to a MEASure query, its check included.
std::string reading_text(long tag, const std::vector<Crosspoint>& closed, const Reading& reading);

}  // namespace isthmus::hostsim
