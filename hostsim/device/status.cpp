// SPDX-License-Identifier: Apache-2.0
#include "hostsim/device/status.hpp"

#include <map>
#include <utility>

namespace isthmus::hostsim {
namespace {

std::string entry(int number, const std::string& detail) {
  static const std::map<int, const char*> kTexts{
      {-102, "Syntax error"},      {-104, "Data type error"},  {-108, "Parameter not allowed"},
      {-109, "Missing parameter"}, {-113, "Undefined header"}, {-221, "Settings conflict"},
      {-222, "Data out of range"}, {-223, "Too much data"},    {-240, "Hardware error"},
      {-350, "Queue overflow"}};
  std::string text = kTexts.at(number);
  if (!detail.empty()) text += ";" + detail;
  std::string quoted;
  for (const char c : text) {
    quoted += c;
    if (c == '"') quoted += '"';
  }
  return std::to_string(number) + ",\"" + quoted + "\"";
}

}  // namespace

void StatusModel::raise(int number, const std::string& detail) {
  const int kind = -number / 100;  // 1 command, 2 execution, 3 device, 4 query
  events_ |= kind == 1 ? 0x20 : kind == 2 ? 0x10 : kind == 3 ? 0x08 : 0x04;
  if (errors_.size() < kQueueLength) {
    errors_.push_back(entry(number, detail));
  } else {
    errors_.back() = entry(-350, "");
    events_ |= 0x08;
  }
}

std::string StatusModel::next_error() {
  if (errors_.empty()) return "0,\"No error\"";
  std::string oldest = std::move(errors_.front());
  errors_.pop_front();
  return oldest;
}

void StatusModel::clear() {
  errors_.clear();
  events_ = 0;
}

int StatusModel::take_event_status() { return std::exchange(events_, 0); }

int StatusModel::status_byte(bool message_available) const {
  int byte = 0;
  if (!errors_.empty()) byte |= 0x04;
  if (message_available) byte |= 0x10;
  if ((events_ & event_enable) != 0) byte |= 0x20;
  if ((byte & service_enable & ~0x40) != 0) byte |= 0x40;
  return byte;
}

}  // namespace isthmus::hostsim
