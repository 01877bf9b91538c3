// SPDX-License-Identifier: Apache-2.0
#include "cli/adapter_options.hpp"

#include <array>
#include <cstdlib>
#include <filesystem>

namespace isthmus::cli {

Result<Done> check_address(const std::string& address) {
  const std::size_t colon = address.find(':');
  const std::string scheme = address.substr(0, colon);
  const std::string rest = colon == std::string::npos ? "" : address.substr(colon + 1);
  constexpr std::array kSchemes{"serial", "usb", "tcp", "pty", "sim"};
  bool known = false;
  for (const char* s : kSchemes) known |= scheme == s;
  if (!known || rest.empty()) {
    return Problem{"",
                   0,
                   0,
                   "CLI-001",
                   "'" + address + "' is not the address of an adapter",
                   "serial:/dev/ttyACM0, serial:@SERIALNUMBER, usb:VID:PID[:SERIALNUMBER], "
                   "tcp:HOST:PORT, pty:/dev/pts/N or sim:SCENARIO.yaml",
                   ""};
  }
  if (scheme == "sim" && !std::filesystem::exists(rest)) {
    return Problem{rest, 0, 0, "CLI-002", "no such scenario", "", ""};
  }
  return Done{};
}

Result<Link> open_link(const std::string& address, const std::string& fixture) {
  Link link;
  std::string at = address;
  if (address.starts_with("sim:")) {
    auto simulator = Simulator::start(address.substr(4), fixture);
    if (!simulator) return simulator.problem();
    link.simulator = std::move(simulator).value();
    at = link.simulator->address();
  }
  auto stream = adapter::open_stream(at, adapter::Clock::now() + std::chrono::seconds(5));
  if (!stream) return stream.problem();
  const char* trace = std::getenv("ISTHMUS_TRACE");
  link.stream = trace && *trace ? adapter::traced(std::move(stream).value(), trace)
                                : std::move(stream).value();
  return link;
}

Result<Bench> open_bench(const std::string& address, const std::string& fixture) {
  auto link = open_link(address, fixture);
  if (!link) return link.problem();
  Bench bench;
  bench.simulator = std::move(link->simulator);
  auto instrument = adapter::Instrument::connect(std::move(link->stream));
  if (!instrument) return instrument.problem();
  bench.instrument = std::move(instrument).value();
  return bench;
}

}  // namespace isthmus::cli
