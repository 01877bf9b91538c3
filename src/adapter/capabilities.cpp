// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string_view>

#include "adapter/lines.hpp"
#include "adapter/reply.hpp"
#include "adapter/transports.hpp"

namespace isthmus::adapter {
namespace {

std::vector<std::string_view> cut(std::string_view text, char at) {
  std::vector<std::string_view> out;
  for (;;) {
    const auto end = text.find(at);
    out.push_back(text.substr(0, end));
    if (end == std::string_view::npos) return out;
    text.remove_prefix(end + 1);
  }
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

Problem nonsense(const std::string& query, const std::string& line) {
  return link_problem("ADP-021",
                      fmt::format("what answers {} is no adapter: \"{}\"", query, shown(line)),
                      "is it another device? `isthmus adapters` lists what is plugged in");
}

Problem bad_capability(std::string_view name, std::string_view value, const std::string& wanted) {
  return link_problem(
      "ADP-024",
      fmt::format("the adapter says {} \"{}\"; it must be {}", name, shown(value), wanted),
      "the adapter's firmware is at fault: docs/adapter.md, Capabilities");
}

using Pairs = std::map<std::string_view, std::string_view>;

// Reads NAME's number into `into` (kept where the name is absent).
template <class Number>
std::optional<Problem> read(const Pairs& pairs, std::string_view name, Number& into,
                            std::pair<double, double> range) {
  const auto found = pairs.find(name);
  if (found == pairs.end()) return std::nullopt;
  const auto number = parse_number(found->second);
  const auto fits = [&range](double x) {
    return x >= range.first && x <= range.second &&
           (std::is_floating_point_v<Number> || x == std::trunc(x));
  };
  if (!number || !fits(*number)) {
    return bad_capability(name, found->second,
                          fmt::format("{} to {:G}", range.first, range.second));
  }
  into = static_cast<Number>(*number);
  return std::nullopt;
}

std::optional<Problem> read_references(const Pairs& pairs, std::vector<double>& into) {
  const auto found = pairs.find("REFERENCES");
  if (found == pairs.end()) return std::nullopt;
  for (const std::string_view one : cut(found->second, '|')) {
    const auto ohms = parse_number(trimmed(one));
    if (!ohms || *ohms <= 0) {
      return bad_capability("REFERENCES", found->second, "resistances with | between them");
    }
    into.push_back(*ohms);
  }
  return std::nullopt;
}

std::optional<Problem> read_values(const Pairs& pairs, Capabilities& c) {
  int contact = 0, simulated = 0;
  std::optional<Problem> bad;
  const auto number = [&](std::string_view name, auto& into, double low, double high) {
    if (!bad) bad = read(pairs, name, into, {low, high});
  };
  number("CHANNELS", c.channels, 2, 256);
  number("WIRES", c.wires, 2, 4);
  number("CONTACT", contact, 0, 1);
  number("SIMULATED", simulated, 0, 1);
  number("SOURCE", c.source_a, 1e-6, 0.1);
  number("VOLTAGE", c.voltage_v, 0.1, 30);
  number("OHMS", c.ohms_max, 1, 1e18);
  number("LEAKAGE", c.leakage_a, 0, 1);
  number("NOISE", c.noise_v, 0, 10);
  number("SETTLE", c.settle_s, 0, 10);
  number("CONVERT", c.convert_s, 0, 10);
  number("BUFFER", c.buffer, 1024, 1e9);
  c.contact_check = contact == 1;
  c.simulated = simulated == 1;
  if (!bad && c.wires == 3) bad = bad_capability("WIRES", "3", "2 or 4");
  return bad ? bad : read_references(pairs, c.references);
}

}  // namespace

Result<Identity> parse_identity(const std::string& line) {
  const auto fields = cut(line, ',');
  const bool printable = std::ranges::all_of(line, [](char c) { return c >= 0x20 && c < 0x7f; });
  if (fields.size() != 4 || !printable || trimmed(fields[0]).empty() ||
      trimmed(fields[1]).empty()) {
    return nonsense("*IDN?", line);
  }
  const auto word = [&](std::size_t i) { return std::string(trimmed(fields[i])); };
  return Identity{word(0), word(1), word(2), word(3)};
}

Result<Capabilities> parse_capabilities(const std::string& line) {
  if (line.size() < 2 || line.front() != '"' || line.back() != '"')
    return nonsense("SYST:CAP?", line);
  Pairs pairs;
  for (std::string_view pair : cut(std::string_view(line).substr(1, line.size() - 2), ';')) {
    pair = trimmed(pair);
    if (pair.empty()) continue;
    const auto blank = pair.find(' ');
    if (blank == std::string_view::npos) return nonsense("SYST:CAP?", line);
    if (!pairs.emplace(pair.substr(0, blank), trimmed(pair.substr(blank + 1))).second) {
      return nonsense("SYST:CAP?", line);
    }
  }
  Capabilities c;
  if (const auto bad = read(pairs, "CONTRACT", c.contract, {0, 1e6})) return *bad;
  if (c.contract != 1) {
    return link_problem(
        "ADP-023",
        fmt::format("the adapter speaks contract {}; this program speaks contract 1",
                    c.contract ? std::to_string(c.contract) : "of no number"),
        "update the program, or the adapter's firmware");
  }
  if (!pairs.contains("CHANNELS")) return bad_capability("CHANNELS", "", "2 to 256");
  if (const auto bad = read_values(pairs, c)) return *bad;
  return c;
}

}  // namespace isthmus::adapter
