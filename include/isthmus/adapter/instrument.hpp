// SPDX-License-Identifier: Apache-2.0
// The adapter as a typed instrument; the language on the wire is docs/adapter.md.
#pragma once

#include <chrono>
#include <compare>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "isthmus/adapter/stream.hpp"
#include "isthmus/base/units.hpp"

namespace isthmus::adapter {

struct Crosspoint {
  int row{}, channel{};
  auto operator<=>(const Crosspoint&) const = default;
};

enum class Measure { resistance, four_wire, isolation, contact, voltage };

struct Request {
  std::uint32_t tag{};             // 1 ... 2147483647, rising
  std::vector<Crosspoint> closed;  // any order; sent and compared in canonical order
  Measure what{};
  Volts volts{5.0};     // isolation
  Ohms at_least{10e6};  // isolation: what it must be settled for
  int reference{};      // 0 none
};

struct Answer {
  std::uint32_t tag{};
  double value{};  // ohms, volts, 0/1; meaningless when over_range or none
  bool over_range{false};
  bool none{false};  // 9.91E37
  unsigned status{};
};

namespace status {
inline constexpr unsigned kOverRange = 1, kNotSettled = 2, kSourceLimit = 4, kHalvesDisagree = 8,
                          kBoardVoltage = 16, kNotDone = 32;
}

struct Identity {
  std::string maker, model, serial_number, firmware;
  bool operator==(const Identity&) const = default;
};
struct Capabilities {
  int contract{}, channels{}, wires{2};
  bool contact_check{false}, simulated{false};
  std::vector<double> references;
  double source_a{0.1}, voltage_v{5}, ohms_max{1e9}, leakage_a{1e-10}, noise_v{2e-5}, settle_s{0},
      convert_s{0};
  std::size_t buffer{1024};
};

// Speaks the contract over a stream. Every answer is matched by tag, switch list and checksum; what
// does not match is thrown away and its request repeated. Many requests travel in one program
// message, within the adapter's buffer.
//
// Errors  ADP-0xx: the link is gone, or a request was repeated three times in vain.
// Source  docs/adapter.md.
class Instrument {
 public:
  // Clears what is stale, identifies, reads the capabilities. Errors ADP-0xx: silent, answers
  // nonsense, another contract version.
  static Result<std::unique_ptr<Instrument>> connect(std::unique_ptr<ByteStream> stream);
  ~Instrument();  // opens all switches and turns the source off, best effort

  [[nodiscard]] const Identity& identity() const { return identity_; }
  [[nodiscard]] const Capabilities& capabilities() const { return capabilities_; }

  // Above every tag used so far: the first to use for the next requests.
  [[nodiscard]] std::uint32_t next_tag() const;

  // REQUIRES tags that rise from next_tag(), and only what the capabilities allow.
  // Calls `arrived(index, answer)` once a request, in order, as answers are accepted. A Problem
  // means the link failed; what had arrived stays delivered.
  Result<Done> carry_out(std::span<const Request> requests,
                         const std::function<void(std::size_t, const Answer&)>& arrived);

  // Measures resistances with at most this current (the tips' rating) from now on; capabilities()
  // then tell it.
  Result<Done> limit_current(Amperes most);
  // For the next measurements no more than this, whatever limit_current allows; no more than that
  // in any case. capabilities() then tell it.
  void drive(Amperes most);

  // Does the adapter answer that was connected to? ADP-029 when another one does.
  Result<Done> still_the_same();

  Result<Done> open_all();                                   // switches open, source off
  Result<int> self_test();                                   // *TST?
  Result<std::vector<std::string>> errors();                 // drains SYSTem:ERRor?
  Result<Done> lay_simulated(const std::string& placement);  // simulators only
  Result<bool> lift_simulated();  // simulators only; false: it cannot, and was asked for nothing
  // Simulators only: time passes on its clock, no reading is taken. False: it has no such command.
  Result<bool> wait_simulated(std::chrono::duration<double> time);
  Result<std::vector<std::string>> simulated_hashes();

 private:
  explicit Instrument(std::unique_ptr<ByteStream> stream);
  struct Wire;
  std::unique_ptr<Wire> wire_;
  Identity identity_;
  Capabilities capabilities_;
  double most_a_{};  // of the adapter, and of the tips
};

// CRC-16/CCITT-FALSE; of "123456789" it is 29B1.
std::uint16_t crc16(std::string_view bytes);

}  // namespace isthmus::adapter
