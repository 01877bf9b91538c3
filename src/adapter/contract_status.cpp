// SPDX-License-Identifier: Apache-2.0
// docs/adapter.md: who answers, Capabilities, Errors, Registers.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "adapter/checker.hpp"
#include "adapter/reply.hpp"
#include "adapter/wanted.hpp"

namespace isthmus::adapter {
namespace {

std::string only_line(const Said& said) {
  std::string line = said.lines.size() == 1 && said.errors.empty() ? said.lines.front() : "";
  if (line.ends_with('\r')) line.pop_back();  // the link's clauses see to that
  return line;
}

bool capital(char c) { return (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_'; }

// Names in the order told, with their values; what is no pair has an empty name.
std::multimap<std::string, std::string> pairs_of(const std::string& line) {
  std::multimap<std::string, std::string> out;
  if (line.size() < 2) return out;
  for (std::size_t at = 1; at < line.size() - 1;) {
    const std::size_t end = std::min(line.find(';', at), line.size() - 1);
    const std::string pair = line.substr(at, end - at);
    const std::size_t blank = std::min(pair.find(' '), pair.size());
    out.emplace(pair.substr(0, blank), blank < pair.size() ? pair.substr(blank + 1) : "");
    at = end + 1;
  }
  return out;
}

void check_capability_names(Checker& check, const std::string& line) {
  const auto pairs = pairs_of(line);
  std::string wrong;
  for (const auto& [name, value] : pairs) {
    const bool good = !name.empty() && std::ranges::all_of(name, capital) && !value.empty();
    if (!good || pairs.count(name) != 1) wrong += " " + name;
  }
  check.note("capabilities are NAME value, names in capitals, each once", wrong.empty(),
             wrong.empty() ? fmt::format("{} names", pairs.size()) : "wrong:" + wrong);
  std::string missing;
  for (const char* name : {"SOURCE", "SETTLE", "CONVERT"}) {
    if (!pairs.contains(name)) missing += std::string(" ") + name;
  }
  check.note("SOURCE, SETTLE and CONVERT are told", missing.empty(),
             missing.empty() ? "told" : "missing:" + missing);
}

void check_capability_values(Checker& check) {
  const Capabilities& can = check.can();
  const double ohms = can.leakage_a > 0 ? can.voltage_v / (can.channels * can.leakage_a) : 1e18;
  check.note("OHMS is no more than VOLTAGE / (CHANNELS LEAKAGE)", can.ohms_max <= 1.001 * ohms,
             fmt::format("OHMS {:G}, at most {:G}", can.ohms_max, ohms));
}

}  // namespace

bool check_identity(Checker& check, ContractReport& report) {
  check.subject("identity");
  Conversation& talk = check.talk();
  std::string name = only_line(talk.say("*IDN?\n"));
  if (name.empty() && !talk.stopped()) {
    talk.be_patient();
    name = only_line(talk.say("*IDN?\n"));
  }
  auto identity = parse_identity(name);
  const bool plain = name.find_first_of(";\"") == std::string::npos;
  if (identity) report.identity = *identity;
  check.note("*IDN? answers four fields: maker, model, serial number, firmware",
             identity.ok() && plain && !identity->serial_number.empty(), "\"" + shown(name) + "\"");
  const std::string line = only_line(talk.say(":SYST:CAP?\n"));
  auto capabilities = parse_capabilities(line);
  check.note("SYST:CAP? answers a string that this contract can be read from", capabilities.ok(),
             capabilities ? fmt::format("{} bytes", line.size())
                          : "\"" + shown(line) + "\": " + capabilities.problem().message);
  if (talk.stopped() || !capabilities) return false;
  report.capabilities = *capabilities;
  check.note("each is answered the same again",
             only_line(talk.say("*IDN?\n")) == name && only_line(talk.say(":SYST:CAP?\n")) == line,
             "asked twice");
  check.clause("SYST:VERS? answers 1999.0", {{":SYST:VERS?", "1999.0"}});
  check_capability_names(check, line);
  check_capability_values(check);
  return true;
}

namespace {

// A queue may be longer than 8, not endless: it is filled until its newest is -350.
void check_overflow(Checker& check) {
  const std::string says = "a full queue's newest error becomes -350; what comes later is lost";
  for (const int many : {16, 64, 300}) {
    check.talk().say("*RST;*CLS\n");
    for (int i = 0; i < many; i += 4) check.talk().tell(":SYST:TAG;:NO;:SYST:TAG;:NO\n");
    const Said said = check.talk().say("\n");
    if (check.ended()) return;
    if (said.errors.size() == static_cast<std::size_t>(many) &&
        !said.errors.back().starts_with("-350"))
      continue;  // not yet full
    bool good = said.errors.size() >= 8 && plain_error(said.errors.back()) == -350;
    for (std::size_t i = 0; good && i + 1 < said.errors.size(); ++i)
      good = plain_error(said.errors[i]) == (i % 2 ? -113 : -109);
    return check.note(says, good, fmt::format("{} errors kept of {}", said.errors.size(), many));
  }
  check.not_tried(says, "the queue holds more than 300");
}

}  // namespace

void check_errors(Checker& check) {
  check.subject("errors");
  check.clause("the error queue gives the oldest first",
               {{":SYST:TAG 0;:NO;:SYST:TAG", "", {-222, -113, -109}},
                {":NO;:SYST:TAG;:SYST:ERR?;ERR?;ERR?", "!-113;!-109;!0"}});
  check.clause("it holds at least 8", {{":NO;:NO;:NO;:NO;:NO;:NO;:NO;:SYST:TAG",
                                        "",
                                        {-113, -113, -113, -113, -113, -113, -113, -109}}});
  check_overflow(check);
  check.clause("*CLS empties it, *RST does not",
               {{":NO;*CLS;:SYST:ERR?", "!0"}, {":NO;*RST;:SYST:ERR?", "!-113"}});
}

void check_registers(Checker& check) {
  check.subject("registers");
  std::vector<Unit> all;
  for (int i = 0; i < 256; ++i) all.push_back({fmt::format("*ESE {};*ESE?", i), std::to_string(i)});
  check.units("*ESE holds 0 to 255", all);
  check.clause("*ESE and *SRE refuse what is not 0 to 255 and keep what they have",
               {{"*ESE 7;*ESE 256;*ESE?", "7", {-222}},
                {"*ESE 7;*ESE -1;*ESE?", "7", {-222}},
                {"*SRE 7;*SRE 256;*SRE?;*SRE 0", "7", {-222}}});
  check.clause("bit 64 of *SRE reads as 0", {{"*SRE 255;*SRE?;*SRE 0;*SRE?", "191;0"}});
  check.clause("*ESR? tells 1 *OPC, 16 an error of -2xx, 32 of -1xx, and is then empty",
               {{"*OPC;*ESR?;*ESR?", "1;0"},
                {":NO;*ESR?;*ESR?", "32;0", {-113}},
                {":SYST:TAG 0;*ESR?;*ESR?", "16;0", {-222}}});
  check.clause(
      "*CLS empties the event register and leaves *ESE; *RST leaves both registers",
      {{"*ESE 9;:NO;*CLS;*ESR?;*ESE?", "0;9"}, {"*ESE 9;:NO;*RST;*ESR?;*ESE?", "32;9", {-113}}});
  check.clause("*STB? tells 4 an error, 16 an answer, 32 *ESE, 64 *SRE",
               {{"*ESE 0;*SRE 0;*STB?", "0"},
                {"*ESE 0;*SRE 0;:NO;*STB?", "4", {-113}},
                {"*ESE 0;*SRE 0;*OPC?;*STB?", "1;16"},
                {"*ESE 32;*SRE 0;:NO;*STB?", "36", {-113}},
                {"*ESE 0;*SRE 4;:NO;*STB?;*SRE 0", "68", {-113}},
                {"*ESE 16;*SRE 32;:SYST:TAG 0;*STB?;*SRE 0", "100", {-222}}});
  check.clause("*OPC? answers 1, *WAI nothing", {{"*WAI;*OPC?", "1"}});
}

}  // namespace isthmus::adapter
