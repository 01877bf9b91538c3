// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <string>

#include "cli/simulator.hpp"
#include "isthmus/adapter/instrument.hpp"

namespace isthmus::cli {

// An instrument, and the simulator behind it where there is one (declared first: it goes last).
struct Bench {
  std::unique_ptr<Simulator> simulator;
  std::unique_ptr<adapter::Instrument> instrument;
};

// A link that nothing was said over yet, and the simulator behind it.
struct Link {
  std::unique_ptr<Simulator> simulator;
  std::unique_ptr<adapter::ByteStream> stream;
};

// True for an address whose form this program knows; a wrong one is bad usage, not a link failure.
Result<Done> check_address(const std::string& address);

// As open_bench, up to the instrument.
Result<Link> open_link(const std::string& address, const std::string& fixture);

// `fixture` is what a simulator lays the probes by. ISTHMUS_TRACE=FILE writes down every byte.
Result<Bench> open_bench(const std::string& address, const std::string& fixture);

}  // namespace isthmus::cli
