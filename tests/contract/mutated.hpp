// SPDX-License-Identifier: Apache-2.0
// The simulator's adapter in memory, and a filter through which its firmware can be made wrong.
#pragma once

#include <algorithm>
#include <functional>
#include <string>

#include "hostsim/device/device.hpp"
#include "hostsim/link/play.hpp"
#include "hostsim/network/bench.hpp"
#include "isthmus/adapter/contract.hpp"

namespace isthmus::test {

// What is wrong with the firmware. Each gets the device to play with.
struct Mutation {
  // A program message without its LF, to its response message without LF (empty: none).
  std::function<std::string(hostsim::Device&, const std::string&)> run =
      [](hostsim::Device& device, const std::string& message) { return device.run(message); };
  std::string ending = "\n";
  std::size_t buffer = 0;  // 0: as told
  bool at_once = true;     // false: what comes while an answer waits to be fetched is lost
};

class MutatedAdapter : public adapter::ByteStream {
 public:
  MutatedAdapter(const hostsim::Scenario& scenario, hostsim::Bench& bench, Mutation mutation)
      : device_(scenario, bench),
        mutation_(std::move(mutation)),
        cutter_(mutation_.buffer ? mutation_.buffer : device_.buffer()) {}

  Result<std::size_t> read(std::span<char> into, adapter::Deadline) override {
    const std::size_t n = std::min(into.size(), out_.size());
    std::copy_n(out_.begin(), n, into.begin());
    out_.erase(0, n);
    return n;
  }

  Result<Done> write(std::span<const char> bytes, adapter::Deadline) override {
    cutter_.add({bytes.data(), bytes.size()});
    std::string message;
    using Got = hostsim::MessageCutter::Got;
    for (Got got = cutter_.next(message); got != Got::nothing; got = cutter_.next(message)) {
      if (got == Got::too_long) {
        device_.message_too_long();
        continue;
      }
      if (!mutation_.at_once && !out_.empty()) continue;
      const std::string response = mutation_.run(device_, message);
      if (!response.empty()) out_ += response + mutation_.ending;
    }
    return Done{};
  }

 private:
  hostsim::Device device_;
  Mutation mutation_;
  hostsim::MessageCutter cutter_;
  std::string out_;
};

// The thorough check on a bench of eight channels (or as many as said); `extra` goes into the
// scenario's `adapter:`.
adapter::ContractReport checked(const Mutation& mutation, const std::string& extra = "",
                                int channels = 8);
// The clauses that do not hold, one a line.
std::string broken(const adapter::ContractReport& report);

// The answers of a response (or the units of a message), changed one by one; what becomes empty is
// left out.
std::string each(const std::string& response,
                 const std::function<std::string(std::string)>& change);
bool is_reading(const std::string& answer);
std::string check_of(const std::string& body);  // "#H1234"

// Each reading up to its check, changed; the check is right again.
Mutation readings(const std::function<std::string(std::string)>& change);
Mutation readings(const std::string& pattern, const std::string& fresh);
Mutation replaces(const std::string& pattern, const std::string& fresh);  // in messages
Mutation answers(const std::string& pattern, const std::string& fresh);   // in responses
// Messages with the trigger in them unit by unit: `run` sees one at a time and may do something
// else instead. (Others stay whole: cut messages have no subtrees.)
Mutation units(const std::string& trigger,
               const std::function<std::string(hostsim::Device&, const std::string&)>& run);

}  // namespace isthmus::test
