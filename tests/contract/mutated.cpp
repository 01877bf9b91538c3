// SPDX-License-Identifier: Apache-2.0
#include "tests/contract/mutated.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <regex>

#include "hostsim/device/crc.hpp"

namespace isthmus::test {
namespace {

const char* const kBench = R"(isthmus: 1
channels: MANY
contact: {ohm: 0.05, spread: 0}
adapter: {references: [10, 1e7], buffer: 2048EXTRA}
network:
  points: {U1.3: sda1, R4.1: sda2, J2.2: sda3, U1.4: scl1, R5.1: scl2, TP1.1: float}
  resistors: [[sda1, sda2, 0.02], [sda2, sda3, 0.35], [scl1, scl2, 0.03], [sda3, scl1, 2.2e6]]
)";

}  // namespace

adapter::ContractReport checked(const Mutation& mutation, const std::string& extra, int channels) {
  std::string text = kBench;
  text.replace(text.find("EXTRA"), 5, extra);
  text.replace(text.find("MANY"), 4, std::to_string(channels));
  const auto scenario = hostsim::parse_scenario(text, "bench.yaml");
  EXPECT_TRUE(scenario) << scenario.problem().message;
  const auto bench = hostsim::make_network_bench(*scenario, std::nullopt);
  EXPECT_TRUE(bench);
  return adapter::check_contract(std::make_unique<MutatedAdapter>(*scenario, **bench, mutation));
}

std::string broken(const adapter::ContractReport& report) {
  std::string out;
  for (const auto& c : report.clauses) {
    if (c.holds == adapter::Holds::no) out += c.subject + ": " + c.says + ": " + c.seen + "\n";
  }
  if (report.stopped) out += report.stopped->code + " " + report.stopped->message + "\n";
  return out;
}

std::string each(const std::string& response,
                 const std::function<std::string(std::string)>& change) {
  std::string out, answer;
  bool quoted = false;
  const auto end = [&] {
    const std::string changed = change(answer);
    if (!changed.empty()) out += (out.empty() ? "" : ";") + changed;
    answer.clear();
  };
  for (const char c : response) {
    if (c == '"') quoted = !quoted;
    if (c == ';' && !quoted)
      end();
    else
      answer += c;
  }
  if (!response.empty()) end();
  return out;
}

bool is_reading(const std::string& answer) { return answer.find(",#H") != std::string::npos; }

std::string check_of(const std::string& body) {
  return fmt::format("#H{:04X}", hostsim::crc16(body));
}

Mutation readings(const std::function<std::string(std::string)>& change) {
  Mutation m;
  m.run = [change](hostsim::Device& d, const std::string& message) {
    return each(d.run(message), [&](const std::string& answer) {
      if (!is_reading(answer)) return answer;
      const std::string body = change(answer.substr(0, answer.size() - 6));
      return body + check_of(body);
    });
  };
  return m;
}

Mutation readings(const std::string& pattern, const std::string& fresh) {
  return readings([=](const std::string& body) {
    return std::regex_replace(body, std::regex(pattern), fresh);
  });
}

Mutation replaces(const std::string& pattern, const std::string& fresh) {
  Mutation m;
  m.run = [=](hostsim::Device& d, const std::string& message) {
    return d.run(std::regex_replace(message, std::regex(pattern), fresh));
  };
  return m;
}

Mutation answers(const std::string& pattern, const std::string& fresh) {
  Mutation m;
  m.run = [=](hostsim::Device& d, const std::string& message) {
    return std::regex_replace(d.run(message), std::regex(pattern), fresh);
  };
  return m;
}

Mutation units(const std::string& trigger,
               const std::function<std::string(hostsim::Device&, const std::string&)>& run) {
  Mutation m;
  m.run = [trigger, run](hostsim::Device& d, const std::string& message) {
    if (!std::regex_search(message, std::regex(trigger))) return d.run(message);
    std::string out;
    each(message, [&](const std::string& unit) {
      const std::string answer = run(d, unit);
      if (!answer.empty()) out += (out.empty() ? "" : ";") + answer;
      return unit;
    });
    return out;
  };
  return m;
}

}  // namespace isthmus::test
