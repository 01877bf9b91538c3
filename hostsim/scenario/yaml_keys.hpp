// SPDX-License-Identifier: Apache-2.0
// Reading a YAML mapping key by key, so that a key nobody asked for is an error. Private to
// hostsim.
#pragma once

#include <yaml-cpp/yaml.h>

#include <set>
#include <string>

#include "isthmus/base/result.hpp"

namespace isthmus::hostsim {

// Thrown and caught inside the scenario reader only.
struct ScenarioFault {
  Problem problem;
};

[[noreturn]] void fail_at(const YAML::Mark& mark, const char* code, std::string message,
                          std::string hint = {});

double number_of(const YAML::Node& node, const std::string& what);
std::string text_of(const YAML::Node& node, const std::string& what);
bool truth_of(const YAML::Node& node, const std::string& what);
long whole_of(const YAML::Node& node, const std::string& what);

class Keys {
 public:
  // REQUIRES a defined node; refuses what is not a mapping and keys written twice.
  Keys(const YAML::Node& node, std::string what);
  ~Keys() = default;
  Keys(const Keys&) = delete;
  Keys& operator=(const Keys&) = delete;

  // The value, or an undefined node where the key is absent.
  YAML::Node take(const std::string& key);
  YAML::Node need(const std::string& key);
  // Value if present: within [lo, hi].
  void number(const std::string& key, double& value, double lo, double hi);
  void truth(const std::string& key, bool& value);
  // Call last: refuses the keys that were not taken, naming the nearest known one.
  void finish() const;
  [[nodiscard]] YAML::Mark mark() const { return node_.Mark(); }

 private:
  YAML::Node node_;
  std::string what_;
  std::set<std::string> known_;
};

}  // namespace isthmus::hostsim
