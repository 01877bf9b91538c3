// SPDX-License-Identifier: Apache-2.0
// docs/adapter.md: Link, Grammar, and what is wrong with arguments.
#include <fmt/format.h>

#include "adapter/checker.hpp"

namespace isthmus::adapter {
namespace {

std::string filled(std::string_view head, std::size_t size, std::string_view tail) {
  std::string out(head);
  out.append(size - head.size() - tail.size(), ' ');
  return out.append(tail);
}

// Messages of exactly the buffer's size, and longer.
void check_buffer(Checker& check) {
  const std::size_t buffer = check.can().buffer;
  constexpr std::size_t kMost = 1u << 20;
  const std::string fits = "a message may be as long as the buffer, LF and CR included";
  const std::string too_long =
      "a longer message is dropped up to its LF, with one error -223, and nothing of it done";
  if (buffer > kMost) {
    check.not_tried(fits, "the buffer is very large");
    return check.not_tried(too_long, "the buffer is very large");
  }
  Conversation& talk = check.talk();
  bool good = true;
  for (const char* end : {"\n", "\r\n"}) {
    talk.say("*RST;*CLS\n");
    const Said said = talk.say(filled("*OPC?", buffer, end), Seconds{0}, true);
    good &= said.lines == std::vector<std::string>{"1"} && said.errors.empty();
  }
  check.note(fits, good, fmt::format("messages of {} bytes", buffer));
  good = true;
  for (const std::size_t more : {std::size_t{1}, buffer + 17}) {
    talk.say("*RST;*CLS\n");
    const Said said =
        talk.say(filled(":ROUT:CLOS (@1!1);*OPC?", buffer + more, "\n"), Seconds{0}, true);
    good &= said.lines.empty() && said.errors.size() == 1 && said.errors[0].starts_with("-223,");
    good &= talk.say(":ROUT:CLOS:STAT?\n").lines == std::vector<std::string>{"(@)"};
  }
  check.note(too_long, good,
             fmt::format("messages of {} and {} bytes", buffer + 1, 2 * buffer + 17));
}

// As many messages at once as the buffer holds, and two that fill it.
void check_many_messages(Checker& check) {
  const std::string says =
      "messages that fit the buffer together may come at once; all are answered, in order";
  const std::size_t buffer = check.can().buffer;
  constexpr std::size_t kMost = 1u << 16;
  std::string bytes;
  std::vector<std::string> wanted;
  for (int i = 1; bytes.size() + 100 < std::min(buffer, kMost); ++i) {
    bytes += fmt::format("*ESE {0};*ESE?\n", i % 256);
    wanted.push_back(std::to_string(i % 256));
  }
  bool good = check.talk().say(bytes).lines == wanted;
  const std::size_t half = std::min(buffer, kMost) / 2 - 20;
  good &= check.talk().say(filled("*OPC?", half, "\n") + filled("*OPC?", half, "\n")).lines ==
          std::vector<std::string>{"1", "1"};
  check.note(says, good, fmt::format("{} messages, then two of {} bytes", wanted.size(), half));
}

}  // namespace

void check_link(Checker& check) {
  check.subject("link");
  check.clause("a message of nothing, or of blanks, is no error and has no response",
               {{"", ""}, {" \t ", ""}});
  check.clause("one CR before the LF is ignored", {{"*OPC?\r", "1"}, {"\r", ""}});
  check.clause("answers are separated by ; and nothing else, and end in LF without CR",
               {{"*OPC?;:SYST:VERS?;*OPC?", "1;1999.0;1"}});
  check.clause("a message without an answer has no response, not an empty line",
               {{":SYST:TAG 5;:ROUT:CLOS (@1!1);*WAI;*OPC", ""}, {"*WAI", ""}});
  check_many_messages(check);
  check_buffer(check);
}

void check_grammar(Checker& check) {
  check.subject("grammar");
  check.clause("keywords have a long and a short form, in any case",
               {{":SYSTEM:VERSION?;:syst:vers?;:SyStEm:VeRs?", "1999.0;1999.0;1999.0"},
                {":SOURCE:VOLTAGE 1;:source:voltage?", "~1"}});
  check.clause(
      "nothing between the two forms is taken",
      {{":SYSTE:VERS?", "", {-113}}, {":SYST:VERSI?", "", {-113}}, {":SYS:VERS?", "", {-113}}});
  check.clause("a keyword in [ ] may be left out",
               {{":SYST:ERR?;:SYST:ERR:NEXT?", "!0;!0"}, {":SOUR:VOLT:LEV 1;:SOUR:VOLT?", "~1"}});
  check.clause("a unit without : stands in the subtree of the unit before it",
               {{":SOUR:CURR 0.001;VOLT 1;VOLT?;CURR?", "~1;~0.001"},
                {"*OPC?;:SOUR:VOLT 1;*OPC?;VOLT?", "1;1;~1"},
                {":SOUR:VOLT 1;LUCK 3;VOLT?", "~1", {-113}},
                {":SOUR:VOLT 1;%;VOLT?", "~1", {-102}},
                {":SYST:TAG 5;:SOUR:VOLT -1;VOLT 1;VOLT?", "~1", {-222}}});
  check.clause("a unit with : and the first of a message start at the root",
               {{"VOLT 1", "", {-113}}, {":SOUR:VOLT 1;:VOLT 2", "", {-113}}});
  check.clause("blanks and tabs may stand around units and in lists",
               {{" \t:ROUT:CLOS \t(@ 1 ! 1 ,1\t!2 ) \t; :ROUT:CLOS:STAT? ", "(@1!1,1!2)"}});
  std::vector<Try> numbers;
  for (const char* form : {"29", "+29", "029", "29.", "29.0", "2.9E1", "2.9e+1", "290E-1", ".29E2"})
    numbers.push_back({fmt::format(":SYST:TAG {};:MEAS:VOLT?", form), "=29,(@),volts,0"});
  check.clause("29, +29, 029, 29., 29.0, 2.9E1, 2.9e+1, 290E-1 and .29E2 are one number", numbers);
  check.clause("the corners of a range come in any order; what lies between them is meant",
               {{":ROUT:CLOS (@2!2:1!1);:ROUT:CLOS:STAT?", "(@1!1,1!2,2!1,2!2)"},
                {":ROUT:CLOS (@1!2:2!1);:ROUT:CLOS:STAT?", "(@1!1,1!2,2!1,2!2)"}});
  check.clause(
      "a crosspoint named twice, closed already or open already is no error",
      {{":ROUT:CLOS (@1!1,1!1);:ROUT:CLOS (@1!1);:ROUT:CLOS:STAT?", "(@1!1)"},
       {":ROUT:CLOS (@1!1);:ROUT:OPEN (@1!2);:ROUT:OPEN (@1!1,1!1);:ROUT:CLOS:STAT?", "(@)"}});
  check.clause("a unit that is wrong does nothing, and the units after it are carried out",
               {{":SYST:TAG 0;*OPC?;:BEEP;*OPC?;:SYST:TAG;*OPC?", "1;1;1", {-222, -113, -109}},
                {fmt::format(":ROUT:CLOS (@1!1,1!{});:ROUT:CLOS:STAT?", check.can().channels + 1),
                 "(@)",
                 {-222}},
                {":ROUT:CLOS (@1!1);:ROUT:OPEN (@1!1,9!1);:ROUT:CLOS:STAT?", "(@1!1)", {-222}}});
}

void check_arguments(Checker& check) {
  check.subject("arguments");
  check.clause("against the grammar: -102", {{"*OPC?;;*OPC?", "1;1", {-102}},
                                             {"*OPC?;", "1", {-102}},
                                             {"*OPC?!", "", {-102}},
                                             {":ROUT:CLOS (@)", "", {-102}},
                                             {":ROUT:CLOS (@1!1", "", {-102}},
                                             {":ROUT:CLOS (@1)", "", {-102}},
                                             {":ROUT:CLOS (@1!1234567890)", "", {-102}},
                                             {":SYST:TAG 1x", "", {-102}},
                                             {":SYST:TAG MAX", "", {-102}},
                                             {":SYST:TAG '1'", "", {-102}},
                                             {":SYST::TAG 1", "", {-102}},
                                             {"1:SYST:TAG 1", "", {-102}},
                                             {":SYST:TAG \x80", "", {-102}}});
  check.clause("the wrong kind of argument: -104", {{":SYST:TAG (@1!1)", "", {-104}},
                                                    {":SYST:TAG \"5\"", "", {-104}},
                                                    {":ROUT:CLOS 5", "", {-104}},
                                                    {":ROUT:CLOS \"(@1!1)\"", "", {-104}}});
  check.clause("one argument too many: -108", {{":SYST:TAG 1,2", "", {-108}},
                                               {":ROUT:OPEN:ALL 1", "", {-108}},
                                               {"*RST 1", "", {-108}},
                                               {"*OPC? 1", "", {-108}}});
  check.clause("an argument missing: -109",
               {{":SYST:TAG", "", {-109}}, {":ROUT:CLOS", "", {-109}}, {"*ESE", "", {-109}}});
  check.clause("an unknown header, a query of a command, a command of a query: -113",
               {{":NO:SUCH", "", {-113}},
                {"*NOSUCH?", "", {-113}},
                {":SYST:TAG?", "", {-113}},
                {":SYST:VERS", "", {-113}},
                {":MEAS:RES", "", {-113}},
                {"*IDN", "", {-113}}});
  check.clause("arguments are judged for kind, then count, then range",
               {{":SYST:TAG \"a\",2", "", {-104}}, {":SYST:TAG -1,2", "", {-108}}});
  check.clause("a whole number is wanted: 1.5, 0, -1 and 1E400 are out of range",
               {{":SYST:TAG 1.5", "", {-222}},
                {":SYST:TAG 0", "", {-222}},
                {":SYST:TAG -1", "", {-222}},
                {":SYST:TAG 1E-400", "", {-222}},
                {":SYST:TAG 1E400", "", {-222}},
                {":SYST:TAG 2147483648", "", {-222}}});
  check.clause("rows and channels that are not there: -222",
               {{":ROUT:CLOS (@0!1)", "", {-222}},
                {fmt::format(":ROUT:CLOS (@{}!1)", check.rows() + 1), "", {-222}},
                {":ROUT:CLOS (@1!0)", "", {-222}},
                {fmt::format(":ROUT:CLOS (@1!{})", check.can().channels + 1), "", {-222}},
                {fmt::format(":ROUT:OPEN (@1!1:1!{})", check.can().channels + 1), "", {-222}},
                {":ROUT:CLOS (@1!999999999)", "", {-222}}});
}

}  // namespace isthmus::adapter
