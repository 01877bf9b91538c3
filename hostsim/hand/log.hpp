// SPDX-License-Identifier: Apache-2.0
// What the person did, a JSON object a line: for those who judge a run, never for the program.
#pragma once

#include <filesystem>
#include <fstream>
#include <string_view>

#include "hostsim/hand/event.hpp"
#include "hostsim/hand/landing.hpp"

namespace isthmus::hostsim {

class HandLog {
 public:
  // An empty path: nothing is written.
  explicit HandLog(const std::filesystem::path& path);
  void landed(double seconds, long landing, const TouchEvent& touch, const Place& at,
              const Fate& fate, bool on_copper);
  // `what`: "on", "fell"
  void clip(double seconds, formats::Channel channel, std::string_view what);
  void answered(double seconds, std::string_view word);

 private:
  std::ofstream out_;
};

}  // namespace isthmus::hostsim
