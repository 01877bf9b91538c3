// SPDX-License-Identifier: Apache-2.0
#include "hostsim/scenario/yaml_keys.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <utility>
#include <vector>

namespace isthmus::hostsim {
namespace {

std::size_t edit_distance(const std::string& a, const std::string& b) {
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = std::exchange(row[0], i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t substituted = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
      diagonal = std::exchange(row[j], std::min({row[j] + 1, row[j - 1] + 1, substituted}));
    }
  }
  return row[b.size()];
}

std::string nearest(const std::set<std::string>& known, const std::string& key) {
  std::string best;
  std::size_t distance = 4;
  for (const std::string& k : known) {
    const std::size_t d = edit_distance(k, key);
    if (d < distance) {
      distance = d;
      best = k;
    }
  }
  return best;
}

const std::string& scalar_of(const YAML::Node& node, const std::string& what, const char* kind) {
  if (!node.IsScalar()) fail_at(node.Mark(), "SIM-004", fmt::format("{} must be {}", what, kind));
  return node.Scalar();
}

}  // namespace

void fail_at(const YAML::Mark& mark, const char* code, std::string message, std::string hint) {
  Problem p;
  p.code = code;
  p.message = std::move(message);
  p.hint = std::move(hint);
  if (!mark.is_null()) {
    p.line = mark.line + 1;
    p.column = mark.column + 1;
  }
  throw ScenarioFault{std::move(p)};
}

double number_of(const YAML::Node& node, const std::string& what) {
  const std::string& s = scalar_of(node, what, "a number");
  double value = 0;
  const char* first = s.data() + (s.starts_with('+') ? 1 : 0);
  const auto [ptr, code] = std::from_chars(first, s.data() + s.size(), value);
  if (code != std::errc{} || ptr != s.data() + s.size() || !std::isfinite(value)) {
    fail_at(node.Mark(), "SIM-004", fmt::format("{} must be a number, not '{}'", what, s),
            "units are part of the key: write the bare number");
  }
  return value;
}

long whole_of(const YAML::Node& node, const std::string& what) {
  const double value = number_of(node, what);
  if (value != std::floor(value) || std::abs(value) > 9e15) {
    fail_at(node.Mark(), "SIM-004", fmt::format("{} must be a whole number", what));
  }
  return static_cast<long>(value);
}

std::string text_of(const YAML::Node& node, const std::string& what) {
  return scalar_of(node, what, "a word");
}

bool truth_of(const YAML::Node& node, const std::string& what) {
  const std::string& s = scalar_of(node, what, "true or false");
  if (s != "true" && s != "false") {
    fail_at(node.Mark(), "SIM-004", fmt::format("{} must be true or false, not '{}'", what, s));
  }
  return s == "true";
}

Keys::Keys(const YAML::Node& node, std::string what) : node_(node), what_(std::move(what)) {
  if (!node_.IsMap()) {
    fail_at(node_.Mark(), "SIM-004", fmt::format("{} must be a mapping of keys", what_));
  }
  std::set<std::string> seen;
  for (const auto& entry : node_) {
    const std::string key = text_of(entry.first, "a key of " + what_);
    if (!seen.insert(key).second) {
      fail_at(entry.first.Mark(), "SIM-005",
              fmt::format("'{}' is written twice in {}", key, what_));
    }
  }
}

YAML::Node Keys::take(const std::string& key) {
  known_.insert(key);
  const YAML::Node& constant = node_;  // reading through a const node does not create the key
  return constant[key];
}

YAML::Node Keys::need(const std::string& key) {
  YAML::Node value = take(key);
  if (!value.IsDefined()) {
    fail_at(node_.Mark(), "SIM-003", fmt::format("{} lacks the key '{}'", what_, key));
  }
  return value;
}

void Keys::number(const std::string& key, double& value, double lo, double hi) {
  const YAML::Node node = take(key);
  if (!node.IsDefined()) return;
  value = number_of(node, key);
  if (value < lo || value > hi) {
    fail_at(node.Mark(), "SIM-006", fmt::format("{} must lie between {:g} and {:g}", key, lo, hi));
  }
}

void Keys::truth(const std::string& key, bool& value) {
  const YAML::Node node = take(key);
  if (node.IsDefined()) value = truth_of(node, key);
}

void Keys::finish() const {
  for (const auto& entry : node_) {
    const std::string& key = entry.first.Scalar();
    if (known_.contains(key)) continue;
    const std::string near = nearest(known_, key);
    fail_at(entry.first.Mark(), "SIM-002", fmt::format("unknown key '{}' in {}", key, what_),
            near.empty() ? "" : fmt::format("did you mean '{}'?", near));
  }
}

}  // namespace isthmus::hostsim
