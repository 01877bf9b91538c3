// SPDX-License-Identifier: Apache-2.0
// An adapter in memory, after docs/adapter.md, whose link fails on command. It takes messages in
// the forms the program sends (short keywords, leading colon); nothing waits: an empty read means
// "the deadline passed".
#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "isthmus/adapter/instrument.hpp"

namespace isthmus::test {

// One step as the adapter saw it when it was asked to measure.
struct SeenStep {
  std::uint32_t tag{};
  std::set<std::pair<int, int>> closed;
  std::string query;  // "RES", "FRES", "ISOL", "CONT", "VOLT"
  double argument{}, volts{5}, amperes{0.1};
  int reference{};
};

struct FakeBench {
  std::string identity = "Harbour Bench,Mux-64,HB0042,1.0";
  std::string capabilities =
      "CONTRACT 1;CHANNELS 64;WIRES 4;CONTACT 1;REFERENCES 10|1E7;SOURCE 0.1;VOLTAGE 10;OHMS 1E9;"
      "LEAKAGE 1E-10;NOISE 2E-5;SETTLE 1.5E-4;CONVERT 4E-4;BUFFER 4096";
  std::function<std::pair<double, unsigned>(const SeenStep&)> measure = [](const SeenStep&) {
    return std::pair{1.0, 0u};
  };
  // May change the n-th response message (from 0), LF included; an empty one is a lost one.
  std::function<void(std::size_t n, std::string& response)> on_response;
  // The n-th read or write call (from 0) finds the link gone.
  std::size_t gone_at_read = SIZE_MAX, gone_at_write = SIZE_MAX;
  std::size_t bytes_per_read = 4096;
  bool mute{false};
  std::string stale;  // lies in the link's buffers at the beginning
  std::string lay_answer = "0,\"No error\"";
  std::string hashes;

  // What happened.
  std::vector<std::string> messages;
  std::vector<SeenStep> steps;
  std::vector<std::string> laid;
  std::size_t reads{}, writes{}, responses{};
  SeenStep now;
};

class FakeAdapter : public adapter::ByteStream {
 public:
  explicit FakeAdapter(FakeBench& bench) : bench_(bench), out_(bench.stale) {}

  Result<std::size_t> read(std::span<char> into, adapter::Deadline) override {
    if (bench_.reads++ >= bench_.gone_at_read) return gone();
    const std::size_t n = std::min({into.size(), out_.size(), bench_.bytes_per_read});
    std::copy_n(out_.begin(), n, into.begin());
    out_.erase(0, n);
    return n;
  }

  Result<Done> write(std::span<const char> bytes, adapter::Deadline) override {
    if (bench_.writes++ >= bench_.gone_at_write) return gone();
    in_.append(bytes.begin(), bytes.end());
    for (auto end = in_.find('\n'); end != std::string::npos; end = in_.find('\n')) {
      take(in_.substr(0, end));
      in_.erase(0, end + 1);
    }
    return Done{};
  }

 private:
  static Problem gone() {
    Problem p;
    p.cause = Cause::link;
    p.code = "ADP-010";
    p.message = "the link to the adapter is gone: unplugged";
    return p;
  }

  void take(const std::string& message) {
    if (message.empty()) return;
    bench_.messages.push_back(message);
    std::string response;
    for (const std::string& unit : units(message)) {
      const std::string answer = carry_out(unit);
      if (!answer.empty()) response += (response.empty() ? "" : ";") + answer;
    }
    if (response.empty() || bench_.mute) return;
    response += '\n';
    if (bench_.on_response) bench_.on_response(bench_.responses, response);
    ++bench_.responses;
    out_ += response;
  }

  static std::vector<std::string> units(const std::string& message) {
    std::vector<std::string> out(1);
    bool quoted = false;
    for (const char c : message) {
      if (c == '"') quoted = !quoted;
      if (c == ';' && !quoted)
        out.emplace_back();
      else
        out.back() += c;
    }
    return out;
  }

  std::string carry_out(const std::string& unit) {
    const auto blank = unit.find(' ');
    const std::string header = unit.substr(0, blank);
    const std::string argument = blank == std::string::npos ? "" : unit.substr(blank + 1);
    SeenStep& now = bench_.now;
    if (header.starts_with(":MEAS:")) return measure(header, argument);
    if (header == ":SYST:TAG") return begin(argument);
    if (header == ":ROUT:CLOS") return close(argument);
    if (header == ":ROUT:REF") return now.reference = std::stoi(argument), "";
    if (header == ":ROUT:CLOS:STAT?") return list();
    if (header == ":SOUR:VOLT") return now.volts = std::stod(argument), "";
    if (header == ":SOUR:VOLT?") return fmt::format("{:+.6E}", now.volts);
    if (header == ":SOUR:CURR") return now.amperes = std::stod(argument), "";
    if (header == ":SOUR:CURR?") return fmt::format("{:+.6E}", now.amperes);
    if (header == ":SYST:CAP?") return "\"" + bench_.capabilities + "\"";
    if (header == ":SYST:ERR?") return bench_.lay_answer;
    if (header == ":SIM:PLAC") return bench_.laid.push_back(argument), "";
    if (header == ":SIM:HASH?") return "\"" + bench_.hashes + "\"";
    if (header == "*IDN?") return bench_.identity;
    if (header == "*ESE") return event_enable_ = argument, "";
    if (header == "*ESE?") return event_enable_;
    if (header == "*OPC?") return "1";
    if (header == "*TST?") return "0";
    if (header == "*RST") now = {};
    return "";
  }

  std::string begin(const std::string& argument) {
    bench_.now.tag = static_cast<std::uint32_t>(std::stoul(argument));
    bench_.now.closed.clear();
    bench_.now.reference = 0;
    return "";
  }

  std::string close(const std::string& argument) {
    std::istringstream entries(argument.substr(2, argument.size() - 3));
    for (std::string entry; std::getline(entries, entry, ',');) {
      int row = 0, first = 0, last = 0;
      char sep{};
      std::istringstream text(entry);
      text >> row >> sep >> first;
      last = first;
      if (text >> sep) text >> row >> sep >> last;
      for (int c = first; c <= last; ++c) bench_.now.closed.insert({row, c});
    }
    return "";
  }

  std::string list() const {
    std::string out;
    for (const auto& [row, channel] : bench_.now.closed) {
      out += fmt::format("{}{}!{}", out.empty() ? "" : ",", row, channel);
    }
    return "(@" + out + ")";
  }

  std::string measure(const std::string& header, const std::string& argument) {
    SeenStep& now = bench_.now;
    now.query = header.substr(6, header.size() - 7);
    now.argument = argument.empty() ? 0 : std::stod(argument);
    bench_.steps.push_back(now);
    const auto [value, status] = bench_.measure(now);
    const std::string said = fmt::format("{},{},{:+.6E},{},", now.tag, list(), value, status);
    return fmt::format("{}#H{:04X}", said, adapter::crc16(said));
  }

  FakeBench& bench_;
  std::string in_, out_, event_enable_ = "0";
};

}  // namespace isthmus::test
