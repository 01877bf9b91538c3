// SPDX-License-Identifier: Apache-2.0
// Judges a test report against what truly lay on the bench. Reads nothing but the scenario and the
// report's JSON; shares no code with the program it judges.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace isthmus::score {

struct Spot {
  double x{}, y{};   // mm
  std::string side;  // top, bottom; "" or "both": either
};

// What was done to the board.
struct Truth {
  std::string kind;         // open, bridge, neck, leak, whisker, no-join
  std::vector<Spot> spots;  // one, or the two ends
  double ohm{};             // leak, whisker
  std::vector<std::string> nets;
  int line{};  // in the scenario
};

// What the report says.
struct Suspect {
  Spot spot;
  std::vector<Spot> path;
};
struct Finding {
  std::string kind;  // open, bridge, high-resistance, leakage
  std::vector<std::string> nets;
  std::vector<Suspect> suspects;
};
struct Report {
  std::string verdict;
  std::vector<Finding> findings;
};

constexpr double kNearMm = 1.0;
constexpr double kBridgeOhm =
    100e3;  // from here on a path between two nets is leakage, not a bridge

struct Match {
  std::optional<std::size_t> finding;  // which finding names the defect
  std::optional<std::size_t> suspect;  // the first of its suspects that is near enough
  double distance_mm{};                // of the nearest suspect of a fitting kind; -1 without one
};
struct Score {
  std::vector<Match> matches;         // one a truth, same order
  std::vector<std::size_t> invented;  // findings that match no truth
  [[nodiscard]] std::size_t found() const;
  [[nodiscard]] bool perfect() const { return found() == matches.size() && invented.empty(); }
};

// The kind of finding a defect must give.
std::string expected_kind(const Truth& truth);

// From the true place to the suspect's spot or path, whichever is nearer; nothing when the side is
// another.
std::optional<double> distance_mm(const Truth& truth, const Suspect& suspect);

Score judge(const std::vector<Truth>& truths, const Report& report);

// Both throw std::runtime_error with file and reason.
std::vector<Truth> read_truths(const std::string& path);  // `defects` and `drawn` of a scenario
Report read_report(const std::string& path);

// A table for a person.
std::string table(const std::vector<Truth>& truths, const Report& report, const Score& score);

}  // namespace isthmus::score
