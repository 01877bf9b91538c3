// SPDX-License-Identifier: Apache-2.0
// Oracle: docs/adapter.md, "The answer to a MEASure query" and its worked exchange; the check value
// 29B1 of CRC-16/CCITT-FALSE is the one published with the algorithm (ITU-T V.41 polynomial, start
// FFFF).
#include "adapter/reply.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>

namespace isthmus::adapter {
namespace {

Request request_17() {
  Request r;
  r.tag = 17;
  r.closed = {{1, 5}, {3, 5}, {2, 9}, {4, 9}};
  r.what = Measure::four_wire;
  return r;
}

std::string with_checksum(const std::string& said) {
  constexpr const char* kDigits = "0123456789ABCDEF";
  const unsigned crc = crc16(said);
  std::string out = said + "#H";
  for (int shift = 12; shift >= 0; shift -= 4) out += kDigits[(crc >> shift) & 15];
  return out;
}

TEST(Crc16, GivesThePublishedCheckValue) { EXPECT_EQ(crc16("123456789"), 0x29B1); }

TEST(JudgeAnswer, AcceptsTheWorkedExchange) {
  const auto judged = judge_answer("17,(@1!5,2!9,3!5,4!9),+1.972410E-02,0,#HA086", request_17());
  ASSERT_TRUE(judged.answer) << judged.wrong;
  EXPECT_EQ(judged.answer->tag, 17u);
  EXPECT_DOUBLE_EQ(judged.answer->value, 0.0197241);
  EXPECT_FALSE(judged.answer->over_range);
  EXPECT_FALSE(judged.answer->none);
}

TEST(JudgeAnswer, AcceptsTheWorkedContactAndIsolation) {
  Request contact;
  contact.tag = 16;
  contact.closed = {{1, 5}};
  contact.what = Measure::contact;
  EXPECT_TRUE(judge_answer("16,(@1!5),+1.000000E+00,0,#HEE0A", contact).answer);
  Request isolation;
  isolation.tag = 18;
  isolation.closed = {{2, 7}, {1, 1}, {1, 2}, {1, 3}};
  isolation.what = Measure::isolation;
  const auto judged = judge_answer("18,(@1!1,1!2,1!3,2!7),+9.900000E+37,1,#H5A2A", isolation);
  ASSERT_TRUE(judged.answer);
  EXPECT_TRUE(judged.answer->over_range);
}

// No single changed character may be accepted as an answer of the request, whatever it becomes. (A
// hexadecimal digit of the checksum in the other case is the same digit.)
TEST(JudgeAnswer, RejectsEverySingleChangedCharacter) {
  const std::string good = "17,(@1!5,2!9,3!5,4!9),+1.972410E-02,0,#HA086";
  for (std::size_t i = 0; i < good.size(); ++i) {
    for (int c = 32; c < 127; ++c) {
      std::string bad = good;
      bad[i] = static_cast<char>(c);
      const bool same_digit = i + 4 >= good.size() && std::toupper(c) == good[i];
      if (bad == good || same_digit) continue;
      EXPECT_FALSE(judge_answer(bad, request_17()).answer) << bad;
    }
  }
}

TEST(JudgeAnswer, RejectsEveryTruncation) {
  const std::string good = "17,(@1!5,2!9,3!5,4!9),+1.972410E-02,0,#HA086";
  for (std::size_t n = 0; n < good.size(); ++n) {
    EXPECT_FALSE(judge_answer(good.substr(0, n), request_17()).answer) << n;
  }
}

TEST(JudgeAnswer, RejectsAnotherStepsAnswerThoughItsChecksumHolds) {
  const auto judged =
      judge_answer(with_checksum("16,(@1!5,2!9,3!5,4!9),+1.0E+00,0,"), request_17());
  EXPECT_FALSE(judged.answer);
  EXPECT_EQ(judged.wrong, "it answers step 16 instead of 17");
}

TEST(JudgeAnswer, RejectsOtherSwitchesThoughItsChecksumHolds) {
  EXPECT_FALSE(judge_answer(with_checksum("17,(@1!5,2!9,3!5),+1.0E+00,0,"), request_17()).answer);
  EXPECT_FALSE(judge_answer(with_checksum("17,(@),+1.0E+00,0,"), request_17()).answer);
}

TEST(JudgeAnswer, RejectsWhatIsNoNumber) {
  for (const char* value :
       {"nan", "inf", "+INF", "0x1p3", "1", "+1.0", "+1,0E+00", "+1.0E+00V", ""}) {
    const std::string said = std::string("17,(@1!5,2!9,3!5,4!9),") + value + ",0,";
    EXPECT_FALSE(judge_answer(with_checksum(said), request_17()).answer) << value;
  }
}

TEST(JudgeAnswer, KeepsAnUncarriedOutStepAsNoReadingWhateverTheSwitches) {
  const auto judged = judge_answer(with_checksum("17,(@1!5),+9.910000E+37,32,"), request_17());
  ASSERT_TRUE(judged.answer);
  EXPECT_TRUE(judged.answer->none);
}

TEST(JudgeAnswer, TrustsNoValueThatItsStatusContradicts) {
  for (const char* said : {"17,(@1!5,2!9,3!5,4!9),+1.000000E+00,1,",     // over-range, yet a value
                           "17,(@1!5,2!9,3!5,4!9),+1.000000E-03,4,",     // no current, yet a value
                           "17,(@1!5,2!9,3!5,4!9),-9.900000E+37,0,"}) {  // negative infinity
    const auto judged = judge_answer(with_checksum(said), request_17());
    ASSERT_TRUE(judged.answer);
    EXPECT_TRUE(judged.answer->none) << said;
  }
}

TEST(JudgeAnswer, TakesASourceThatCouldNotDriveItsCurrentAsOverRange) {
  const auto judged =
      judge_answer(with_checksum("17,(@1!5,2!9,3!5,4!9),+9.900000E+37,5,"), request_17());
  ASSERT_TRUE(judged.answer);
  EXPECT_TRUE(judged.answer->over_range);
  EXPECT_EQ(judged.answer->status, 5u);
}

TEST(CommandLists, WriteRunsAsRanges) {
  EXPECT_EQ(command_lists({{2, 7}, {1, 3}, {1, 1}, {1, 2}, {3, 5}, {3, 6}}, 1000),
            std::vector<std::string>{"(@1!1:1!3,2!7,3!5,3!6)"});
  EXPECT_TRUE(command_lists({}, 1000).empty());
}

TEST(CommandLists, AreCutToTheLimit) {
  std::vector<Crosspoint> all;
  for (int c = 1; c <= 256; c += 2) all.push_back({1, c});
  std::size_t entries = 0;
  for (const std::string& list : command_lists(all, 100)) {
    EXPECT_LE(list.size(), 100u);
    entries += static_cast<std::size_t>(std::ranges::count(list, '!'));
  }
  EXPECT_EQ(entries, all.size());
}

TEST(ParseCapabilities, ReadsTheWorkedExample) {
  const auto c = parse_capabilities(
      "\"CONTRACT 1;CHANNELS 64;WIRES 4;CONTACT 1;REFERENCES 10|1E7;SOURCE 0.1;VOLTAGE 10;OHMS "
      "1E9;LEAKAGE "
      "1E-10;NOISE 2E-5;SETTLE 1.5E-4;CONVERT 4E-4;BUFFER 4096\"");
  ASSERT_TRUE(c);
  EXPECT_EQ(c->channels, 64);
  EXPECT_EQ(c->wires, 4);
  EXPECT_TRUE(c->contact_check);
  EXPECT_FALSE(c->simulated);
  EXPECT_EQ(c->references, (std::vector<double>{10, 1e7}));
  EXPECT_DOUBLE_EQ(c->settle_s, 1.5e-4);
  EXPECT_EQ(c->buffer, 4096u);
}

TEST(ParseCapabilities, IgnoresUnknownNamesAndTakesDefaults) {
  const auto c = parse_capabilities("\"CONTRACT 1;CHANNELS 2;COLOUR green\"");
  ASSERT_TRUE(c);
  EXPECT_EQ(c->wires, 2);
  EXPECT_FALSE(c->contact_check);
  EXPECT_EQ(c->buffer, 1024u);
}

TEST(ParseCapabilities, RefusesWhatCannotBe) {
  const std::pair<const char*, const char*> cases[] = {
      {"CONTRACT 1", "ADP-021"},                            // no string
      {"\"CONTRACT 2;CHANNELS 64\"", "ADP-023"},            // another contract
      {"\"CHANNELS 64\"", "ADP-023"},                       // none at all
      {"\"CONTRACT 1\"", "ADP-024"},                        // no channels
      {"\"CONTRACT 1;CHANNELS 1\"", "ADP-024"},             // too few
      {"\"CONTRACT 1;CHANNELS 64;WIRES 3\"", "ADP-024"},    //
      {"\"CONTRACT 1;CHANNELS 64.5\"", "ADP-024"},          //
      {"\"CONTRACT 1;CHANNELS 64;BUFFER 80\"", "ADP-024"},  //
      {"\"CONTRACT 1;CHANNELS 64;REFERENCES 10|x\"", "ADP-024"},
      {"\"CONTRACT 1;CHANNELS 64;CHANNELS 32\"", "ADP-021"},
  };
  for (const auto& [line, code] : cases) {
    const auto c = parse_capabilities(line);
    ASSERT_FALSE(c) << line;
    EXPECT_EQ(c.problem().code, code) << line;
  }
}

TEST(ParseIdentity, WantsFourFields) {
  ASSERT_TRUE(parse_identity("Harbour Bench,Mux-64,HB0042,1.0"));
  EXPECT_EQ(parse_identity("Harbour Bench, Mux-64,HB0042,1.0")->model, "Mux-64");
  for (const char* line : {"", "ok", "17,(@1!5),+1.0E+00,0,#H1234", ",,,", "a,b\x01,c,d"}) {
    EXPECT_FALSE(parse_identity(line)) << line;
  }
}

}  // namespace
}  // namespace isthmus::adapter
