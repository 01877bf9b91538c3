// SPDX-License-Identifier: Apache-2.0
// docs/adapter.md: switches, levels, and the form of an answer.
#include <fmt/format.h>

#include <algorithm>

#include "adapter/checker.hpp"
#include "adapter/reply.hpp"

namespace isthmus::adapter {
namespace {

std::string row_list(int row, int channels) {
  std::vector<Crosspoint> closed;
  for (int c = 1; c <= channels; ++c) closed.push_back({row, c});
  return canonical_list(closed);
}

void check_each_switch(Checker& check) {
  std::vector<Unit> each, rows;
  for (int row = 1; row <= check.rows(); ++row) {
    for (int c = 1; c <= check.can().channels; ++c) {
      const std::string list = fmt::format("(@{}!{})", row, c);
      each.push_back({":ROUT:OPEN:ALL;:ROUT:CLOS " + list + ";:ROUT:CLOS:STAT?", list});
    }
    rows.push_back({fmt::format(":ROUT:OPEN:ALL;:ROUT:CLOS (@{0}!1:{0}!{1});:ROUT:CLOS:STAT?", row,
                                check.can().channels),
                    row_list(row, check.can().channels)});
  }
  check.units("every crosspoint closes by itself and is read back", each);
  check.units("all channels close on one row at once", rows);
}

}  // namespace

void check_switches(Checker& check) {
  check.subject("switches");
  check_each_switch(check);
  check.clause("ROUT:OPEN opens what is named, others stay; ROUT:OPEN:ALL opens all",
               {{":ROUT:CLOS (@1!1,1!2,2!1);:ROUT:OPEN (@1!1);:ROUT:CLOS:STAT?", "(@1!2,2!1)"},
                {":ROUT:CLOS (@1!1,2!2);:ROUT:OPEN:ALL;:ROUT:CLOS:STAT?", "(@)"}});
  check.clause("ROUT:CLOS leaves closed what is closed",
               {{":ROUT:CLOS (@1!1);:ROUT:CLOS (@2!2);:ROUT:CLOS:STAT?", "(@1!1,2!2)"}});
  check.clause("a list is told in ascending row, then channel",
               {{":ROUT:CLOS (@2!2,1!2,2!1,1!1);:ROUT:CLOS:STAT?", "(@1!1,1!2,2!1,2!2)"}});
  check.clause("SYST:TAG opens every switch",
               {{":ROUT:CLOS (@1!1,2!2);:SYST:TAG 7;:ROUT:CLOS:STAT?", "(@)"}});
  check.clause(
      "a refused SYST:TAG changes nothing",
      {{":SYST:TAG 8;:ROUT:CLOS (@1!1);:SYST:TAG 0;:MEAS:VOLT?", "=8,(@1!1),any,any", {-222}}});
  check.clause("*RST opens every switch and forgets the tag; *CLS leaves them",
               {{":SYST:TAG 9;:ROUT:CLOS (@1!1,2!2);*RST;:ROUT:CLOS:STAT?;:MEAS:VOLT?",
                 "(@);=0,(@),any,any"},
                {":ROUT:CLOS (@1!1,2!2);*CLS;:ROUT:CLOS:STAT?", "(@1!1,2!2)"}});
}

void check_levels(Checker& check) {
  check.subject("levels");
  const double amperes = check.can().source_a, volts = check.can().voltage_v;
  const double usual = std::min(5.0, volts);
  const std::string told = fmt::format("~{:.9E};~{:.9E}", amperes, usual);
  check.clause(
      "after *RST: the largest current; 5 V, or VOLTAGE where that is less",
      {{":SOUR:CURR?;VOLT?", told}, {":SOUR:CURR 1E-3;VOLT 1;*RST;:SOUR:CURR?;VOLT?", told}});
  check.clause(
      "a level is held, up to the largest, and told in NR3",
      {{fmt::format(":SOUR:CURR {:.6E};CURR?", amperes / 2), fmt::format("~{:.9E}", amperes / 2)},
       {fmt::format(":SOUR:VOLT {:.6E};VOLT?", volts / 2), fmt::format("~{:.9E}", volts / 2)},
       {fmt::format(":SOUR:CURR {0:G};CURR?;VOLT {1:G};VOLT?", amperes, volts),
        fmt::format("~{:.9E};~{:.9E}", amperes, volts)}});
  check.clause(
      "above the largest, 0 and below are refused and change nothing: -222",
      {{fmt::format(":SOUR:CURR {:.6E};CURR?", amperes * 1.05),
        told.substr(0, told.find(';')),
        {-222}},
       {fmt::format(":SOUR:VOLT {:.6E};VOLT?", volts * 1.05),
        told.substr(told.find(';') + 1),
        {-222}},
       {":SOUR:CURR 0;VOLT 0;CURR -0.01;VOLT -1;CURR?;VOLT?", told, {-222, -222, -222, -222}}});
  check.clause("SYST:TAG leaves the levels", {{":SOUR:VOLT 1;:SYST:TAG 3;:SOUR:VOLT?", "~1"}});
}

void check_answers(Checker& check) {
  check.subject("answers");
  check.clause(
      "MEAS queries answer tag, closed switches, value, status and their check, in the page's form",
      {{":SYST:TAG 11;:ROUT:CLOS (@1!1);:MEAS:VOLT?;:SYST:TAG 12;:MEAS:VOLT?",
        "=11,(@1!1),volts,0;=12,(@),volts,0"},
       {":SYST:TAG 13;:ROUT:CLOS (@1!2);:ROUT:CLOS (@1!1);:MEAS:VOLT?", "=13,(@1!1,1!2),volts,0"}});
  check.clause("tags go to 2147483647, and need not rise",
               {{":SYST:TAG 2147483647;:MEAS:VOLT?;:SYST:TAG 2147483646;:MEAS:VOLT?;:SYST:TAG "
                 "2147483646;:MEAS:VOLT?",
                 "=2147483647,(@),volts,0;=2147483646,(@),volts,0;=2147483646,(@),volts,0"}});
  check.clause(
      "what cannot be carried out answers no reading, status 32, and one error -221",
      {{":SYST:TAG 14;:ROUT:CLOS (@1!1,2!1);:MEAS:RES?", "=14,(@1!1,2!1),none,32", {-221}},
       {":SYST:TAG 14;:ROUT:CLOS (@1!1,2!1);:MEAS:ISOL? 1E6", "=14,(@1!1,2!1),none,32", {-221}},
       {":SYST:TAG 14;:ROUT:CLOS (@1!1,2!1);:MEAS:VOLT?", "=14,(@1!1,2!1),none,32", {-221}},
       {":SYST:TAG 14;:MEAS:FRES?", "=14,(@),none,32", {-221}}});
  check.clause("a MEAS query with a wrong, missing or needless argument answers, too",
               {{":SYST:TAG 15;:MEAS:ISOL?", "=15,(@),none,32", {-109}},
                {":SYST:TAG 15;:MEAS:ISOL? \"1\"", "=15,(@),none,32", {-104}},
                {":SYST:TAG 15;:MEAS:ISOL? 0", "=15,(@),none,32", {-222}},
                {":SYST:TAG 15;:MEAS:ISOL? -5", "=15,(@),none,32", {-222}},
                {":SYST:TAG 15;:MEAS:RES? 1", "=15,(@),none,32", {-108}}});
  check.clause("so does one of an unknown kind; other unknown queries do not",
               {{":SYST:TAG 16;:MEAS:LUCK?;:SYST:BEEP?;*OPC?", "=16,(@),none,32;1", {-113, -113}},
                {":SYST:TAG 16;:MEASURE:RESIST?", "=16,(@),none,32", {-113}}});
}

}  // namespace isthmus::adapter
