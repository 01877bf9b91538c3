// SPDX-License-Identifier: Apache-2.0
// Finding and checking commands; what they do is in device_commands.cpp.
#include "hostsim/device/device.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "hostsim/device/crc.hpp"

namespace isthmus::hostsim {
namespace {

std::vector<std::string> split(std::string_view text, char at) {
  std::vector<std::string> parts(1);
  for (const char c : text) {
    if (c == at) {
      parts.emplace_back();
    } else {
      parts.back() += c;
    }
  }
  return parts;
}

// The header as one keyword a level, with and without its optional level "[:NEXT]".
std::vector<std::vector<std::string>> spellings(std::string_view header) {
  const std::size_t optional = header.find("[:");
  if (optional == std::string_view::npos) return {split(header, ':')};
  std::vector<std::string> shorter = split(header.substr(0, optional), ':');
  std::vector<std::string> longer = shorter;
  longer.emplace_back(header.substr(optional + 2, header.size() - optional - 3));
  return {shorter, longer};
}

bool same_header(const std::vector<std::string>& pattern, const std::vector<std::string>& words) {
  if (pattern.size() != words.size()) return false;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (!matches_keyword(pattern[i], words[i])) return false;
  }
  return true;
}

bool is_measure(const Unit& unit, const std::vector<std::string>& header) {
  return unit.query && !unit.common && !header.empty() &&
         matches_keyword("MEASure", header.front());
}

char letter_of(ArgumentKind kind) {
  switch (kind) {
    case ArgumentKind::number:
      return 'n';
    case ArgumentKind::list:
      return 'l';
    case ArgumentKind::string:
      return 's';
  }
  return '?';
}

}  // namespace

std::string canonical_list(const std::vector<Crosspoint>& points) {
  std::string text = "(@";
  for (std::size_t i = 0; i < points.size(); ++i) {
    text += fmt::format("{}{}!{}", i == 0 ? "" : ",", points[i].row, points[i].channel);
  }
  return text + ")";
}

std::string reading_text(long tag, const std::vector<Crosspoint>& closed, const Reading& reading) {
  const std::string body =
      fmt::format("{},{},{:+.6E},{},", tag, canonical_list(closed), reading.value, reading.status);
  return body + fmt::format("#H{:04X}", crc16(body));
}

Device::Device(const Scenario& scenario, Bench& bench)
    : draw_(scenario.adapter),
      seed_(scenario.seed),
      bench_(bench),
      instrument_(scenario.adapter, scenario.channels, scenario.seed, scenario.real_clock) {
  instrument_.lay(bench_.at_rest());
}

bool Device::show(std::string_view event) {
  if (!hand_ || !hand_->hear(event, instrument_.seconds())) return false;
  instrument_.follow(*hand_);
  return true;
}

std::string Device::run(std::string_view message) {
  answers_.clear();
  path_.clear();
  for (const Unit& unit : parse_message(message)) execute(unit);
  std::string response;
  for (std::size_t i = 0; i < answers_.size(); ++i) response += (i == 0 ? "" : ";") + answers_[i];
  return response;
}

void Device::message_too_long() {
  raise(-223, fmt::format("the buffer holds {} bytes", draw_.buffer));
}

void Device::raise(int number, const std::string& detail) { status_.raise(number, detail); }

bool Device::matches(const Command& command, const Unit& unit,
                     const std::vector<std::string>& header) {
  if (command.query != unit.query) return false;
  const std::string_view text = command.header;
  if (unit.common != text.starts_with('*')) return false;
  if (unit.common) return same_header({std::string(text.substr(1))}, header);
  for (const auto& spelling : spellings(text)) {
    if (same_header(spelling, header)) return true;
  }
  return false;
}

const Device::Command* Device::find(const Unit& unit,
                                    const std::vector<std::string>& header) const {
  for (const Command& command : commands()) {
    if (matches(command, unit, header)) return &command;
  }
  return nullptr;
}

void Device::execute(const Unit& unit) {
  std::vector<std::string> header;
  if (!unit.common && !unit.rooted) header = path_;
  header.insert(header.end(), unit.keywords.begin(), unit.keywords.end());
  const Command* command = find(unit, header);
  const auto refuse = [&](int number, const std::string& detail) {
    raise(number, detail);
    if (is_measure(unit, header)) answer_reading({kNoReading, kStatusNotDone});
  };
  if (unit.error != 0) return refuse(unit.error, unit.detail);
  if (command == nullptr) {
    std::string text;
    for (const std::string& word : header) text += (unit.common ? "*" : ":") + word;
    return refuse(-113, text + (unit.query ? "?" : ""));
  }
  if (!unit.common) path_.assign(header.begin(), header.end() - 1);
  if (!arguments_fit(*command, unit)) {
    if (is_measure(unit, header)) answer_reading({kNoReading, kStatusNotDone});
    return;
  }
  (this->*command->handler)(unit);
}

bool Device::arguments_fit(const Command& command, const Unit& unit) {
  const std::string_view wanted = command.arguments;
  for (std::size_t i = 0; i < unit.arguments.size() && i < wanted.size(); ++i) {
    if (letter_of(unit.arguments[i].kind) != wanted[i]) {
      raise(-104, fmt::format("argument {} of {}", i + 1, command.header));
      return false;
    }
  }
  if (unit.arguments.size() > wanted.size()) {
    raise(-108, command.header);
    return false;
  }
  if (unit.arguments.size() < wanted.size()) {
    raise(-109, command.header);
    return false;
  }
  return true;
}

bool Device::whole(const Unit& unit, long lo, long hi, long& value) {
  const double x = unit.arguments[0].number;
  if (!(x >= static_cast<double>(lo) && x <= static_cast<double>(hi)) || x != std::floor(x)) {
    raise(-222, fmt::format("a whole number from {} to {} is wanted", lo, hi));
    return false;
  }
  value = static_cast<long>(x);
  return true;
}

bool Device::crosspoints(const Unit& unit, std::vector<Crosspoint>& points) {
  for (const ListEntry& e : unit.arguments[0].list) {
    const auto rows = std::minmax(e.row_from, e.row_to);
    const auto channels = std::minmax(e.channel_from, e.channel_to);
    if (rows.first < 1 || rows.second > draw_.wires) {
      raise(-222, fmt::format("row {}", rows.first < 1 ? rows.first : rows.second));
      return false;
    }
    if (channels.first < 1 || channels.second > instrument_.channels()) {
      raise(-222, fmt::format("channel {}", channels.first < 1 ? channels.first : channels.second));
      return false;
    }
    for (auto row = rows.first; row <= rows.second; ++row) {
      for (auto channel = channels.first; channel <= channels.second; ++channel) {
        points.push_back({static_cast<int>(row), static_cast<int>(channel)});
      }
    }
  }
  return true;
}

}  // namespace isthmus::hostsim
