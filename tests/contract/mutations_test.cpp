// SPDX-License-Identifier: Apache-2.0
// Adapters with one thing wrong: the thorough check names the sentence of docs/adapter.md that each
// of them breaks.
#include <gtest/gtest.h>

#include <algorithm>
#include <regex>
#include <utility>

#include "tests/contract/mutated.hpp"

namespace isthmus {
namespace {

using hostsim::Device;
using test::answers;
using test::each;
using test::Mutation;
using test::readings;
using test::replaces;
using test::units;

struct Wrong {
  const char* name;
  Mutation mutation;
  const char* clause;  // a part of what is then found not to hold
  const char* extra = "";
};

void expect_seen(const std::vector<Wrong>& all) {
  for (const Wrong& wrong : all) {
    const auto report = test::checked(wrong.mutation, wrong.extra);
    const bool seen = std::ranges::any_of(report.clauses, [&](const adapter::Clause& c) {
      return c.holds == adapter::Holds::no && c.says.find(wrong.clause) != std::string::npos;
    });
    EXPECT_TRUE(seen) << wrong.name << "\n" << test::broken(report);
  }
}

std::string closed(Device& d) { return d.run(":ROUT:CLOS:STAT?"); }

void close_again(Device& d, const std::string& list) {
  if (list != "(@)") d.run(":ROUT:CLOS " + list);
}

Mutation without_refused_answers() {
  Mutation m;
  m.run = [](Device& d, const std::string& message) {
    return each(d.run(message), [](const std::string& a) {
      return a.find("+9.910000E+37,32,") == std::string::npos ? a : std::string();
    });
  };
  return m;
}

Mutation check_without_the_last_comma() {
  Mutation m;
  m.run = [](Device& d, const std::string& message) {
    return each(d.run(message), [](const std::string& a) {
      if (!test::is_reading(a)) return a;
      const std::string body = a.substr(0, a.size() - 6);
      return body + test::check_of(body.substr(0, body.size() - 1));
    });
  };
  return m;
}

TEST(ContractSees, WrongAnswers) {
  expect_seen({
      {"another step's tag", readings("^1", "2"), "MEAS queries answer tag"},
      {"no checksum", answers(",#H[0-9A-F]{4}", ""), "MEAS queries answer tag"},
      {"a checksum in small letters", answers("#H", "#h"), "MEAS queries answer tag"},
      {"a checksum of less", check_without_the_last_comma(), "MEAS queries answer tag"},
      {"no list of switches", readings("\\(.*\\)", "(@)"), "MEAS queries answer tag"},
      {"a value of seven digits", readings("E([+-])", "0E$1"), "MEAS queries answer tag"},
      {"the status always 0", readings(",\\d+,$", ",0,"), "what cannot be carried out answers"},
      {"over-range without status 4", readings(",5,$", ",1,"), "one channel on one row alone"},
      {"no answer to what was refused", without_refused_answers(),
       "a MEAS query with a wrong, missing or needless argument answers"},
      {"tags of 16 bits", replaces("TAG 21474836(4[67])", "TAG 655$1"), "tags go to 2147483647"},
      {"no answer of an unknown kind", replaces(":MEAS:LUCK\\?", ":NO:LUCK?"),
       "of an unknown kind"},
  });
}

TEST(ContractSees, AWrongLink) {
  Mutation crlf, blank, line, small, large, echo;
  crlf.ending = "\r\n";
  blank.run = [](Device& d, const std::string& message) {
    return each(d.run(message), [first = true](std::string a) mutable {
      if (!std::exchange(first, false)) a.insert(0, " ");
      return a;
    });
  };
  line.run = [](Device& d, const std::string& message) {
    const std::string out = d.run(message);
    return out.empty() && !message.empty() ? std::string("\n") : out;
  };
  line.ending = "";
  line.run = [run = line.run](Device& d, const std::string& message) {
    const std::string out = run(d, message);
    return out.empty() || out == "\n" ? out : out + "\n";
  };
  small.buffer = 1500;
  large.buffer = 4096;
  echo.run = [](Device& d, const std::string& message) {
    const std::string out = d.run(message);
    return out.empty() ? message : message + "\n" + out;
  };
  Mutation impatient;  // a message that comes before the last one's answer was fetched is lost
  impatient.at_once = false;
  expect_seen({
      {"CR before LF", crlf, "end in LF without CR"},
      {"a blank after the semicolon", blank, "separated by ; and nothing else"},
      {"a line where there is no answer", line, "has no response, not an empty line"},
      {"a buffer smaller than told", small, "a message may be as long as the buffer"},
      {"a buffer larger than told", large, "a longer message is dropped"},
      {"an echo", echo, "*IDN? answers four fields"},
      {"one message at a time", impatient,
       "messages that fit the buffer together may come at once"},
  });
}

TEST(ContractSees, WrongGrammar) {
  Mutation given_up;
  given_up.run = [](Device& d, const std::string& message) {
    std::string answer;
    bool wrong = false;
    each(message, [&](const std::string& unit) {
      if (wrong) return unit;
      const bool before = (d.status_byte() & 4) != 0;
      const std::string one = d.run(unit);
      if (!one.empty()) answer += (answer.empty() ? "" : ";") + one;
      wrong = !before && (d.status_byte() & 4) != 0;
      return unit;
    });
    return answer;
  };
  const auto alone = [](Device& d, const std::string& unit) { return d.run(unit); };
  expect_seen({
      {"keywords cut anywhere", replaces("SYSTE:", "SYST:"), "nothing between the two forms"},
      {"long forms unknown", replaces("SYSTEM:", "NOSYSTEM:"), "a long and a short form"},
      {"capitals only", replaces("syst", "nosyst"), "a long and a short form"},
      {"no subtrees", units("VOLT 1;VOLT\\?", alone), "in the subtree of the unit before"},
      {"a message given up at its first error", given_up, "the units after it are carried out"},
      {"ranges by row only", replaces("\\(@2!2:1!1\\)", "(@1!1:1!2)"), "the corners of a range"},
      {"a list with a wrong entry done in part",
       replaces("CLOS \\(@1!1,1!9\\)", "CLOS (@1!1);:ROUT:CLOS (@1!9)"),
       "a unit that is wrong does"},
      {"numbers without exponents", replaces("2.9E1", "2"), "2.9E1"},
      {"an error for a switch closed already", replaces("\\(@1!1,1!1\\)", "(@0!1)"), "named twice"},
      {"tabs refused", replaces("\t", "%"), "blanks and tabs"},
      {"a channel too many", replaces("1!9\\b", "1!8"), "rows and channels that are not there"},
      {"wrong tags cut to whole ones", replaces("TAG 1\\.5", "TAG 1"), "a whole number is wanted"},
      {"another error number", answers("-113,\"Undefined header", "-100,\"Command error"), "-113"},
      {"words of its own", answers("\"Data out of range", "\"Out of range"), "rows and channels"},
      {"needless arguments heard over", replaces("OPC\\? 1", "OPC?"), "-108"},
      {"missing arguments guessed", replaces("TAG$", "TAG 1"), "-109"},
      {"wrong kinds taken", replaces("TAG \"5\"", "TAG 5"), "-104"},
      {"empty units passed over", replaces(";;", ";"), "-102"},
  });
}

TEST(ContractSees, WrongRegisters) {
  expect_seen({
      {"an error queue of four",
       units("^:NO;:NO;:NO;:NO;:NO",
             [n = 0](Device& d, const std::string& unit) mutable {
               return ++n > 4 ? std::string() : d.run(unit);
             }),
       "it holds at least 8"},
      {"a queue that does not say what it lost",
       answers("-350,\"Queue overflow", "-109,\"Missing parameter"), "newest error becomes -350"},
      {"the newest error first",
       replaces("^:SYST:TAG 0;:NO;:SYST:TAG$", ":SYST:TAG;:NO;:SYST:TAG 0"), "oldest first"},
      {"*CLS keeps the errors", replaces("\\*CLS;:SYST:ERR", ":SYST:ERR"), "*CLS empties it"},
      {"*RST takes the errors", replaces("\\*RST;:SYST:ERR", "*CLS;:SYST:ERR"), "*RST does not"},
      {"an enable register of seven bits",
       units("\\*ESE 128;",
             [](Device& d, const std::string& unit) {
               const std::string out = d.run(unit);
               return unit == "*ESE?" && out.size() == 3 ? std::to_string(std::stoi(out) & 127)
                                                         : out;
             }),
       "*ESE holds 0 to 255"},
      {"an enable register that takes 256", replaces("ESE 256", "ESE 0"), "*ESE and *SRE refuse"},
      {"bit 64 of *SRE", answers("^191;0$", "255;0"), "bit 64"},
      {"an event register that stays", answers("^1;0$", "1;1"), "*ESR? tells"},
      {"no event bit of execution errors", answers("^16;0$", "32;0"), "*ESR? tells"},
      {"a status byte without its summary", answers("^36$", "4"), "*STB? tells"},
      {"*RST clears *ESE", replaces("\\*RST;\\*ESR", "*RST;*ESE 0;*ESR"), "*RST leaves both"},
  });
}

TEST(ContractSees, WrongSwitches) {
  const auto reset = units("\\*RST", [](Device& d, const std::string& unit) {
    const std::string list = closed(d);
    const std::string out = d.run(unit);
    if (unit == "*RST") close_again(d, list);
    return out;
  });
  const auto step = units(":SYST:TAG 7", [](Device& d, const std::string& unit) {
    const std::string list = closed(d);
    const std::string out = d.run(unit);
    if (unit.starts_with(":SYST:TAG")) close_again(d, list);
    return out;
  });
  const auto levels = units(":SYST:TAG 3", [](Device& d, const std::string& unit) {
    if (unit.starts_with(":SYST:TAG")) d.run(":SOUR:VOLT 5");
    return d.run(unit);
  });
  expect_seen({
      {"reset that does not open", reset, "*RST opens every switch"},
      {"a step that does not open", step, "SYST:TAG opens every switch"},
      {"a refused step that opens", replaces("TAG 0;:MEAS", "TAG 0;:ROUT:OPEN:ALL;:MEAS"),
       "a refused SYST:TAG changes nothing"},
      {"two bus columns closed at once", replaces("CLOS \\(@1!5\\)", "CLOS (@1!5,2!5)"),
       "every crosspoint closes by itself"},
      {"one closes, another opens", replaces("CLOS \\(@2!2\\)", "OPEN:ALL;:ROUT:CLOS (@2!2)"),
       "leaves closed what is closed"},
      {"only half of a row at once", replaces("1!1:1!8", "1!1:1!4"),
       "all channels close on one row"},
      {"opens all for one", replaces("OPEN \\(@1!1\\)", "OPEN:ALL"), "opens what is named"},
      {"lists by channel", answers("\\(@1!1,1!2,2!1,2!2\\)", "(@1!1,2!1,1!2,2!2)"),
       "in ascending row"},
      {"levels beyond the largest", replaces("CURR 1.050000E-01", "CURR 0.1"), "above the largest"},
      {"a step that resets the levels", levels, "SYST:TAG leaves the levels"},
      {"levels in another form", answers("\\+5\\.000000E\\+00", "5.0"), "after *RST"},
      {"reset that keeps the levels",
       units("\\*RST;:SOUR:CURR",
             [](Device& d, const std::string& unit) {
               return unit == "*RST" ? std::string()
                                     : d.run(unit == "VOLT?" ? ":SOUR:VOLT?" : unit);
             }),
       "after *RST"},
  });
}

TEST(ContractSees, AWrongDescription) {
  Mutation fickle;
  fickle.run = [n = 0](Device& d, const std::string& message) mutable {
    std::string out = d.run(message);
    if (message == ":SYST:CAP?" && n++ > 0) out.replace(out.find("BUFFER 2048"), 11, "BUFFER 2049");
    return out;
  };
  expect_seen({
      {"a self-description that changes", fickle, "answered the same again"},
      {"a name in small letters", answers("LEAKAGE 1", "Leakage 1"), "names in capitals"},
      {"settling left out", answers("SETTLE 0.00015;", ""), "SETTLE and CONVERT are told"},
      {"more ohms than its leakage allows", answers("LEAKAGE 1E-10", "LEAKAGE 1E-8"),
       "OHMS is no more"},
      {"a serial number missing", answers("SIM0001", ""), "four fields"},
      {"more current than the page allows", answers("SOURCE 0.1;", "SOURCE 0.5;"),
       "SYST:CAP? answers"},
      {"more voltage than the page allows", answers("VOLTAGE 10;", "VOLTAGE 42;"),
       "SYST:CAP? answers"},
      {"another contract", answers("CONTRACT 1", "CONTRACT 2"), "SYST:CAP? answers"},
      {"another SCPI", answers("1999.0", "1995.0"), "1999.0"},
      {"a self-test that fails", answers("^0$", "3"), "*TST? answers 0"},
      {"no simulator, but lays", answers(";SIMULATED 1", ""), "answers -113 to SIMulate"},
  });
}

TEST(ContractSees, WrongMeasuring) {
  const auto keeps = units(":SYST:TAG 54;:MEAS",
                           [k = std::string("0")](Device& d, const std::string& unit) mutable {
                             if (unit.starts_with(":ROUT:REF ")) k = unit.substr(10);
                             const std::string out = d.run(unit);
                             if (unit.starts_with(":SYST:TAG")) d.run(":ROUT:REF " + k);
                             return out;
                           });
  const auto charged =
      units("ISOL.*MEAS:VOLT", [full = false](Device& d, const std::string& unit) mutable {
        std::string out = d.run(unit);
        if (unit == ":MEAS:VOLT?" && full) {
          const std::string body = std::regex_replace(out.substr(0, out.size() - 6),
                                                      std::regex("\\),[^,]*,"), "),+2.500000E+00,");
          out = body + test::check_of(body);
        }
        full |= unit.find("ISOL?") != std::string::npos;
        return out;
      });
  expect_seen({
      {"a reference 20 % off", readings("(\\(@\\),\\+)1\\.0[0-9]{5}E\\+01", "$011.200000E+01"),
       "RES and FRES read it"},
      {"a large reference 8 % off",
       readings("(\\(@\\),\\+)(1\\.00|9\\.9)[0-9]{4,5}E\\+0[67]", "$011.080000E+07"),
       "ISOL reads it within 5 %"},
      {"a reference that stays", keeps, "a reference goes with"},
      {"a reference too many", replaces("REF 3", "REF 2"), "ROUT:REF beyond the references"},
      {"less noise told than there is", answers("NOISE 0.0002", "NOISE 2E-06"),
       "scatter as NOISE says", ", noise-uv: 200"},
      {"charge left after isolation", charged, "the rows are discharged"},
      {"an empty row refused",
       units(":SYST:TAG 43",
             [](Device& d, const std::string& unit) {
               return d.run(unit == ":MEAS:RES?" ? ":MEAS:FRES?" : unit);
             }),
       "nothing closed is nothing wrong"},
      {"a contact of many tips",
       replaces("CLOS \\(@1!1,1!2\\);:MEAS:CONT", "CLOS (@1!1);:MEAS:CONT"),
       "CONT needs one crosspoint"},
      {"contact in ohms", answers("\\+1.000000E\\+00,0,#H.{4}", "+5.000000E-02,0,#H0000"),
       "CONT answers 0 or 1"},
      {"a source that cannot say it is at its end", readings(",5,$", ",4,"), "beyond the source"},
      {"three rows do for four wires",
       replaces("CLOS \\(@1!1,2!2,3!1\\)", "CLOS (@1!1,2!2,3!1,4!2)"), "FRES needs"},
  });
}

// What the hardware does, as the scenario plays it.
// Every n-th reading of that kind is the one before it, under its own tag and list.
Mutation stale(const std::string& kind, int n) {
  Mutation m;
  m.run = [kind, n, count = 0, last = std::string()](Device& d,
                                                     const std::string& message) mutable {
    if (message.find(":MEAS:" + kind) == std::string::npos) return d.run(message);
    return each(d.run(message), [&](const std::string& answer) {
      std::smatch parts;
      static const std::regex form("^(.*,)([-+][^,]*,[0-9]+,)(#H....)$");
      if (!std::regex_match(answer, parts, form)) return answer;
      const std::string value = std::exchange(last, parts[2].str());
      if (++count % n != 0 || value.empty()) return answer;
      const std::string body = parts[1].str() + value;
      return body + test::check_of(body);
    });
  };
  return m;
}

TEST(ContractSees, WhatNeedsNoBoard) {
  Mutation yes;
  yes.run = [](Device& d, const std::string& message) {
    const std::string out = d.run(message);
    if (message.find("MEAS:CONT?") == std::string::npos) return out;
    return each(out, [](const std::string& answer) {
      const auto zero = answer.find("+0.000000E+00,0,");
      if (zero == std::string::npos) return answer;
      std::string body = answer.substr(0, answer.size() - 6);
      body.replace(zero, 5, "+1.00");
      return body + test::check_of(body);
    });
  };
  Mutation gives_up;
  gives_up.run = [](Device& d, const std::string& message) {
    return each(d.run(message), [&](const std::string& answer) {
      const bool many = std::ranges::count(answer, '!') > 4;
      const auto value = answer.find("+1.00");
      if (!many || value == std::string::npos || message.find("MEAS:ISOL?") == std::string::npos)
        return answer;
      const std::string body = answer.substr(0, value) + "+9.900000E+37,1,";
      return body + test::check_of(body);
    });
  };
  expect_seen({
      {"wires that touch", {}, "no two channels conduct", ", touching: [[3, 6, 0.1]]"},
      {"a contact check that always says yes", yes, "CONT answers 0 where nothing is touched"},
      {"a converter that gives up on many switches", gives_up, "with all channels closed"},
      {"a stale isolation", stale("ISOL", 40), "one of its own"},
      {"a stale resistance", stale("RES", 100), "one of its own"},
  });
  const auto report = test::checked({}, ", touching: [[3, 6, 0.1], [1, 8, 2]]");
  EXPECT_NE(test::broken(report).find("3 and 6"), std::string::npos) << test::broken(report);
  EXPECT_NE(test::broken(report).find("1 and 8"), std::string::npos) << test::broken(report);
}

TEST(ContractSees, StuckSwitches) {
  expect_seen({
      {"closed, unseen", {}, "one channel on one row alone", ", stuck: [[2, 3, closed]]"},
      {"closed, read back",
       {},
       "VOLT of what lies on the adapter",
       ", stuck: [[2, 3, closed, seen]]"},
      {"open, read back", {}, "VOLT of what lies on the adapter", ", stuck: [[1, 3, open, seen]]"},
      {"sense row, read back", {}, "every crosspoint closes", ", stuck: [[3, 3, open, seen]]"},
  });
}

}  // namespace
}  // namespace isthmus
