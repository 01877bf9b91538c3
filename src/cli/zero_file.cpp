// SPDX-License-Identifier: Apache-2.0
#include "cli/zero_file.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <nlohmann/json.hpp>

#include "isthmus/formats/design.hpp"

namespace isthmus::cli {
namespace {

// A working day: connectors are mated again, switches warm up and wear. Common practice, no source.
constexpr double kHours = 12;
constexpr double kMostOhms = 100;

std::optional<std::time_t> time_of(const std::string& utc) {
  std::tm parts{};
  char z = 0;
  if (std::sscanf(utc.c_str(), "%4d-%2d-%2dT%2d:%2d:%2d%c", &parts.tm_year, &parts.tm_mon,
                  &parts.tm_mday, &parts.tm_hour, &parts.tm_min, &parts.tm_sec, &z) != 7 ||
      z != 'Z')
    return std::nullopt;
  parts.tm_year -= 1900;
  parts.tm_mon -= 1;
  return timegm(&parts);
}

Problem problem(const std::string& code, std::string message, std::string hint) {
  return Problem{"", 0, 0, code, std::move(message), std::move(hint), ""};
}

}  // namespace

std::string now_utc() {
  const std::time_t now = std::time(nullptr);
  std::tm parts{};
  gmtime_r(&now, &parts);
  std::array<char, 32> text{};
  std::strftime(text.data(), text.size(), "%Y-%m-%dT%H:%M:%SZ", &parts);
  return text.data();
}

std::string write_zero(const session::Zero& zero) {
  nlohmann::ordered_json j{{"isthmus_zero", 1},
                           {"adapter", zero.adapter_serial},
                           {"fixture", zero.fixture_hash},
                           {"taken", zero.taken_utc},
                           {"wires", zero.wires},
                           {"uncertainty_ohm", zero.uncertainty},
                           {"in_air", zero.in_air},
                           {"placements", nlohmann::ordered_json::object()}};
  for (const auto& [name, channels] : zero.placements) {
    for (const auto& [channel, z] : channels)
      j["placements"][name][std::to_string(channel)] = {z.row1, z.row2};
  }
  return j.dump(1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

Result<session::Zero> read_zero(const std::string& file) {
  auto bytes = formats::read_whole_file(file, 4u << 20);
  if (!bytes) return bytes.problem();
  const Problem wrong{file,
                      0,
                      0,
                      "CLI-080",
                      "this is no file of `isthmus zero`",
                      "take the zero anew: isthmus zero",
                      ""};
  try {
    const auto j = nlohmann::json::parse(*bytes);
    if (j.at("isthmus_zero") != 1) return wrong;
    session::Zero zero;
    zero.adapter_serial = j.at("adapter");
    zero.fixture_hash = j.at("fixture");
    zero.taken_utc = j.at("taken");
    zero.wires = j.at("wires");
    zero.uncertainty = j.at("uncertainty_ohm");
    if (j.contains("in_air")) zero.in_air = j.at("in_air").get<std::set<std::string>>();
    const auto sane = [](double ohms) { return std::fabs(ohms) < kMostOhms; };
    bool good = zero.uncertainty >= 0 && sane(zero.uncertainty) && time_of(zero.taken_utc);
    for (const auto& [name, channels] : j.at("placements").items()) {
      for (const auto& [channel, rows] : channels.items()) {
        const session::ChannelZero z{rows.at(0), rows.at(1)};
        good &= sane(z.row1) && sane(z.row2);
        zero.placements[name][std::stoi(channel)] = z;
      }
    }
    return good ? Result<session::Zero>(zero) : wrong;
  } catch (const std::exception&) {  // what it throws ends here
    return wrong;
  }
}

Result<Done> check_zero(const session::Zero& zero, const std::string& adapter_serial,
                        const std::string& fixture_hash, const std::string& now_utc) {
  const std::string hint = "take it anew: isthmus zero";
  if (zero.adapter_serial != adapter_serial) {
    return problem("CLI-081",
                   fmt::format("the zero was taken with adapter {}; this is {}",
                               zero.adapter_serial, adapter_serial),
                   hint);
  }
  if (zero.fixture_hash != fixture_hash)
    return problem("CLI-081", "the zero was taken with another fixture", hint);
  const auto taken = time_of(zero.taken_utc), now = time_of(now_utc);
  const double hours = taken && now ? std::difftime(*now, *taken) / 3600 : INFINITY;
  if (hours >= -0.1 && hours <= kHours) return Done{};
  return problem("CLI-082",
                 fmt::format("the zero is stale: it was taken at {}, and holds for {:G} hours",
                             zero.taken_utc, kHours),
                 hint);
}

}  // namespace isthmus::cli
