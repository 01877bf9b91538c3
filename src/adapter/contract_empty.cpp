// SPDX-License-Identifier: Apache-2.0
// What must hold with nothing under the tips: what a run takes on trust, or would take for a board.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

#include "adapter/checker.hpp"
#include "adapter/reply.hpp"
#include "adapter/wanted.hpp"
#include "isthmus/base/binary_words.hpp"

namespace isthmus::adapter {
namespace {

using Channels = std::vector<int>;

constexpr int kTimes = 64;           // how often a reading goes to and fro
constexpr double kMostShare = 0.02;  // of a reference, that leakage may take
constexpr double kHighOhms = 1e5;    // by voltage from here on

std::string list_of(const Channels& row1, const Channels& row2) {
  std::vector<Crosspoint> closed;
  for (const int c : row1) closed.push_back({1, c});
  for (const int c : row2) closed.push_back({2, c});
  return canonical_list(closed);
}

// Nothing where the answer is no reading.
std::optional<PlainReading> read(Checker& check, const std::string& list, const std::string& what) {
  const std::string sent = fmt::format("*RST;*CLS;:SYST:TAG 71;:ROUT:CLOS {};:MEAS:{}", list, what);
  const Said said = check.talk().say(sent + "\n", check.busy(sent));
  if (check.ended() || said.lines.size() != 1) return std::nullopt;
  return plain_reading(said.lines.front());
}

bool conduct(Checker& check, const Channels& a, const Channels& b) {
  const auto reading = read(check, list_of(a, b), "RES?");
  return !reading || reading->value < 1e37;
}

// All channels on two rows: each two on different ones once.
std::vector<Sides<int>> words(int channels) {
  Channels all(static_cast<std::size_t>(channels));
  std::iota(all.begin(), all.end(), 1);
  return by_binary_words(all);
}

void check_no_two_touch(Checker& check) {
  const std::string says = "no two channels conduct: no wires and no tips touch each other";
  std::vector<std::string> pairs;
  const auto add = [&](std::string pair) {
    if (std::ranges::find(pairs, pair) == pairs.end()) pairs.push_back(std::move(pair));
  };
  for (const auto& [row1, row2] : words(check.can().channels)) {
    if (!conduct(check, row1, row2)) continue;
    for (const int a : row1) {
      if (check.ended()) return;
      if (!conduct(check, {a}, row2)) continue;
      for (const int b : row2) {
        if (conduct(check, {a}, {b})) add(fmt::format("{} and {}", std::min(a, b), std::max(a, b)));
      }
    }
    if (pairs.empty()) add("many at once, and no two of them alone,");
  }
  check.note(says, pairs.empty(),
             pairs.empty()
                 ? "all channels apart"
                 : fmt::format("channels {} conduct: they touch, or the board is still on",
                               fmt::join(pairs, ", ")));
}

void check_contact_says_no(Checker& check) {
  const std::string says = "CONT answers 0 where nothing is touched";
  if (!check.can().contact_check) return;
  Channels yes;
  for (int c = 1; c <= check.can().channels; ++c) {
    for (const int row : {1, 2}) {
      const auto reading = read(check, row == 1 ? list_of({c}, {}) : list_of({}, {c}), "CONT?");
      if (check.ended()) return;
      if ((!reading || reading->value != 0) && (yes.empty() || yes.back() != c)) yes.push_back(c);
    }
  }
  check.note(
      says, yes.empty(),
      yes.empty()
          ? fmt::format("{} channels", check.can().channels)
          : fmt::format("not of {} of {} channels: {}{}", yes.size(), check.can().channels,
                        fmt::join(yes.begin(),
                                  yes.begin() + std::min<std::ptrdiff_t>(8, std::ssize(yes)), ", "),
                        yes.size() > 8 ? "..." : ""));
}

// What is read beside a reference with all channels closed is the reference: a converter that gives
// up, or a source that sags, shows.
void check_with_all_closed(Checker& check) {
  const Capabilities& can = check.can();
  std::vector<Unit> units;
  for (std::size_t k = 0; k < can.references.size(); ++k) {
    const double ohms = can.references[k];
    const double leakage = can.channels * can.leakage_a / can.voltage_v;
    if (ohms > can.ohms_max || ohms * leakage > kMostShare) continue;
    for (const auto& [row1, row2] : words(can.channels)) {
      const std::string list = list_of(row1, row2);
      units.push_back({fmt::format(":SYST:TAG 72;:ROUT:REF {};:ROUT:CLOS {};:MEAS:ISOL? {:G}",
                                   k + 1, list, ohms),
                       fmt::format("=72,{},{:.9E},0", list, ohms)});
    }
  }
  const std::string says = "a reference is read by ISOL with all channels closed";
  if (units.empty()) return check.not_tried(says, "it has no reference that leakage leaves alone");
  check.units(says, units);
}

// Something and nothing in turn: what was read before must not come again.
void check_to_and_fro(Checker& check) {
  const std::string says =
      "each ISOL and RES reading is one of its own, something and nothing in turn";
  const Capabilities& can = check.can();
  std::vector<Unit> units;
  const auto in_turn = [&](std::size_t k, const std::string& query, const std::string& over) {
    for (int i = 0; i < kTimes; ++i) {
      units.push_back({fmt::format(":SYST:TAG 73;:ROUT:REF {};:MEAS:{}", k + 1, query),
                       fmt::format("=73,(@),{:.9E},0", can.references[k])});
      units.push_back({":SYST:TAG 74;:MEAS:" + query, "=74,(@)," + over});
    }
  };
  for (std::size_t k = 0; k < can.references.size(); ++k) {
    const double ohms = can.references[k];
    if (ohms * can.source_a <= 0.9 * can.voltage_v) in_turn(k, "RES?", "over,5");
    // With a low threshold nothing need not be over-range.
    if (ohms >= kHighOhms && ohms <= can.ohms_max)
      in_turn(k, fmt::format("ISOL? {:G}", ohms), "over,1");
  }
  if (units.empty()) return check.not_tried(says, "it has no reference for it");
  check.units(says, units);
}

}  // namespace

void check_empty(Checker& check) {
  check.subject("empty");
  // A simulator lifts its tips; one that cannot has none down before its first placement.
  if (check.can().simulated) check.talk().say("*RST;*CLS;:SIM:PLAC \"\"\n");
  check_no_two_touch(check);
  if (check.ended()) return;
  check_contact_says_no(check);
  if (check.ended()) return;
  check_with_all_closed(check);
  if (!check.ended()) check_to_and_fro(check);
}

}  // namespace isthmus::adapter
