// SPDX-License-Identifier: Apache-2.0
// docs/adapter.md: what is measured, as far as it can be known without knowing the board.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "adapter/checker.hpp"
#include "adapter/reply.hpp"
#include "adapter/transports.hpp"
#include "adapter/wanted.hpp"

namespace isthmus::adapter {
namespace {

constexpr double kMostVolts = 0.1;  // of the board's own, docs/adapter.md, Cautions
constexpr double kMostSupply = 30;  // V

std::string step(int tag, const std::string& list, const std::string& query) {
  return fmt::format(":SYST:TAG {};:ROUT:CLOS {};:MEAS:{}", tag, list, query);
}

double threshold(const Checker& check) { return std::min(1e7, check.can().ohms_max); }

}  // namespace

// Two neighbouring channels at a time: what a battery drives goes through the meter alone.
bool check_board_voltage(Checker& check) {
  check.subject("measuring");
  const std::string says = "VOLT of what lies on the adapter is read, source off";
  double worst = 0;
  bool good = true;
  for (int c = 1; c < check.can().channels; ++c) {
    const std::string list = fmt::format("(@1!{},2!{})", c, c + 1);
    const Said said = check.talk().say("*RST;*CLS;" + step(c, list, "VOLT?") + "\n");
    if (check.ended()) return false;
    const std::string line = said.lines.empty() ? "nothing" : said.lines.front();
    const auto volts = value_in(line);
    if (!volts || std::fabs(*volts) > 1e3) {
      check.note(says, false, fmt::format("channel {}: \"{}\"", c, shown(line)));
      return false;
    }
    worst = std::max(worst, std::fabs(*volts));
    good &= said.lines.size() == 1 && as_wanted(fmt::format("={},{},number,0", c, list), line);
    if (!good || worst > kMostVolts) break;
  }
  check.talk().tell("*RST\n");
  check.note(says, good || worst > kMostVolts,
             fmt::format("at most {:.4f} V between neighbouring channels", worst));
  if (worst > kMostVolts) {
    Problem live = link_problem(
        "ADP-028", fmt::format("there are {:.2f} V of its own on what lies on the adapter", worst),
        "take the board off; an adapter is best checked without one");
    live.cause = Cause::bench;
    check.talk().stop(std::move(live));
  }
  return worst <= kMostVolts;
}

void check_measuring(Checker& check) {
  check.subject("measuring");
  const int channels = check.can().channels;
  const double r = threshold(check);
  std::vector<Unit> alone;
  for (int row = 1; row <= 2; ++row) {
    for (int c = 1; c <= channels; ++c) {
      const std::string list = fmt::format("(@{}!{})", row, c);
      alone.push_back({step(c, list, "RES?"), fmt::format("={},{},over,5", c, list)});
    }
  }
  check.units("one channel on one row alone conducts to nothing: over-range, status 5", alone);
  std::vector<Crosspoint> high, low;
  for (int c = 1; c <= channels; ++c) high.push_back({1, c}), low.push_back({2, c});
  std::vector<Unit> rows;
  for (const auto& [range, list] :
       {std::pair{fmt::format("(@1!1:1!{})", channels), canonical_list(high)},
        {fmt::format("(@2!1:2!{})", channels), canonical_list(low)}}) {
    rows.push_back({step(41, range, "RES?"), fmt::format("=41,{},over,5", list)});
    rows.push_back(
        {step(42, range, fmt::format("ISOL? {:G}", r)), fmt::format("=42,{},over,1", list)});
  }
  check.units("all channels on one row alone: RES over-range 5, ISOL over-range 1", rows);
  check.clause("nothing closed is nothing wrong in RES, ISOL and VOLT",
               {{fmt::format(":SYST:TAG 43;:MEAS:RES?;:MEAS:ISOL? {:G};:MEAS:VOLT?", r),
                 "=43,(@),over,5;=43,(@),over,1;=43,(@),volts,0"}});
  check.clause("after RES and ISOL the source is off and the rows are discharged",
               {{fmt::format(":SYST:TAG 44;:ROUT:CLOS (@1!1);:MEAS:RES?;:MEAS:VOLT?;:MEAS:ISOL? "
                             "{:G};:MEAS:VOLT?",
                             r),
                 "=44,(@1!1),over,5;=44,(@1!1),volts,0;=44,(@1!1),over,1;=44,(@1!1),volts,0"}});
  std::vector<Try> four;
  if (check.rows() == 4) {
    four = {{step(45, "(@1!1,2!2,3!1)", "FRES?"), "=45,(@1!1,2!2,3!1),none,32", {-221}},
            {step(45, "(@1!1,3!1,4!2)", "FRES?"), "=45,(@1!1,3!1,4!2),none,32", {-221}},
            {step(45, "(@1!1,2!1,3!1,4!1)", "FRES?"), "=45,(@1!1,2!1,3!1,4!1),none,32", {-221}},
            {step(45, "(@1!1,2!2,3!1,4!2)", "FRES?"), "=45,(@1!1,2!2,3!1,4!2),any,any"}};
    check.clause("FRES needs a crosspoint on each of the four rows", four);
  } else {
    check.clause("FRES on two wires: -221",
                 {{step(45, "(@1!1,2!2)", "FRES?"), "=45,(@1!1,2!2),none,32", {-221}}});
  }
}

namespace {

void check_isolation(Checker& check, std::size_t k, double ohms) {
  const std::string connect = fmt::format(":SYST:TAG 51;:ROUT:REF {};:MEAS:ISOL? ", k);
  const std::string name = fmt::format("reference {}, {:G} ohm: ISOL ", k, ohms);
  if (ohms <= check.can().ohms_max) {
    std::vector<Try> near;
    for (const double r : {ohms, ohms * 8, ohms / 8}) {
      near.push_back({fmt::format("{}{:G}", connect, r), fmt::format("=51,(@),{:.9E},0", ohms)});
    }
    check.clause(name + "reads it within 5 % and 1 ohm for thresholds from a tenth to ten times it",
                 near);
  }
  // Farther away only the side counts.
  bool good = true;
  std::string seen;
  for (const double r : {ohms * 1000, ohms / 1000}) {
    if (r > check.can().ohms_max || r < 0.01) continue;
    check.talk().say("*RST;*CLS\n");
    const std::string sent = fmt::format("{}{:G}", connect, r);
    const Said said = check.talk().say(sent + "\n", check.busy(sent));
    if (check.ended()) return;
    const auto reading = said.lines.size() == 1 ? plain_reading(said.lines.front()) : std::nullopt;
    const bool side = reading && reading->status <= 1 && (reading->value > r) == (ohms > r);
    good &= side;
    seen += fmt::format("{}{:G} against {:G}", seen.empty() ? "" : ", ",
                        reading ? reading->value : std::nan(""), r);
  }
  check.note(name + "is on the right side of far thresholds", good, seen.empty() ? "none" : seen);
}

void check_resistance(Checker& check, std::size_t k, double ohms) {
  const Capabilities& can = check.can();
  const std::string name = fmt::format("reference {}, {:G} ohm: ", k, ohms);
  const std::string connect = fmt::format(":SYST:TAG 52;:ROUT:REF {};", k);
  std::vector<std::string> queries{":MEAS:RES?"};
  if (check.rows() == 4) queries.emplace_back(":MEAS:FRES?");
  std::vector<Try> tries;
  const std::string reads = fmt::format("=52,(@),{:.9E},0", ohms);
  const std::string over = "=52,(@),over,5";
  for (const std::string& query : queries) {
    for (const double part : {1.0, 0.5}) {
      const double volts = ohms * can.source_a * part;
      std::string sent = connect;
      if (part < 1) sent += fmt::format(":SOUR:CURR {:.6E};", can.source_a * part);
      if (volts <= 0.9 * std::min(can.voltage_v, kMostSupply))
        tries.push_back({sent + query, reads});
      if (volts > 10 * kMostSupply) tries.push_back({sent + query, over});
    }
  }
  if (!tries.empty()) {
    check.clause(name + (tries.front().wanted == reads ? "RES and FRES read it within 5 % and 1 ohm"
                                                       : "beyond the source: over-range, status 5"),
                 tries);
  }
}

// What NOISE says against what repeated readings do; three times that is chance no more.
void check_noise(Checker& check, std::size_t k, double ohms) {
  const Capabilities& can = check.can();
  const std::string query = check.rows() == 4 ? ":MEAS:FRES?" : ":MEAS:RES?";
  std::string sent = fmt::format(":SYST:TAG 53;:ROUT:REF {}", k);
  constexpr int kRepeats = 16;
  for (int i = 0; i < kRepeats; ++i) sent += ";" + query;
  const Said said = check.talk().say("*RST;*CLS;" + sent + "\n", check.busy(sent));
  if (check.ended() || said.lines.size() != 1) return;
  std::vector<double> values;
  for (const std::string& answer : answers_of(said.lines.front())) {
    if (const auto reading = plain_reading(answer)) values.push_back(reading->value);
  }
  double mean = 0, square = 0;
  for (const double v : values) mean += v / static_cast<double>(values.size());
  for (const double v : values) square += (v - mean) * (v - mean) / (kRepeats - 1);
  // One conversion for a reading that is not reversed.
  const double most = 3 * can.noise_v / can.source_a + 2e-6 * ohms;
  check.note(fmt::format("reference {}: readings scatter as NOISE says", k),
             values.size() == kRepeats && std::sqrt(square) <= most,
             fmt::format("{:.3G} ohm in {} readings, at most {:.3G}", std::sqrt(square),
                         values.size(), most));
}

}  // namespace

void check_references(Checker& check) {
  check.subject("references");
  const std::vector<double>& ohms = check.can().references;
  check.clause("ROUT:REF beyond the references, below 0 or not whole: -222",
               {{fmt::format(":ROUT:REF {}", ohms.size() + 1), "", {-222}},
                {":ROUT:REF -1", "", {-222}},
                {":ROUT:REF 0.5", "", {-222}}});
  if (ohms.empty()) return check.not_tried("references read right", "it has none");
  for (std::size_t k = 1; k <= ohms.size(); ++k) {
    check_resistance(check, k, ohms[k - 1]);
    check_isolation(check, k, ohms[k - 1]);
  }
  const auto low = std::ranges::min_element(ohms);
  const auto k = static_cast<std::size_t>(low - ohms.begin()) + 1;
  if (*low * check.can().source_a > 0.9 * std::min(check.can().voltage_v, kMostSupply)) {
    return check.not_tried("references come and go", "none is low enough for the source");
  }
  check_noise(check, k, *low);
  const std::string connect = fmt::format(":SYST:TAG 54;:ROUT:REF {}", k);
  const std::string reads = fmt::format("=54,(@),{:.9E},0", *low), open = "=54,(@),over,5";
  check.clause("a reference goes with ROUT:REF 0, SYST:TAG and *RST, and stays with ROUT:OPEN:ALL",
               {{connect + ";:ROUT:OPEN:ALL;:MEAS:RES?;:ROUT:REF 0;:MEAS:RES?", reads + ";" + open},
                {connect + fmt::format(";:ROUT:REF {};:MEAS:RES?", ohms.size() + 1), reads, {-222}},
                {connect + ";:SYST:TAG 54;:MEAS:RES?", open},
                {connect + ";*RST;:SYST:TAG 54;:MEAS:RES?", open}});
}

void check_contact(Checker& check) {
  check.subject("contact");
  const int channels = check.can().channels;
  if (!check.can().contact_check) {
    return check.clause("without CONTACT 1: -113, and an answer of status 32",
                        {{step(61, "(@1!1)", "CONT?"), "=61,(@1!1),none,32", {-113}}});
  }
  std::vector<Unit> each;
  for (int row = 1; row <= 2; ++row) {
    for (int c = 1; c <= channels; ++c) {
      const std::string list = fmt::format("(@{}!{})", row, c);
      each.push_back({step(c, list, "CONT?"), fmt::format("={},{},flag,0", c, list)});
    }
  }
  check.units("CONT answers 0 or 1 through each switch of rows 1 and 2", each);
  std::vector<Try> not_one{{":SYST:TAG 62;:MEAS:CONT?", "=62,(@),none,32", {-221}},
                           {step(62, "(@1!1,1!2)", "CONT?"), "=62,(@1!1,1!2),none,32", {-221}}};
  if (check.rows() == 4)
    not_one.push_back({step(62, "(@3!1)", "CONT?"), "=62,(@3!1),none,32", {-221}});
  check.clause("CONT needs one crosspoint, on row 1 or 2: -221", not_one);
}

void check_simulator(Checker& check) {
  check.subject("simulator");
  if (check.can().simulated) {
    check.clause("a placement that is not there: -222; a ; in a string is part of it",
                 {{":SIM:PLAC \"no;such \"\"place\"\"\"", "", {-222}}});
    check.clause("SIM:HASH? answers one string", {{":SIM:HASH?", "*"}});
  } else {
    check.clause("an adapter that is no simulator answers -113 to SIMulate",
                 {{":SIM:PLAC \"A\"", "", {-113}}, {":SIM:HASH?", "", {-113}}});
  }
}

void check_ending(Checker& check) {
  check.subject("self-test");
  const Said test = check.talk().say("*RST;*CLS;*TST?\n", Seconds{28});
  if (check.ended()) return;
  check.note("*TST? answers 0", test.lines == std::vector<std::string>{"0"} && test.errors.empty(),
             test.lines.empty() ? "nothing" : shown(test.lines.front()));
  check.subject("ending");
  check.clause("a session ends with *RST;:ROUT:CLOS:STAT?, which answers (@)",
               {{":ROUT:CLOS (@1!1);*RST;:ROUT:CLOS:STAT?", "(@)"}});
}

}  // namespace isthmus::adapter
