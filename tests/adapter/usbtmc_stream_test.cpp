// SPDX-License-Identifier: Apache-2.0
// Oracle: the procedures of USBTMC 1.0 (3.2, 3.3, 4.2.1) and USB488 1.0 (4.3.1), written out by
// hand as the bytes and requests on the wire; clauses are quoted from memory.
#include "adapter/usbtmc_stream.hpp"

#include <gtest/gtest.h>

#include "tests/adapter/fake_usb_pipe.hpp"

namespace isthmus::adapter {
namespace {

using In = FakeUsbPipe::In;

Deadline soon() { return Clock::now() + std::chrono::seconds(5); }
Deadline at_once() { return Clock::now() + std::chrono::milliseconds(10); }

Bytes header(std::uint8_t id, std::uint8_t tag, std::uint8_t size, std::uint8_t attributes) {
  return {id, tag, static_cast<std::uint8_t>(255 - tag), 0, size, 0, 0, 0, attributes, 0, 0, 0};
}
Bytes in_transfer(std::uint8_t tag, const std::string& text, bool end = true) {
  Bytes out = header(2, tag, static_cast<std::uint8_t>(text.size()), end ? 1 : 0);
  out.insert(out.end(), text.begin(), text.end());
  return out;
}
Bytes out_transfer(std::uint8_t tag, const std::string& text, bool end = true) {
  Bytes out = header(1, tag, static_cast<std::uint8_t>(text.size()), end ? 1 : 0);
  out.insert(out.end(), text.begin(), text.end());
  out.resize((out.size() + 3) / 4 * 4);
  return out;
}
// 16368 bytes at most.
Bytes request(std::uint8_t tag) {
  return {2, tag, static_cast<std::uint8_t>(255 - tag), 0, 0xF0, 0x3F, 0, 0, 0, 0, 0, 0};
}

Bytes capabilities(std::uint8_t usb488_interface) {
  Bytes out(24, 0);
  out[0] = 1;
  out[13] = 1;
  out[14] = usb488_interface;
  return out;
}

class UsbtmcStreamTest : public ::testing::Test {
 protected:
  // Starts, then forgets what starting wrote.
  void start(std::uint8_t usb488_interface = 0) {
    auto pipe = std::make_unique<FakeUsbPipe>(log);
    fake = pipe.get();
    fake->answers[7].push_back({capabilities(usb488_interface)});
    auto started = UsbtmcStream::start(std::move(pipe), soon());
    ASSERT_TRUE(started) << format(started.problem());
    stream = std::move(*started);
    starting = std::exchange(log.control, {});
  }
  // What comes, the problem's code, or "-" when nothing came in time.
  std::string read(Deadline deadline) {
    std::array<char, 256> room{};
    const auto got = stream->read(room, deadline);
    if (!got) return got.problem().code;
    return *got == 0 ? "-" : std::string(room.data(), *got);
  }
  std::string write(const std::string& text, Deadline deadline) {
    const auto put = stream->write(text, deadline);
    return put ? "" : put.problem().code;
  }

  UsbLog log;
  FakeUsbPipe* fake{};
  std::unique_ptr<UsbtmcStream> stream;
  std::vector<std::string> starting;
};

using Words = std::vector<std::string>;
using Transfers = std::vector<Bytes>;

// INITIATE_CLEAR, CHECK_CLEAR_STATUS, CLEAR_FEATURE(ENDPOINT_HALT) of Bulk-OUT (4.2.1.6, 4.2.1.7).
const Words kCleared{"A1 05 0000", "A1 06 0000", "clear halt out"};

TEST_F(UsbtmcStreamTest, ReadsTheCapabilitiesAndClearsWhenItStarts) {
  start();
  EXPECT_EQ(starting, (Words{"A1 07 0000", "A1 05 0000", "A1 06 0000", "clear halt out"}));
  EXPECT_TRUE(log.out.empty());
}

TEST_F(UsbtmcStreamTest, DoesNotStartWithWhatOnlyTalks) {
  auto pipe = std::make_unique<FakeUsbPipe>(log);
  Bytes talker = capabilities(0);
  talker[4] = 2;
  pipe->answers[7].push_back({talker});
  EXPECT_EQ(UsbtmcStream::start(std::move(pipe), soon()).problem().code, "ADP-013");
}

TEST_F(UsbtmcStreamTest, DoesNotStartWithoutCapabilities) {
  auto pipe = std::make_unique<FakeUsbPipe>(log);
  pipe->answers[7].push_back({{}, PipeEnd::stalled});
  EXPECT_EQ(UsbtmcStream::start(std::move(pipe), soon()).problem().code, "ADP-013");
}

TEST_F(UsbtmcStreamTest, WaitsWhileClearingIsPendingAndReadsAwayWhatIsLeft) {
  auto pipe = std::make_unique<FakeUsbPipe>(log);
  pipe->answers[7].push_back({capabilities(0)});
  pipe->answers[6] = {{{2, 0}}, {{2, 1}}, {{1, 0}}};
  pipe->in.push_back({in_transfer(9, "left by an earlier program\n")});
  FakeUsbPipe* const left = pipe.get();
  auto started = UsbtmcStream::start(std::move(pipe), soon());
  ASSERT_TRUE(started);
  EXPECT_TRUE(left->in.empty());
  EXPECT_EQ(std::ranges::count(log.control, "A1 06 0000"), 3);
}

TEST_F(UsbtmcStreamTest, SendsAMessageAndReadsItsAnswer) {
  start();
  fake->in.push_back({in_transfer(2, "Harbour Bench\n")});
  EXPECT_EQ(write("*IDN?\n", soon()), "");
  EXPECT_EQ(read(soon()), "Harbour Bench\n");
  EXPECT_EQ(log.out, (Transfers{out_transfer(1, "*IDN?\n"), request(2)}));
  EXPECT_EQ(log.control, Words{});
}

TEST_F(UsbtmcStreamTest, EndsAMessageOnlyWhereItsLineEnds) {
  start();
  EXPECT_EQ(write("*CLS;", soon()), "");
  EXPECT_EQ(write("*IDN?\n", soon()), "");
  EXPECT_EQ(log.out,
            (Transfers{out_transfer(1, "*CLS;", false), out_transfer(2, "*IDN?\n", true)}));
}

TEST_F(UsbtmcStreamTest, SendsALongMessageInSeveralTransfers) {
  start();
  const std::string text = std::string(5000, 'x') + "\n";
  EXPECT_EQ(write(text, soon()), "");
  ASSERT_EQ(log.out.size(), 2U);
  EXPECT_EQ(Bytes(log.out[0].begin(), log.out[0].begin() + 12),
            (Bytes{1, 1, 0xFE, 0, 0x00, 0x10, 0, 0, 0, 0, 0, 0}));  // 4096 bytes, no EOM
  EXPECT_EQ(Bytes(log.out[1].begin(), log.out[1].begin() + 12),
            (Bytes{1, 2, 0xFD, 0, 0x89, 0x03, 0, 0, 1, 0, 0, 0}));  // 905 bytes, EOM
}

TEST_F(UsbtmcStreamTest, ReadsAMessageThatComesInSeveralTransfers) {
  start();
  fake->in = {{in_transfer(1, "17,(@),1", false)}, {in_transfer(2, ",0,#H0000\n")}};
  EXPECT_EQ(read(soon()), "17,(@),1");
  EXPECT_EQ(read(soon()), ",0,#H0000\n");
  EXPECT_EQ(log.out, (Transfers{request(1), request(2)}));
}

TEST_F(UsbtmcStreamTest, GivesOutALongAnswerInPieces) {
  start();
  fake->in.push_back({in_transfer(1, "abcdef\n")});
  std::array<char, 4> room{};
  EXPECT_EQ(*stream->read(room, soon()), 4U);
  EXPECT_EQ(read(soon()), "ef\n");
  EXPECT_EQ(log.out.size(), 1U);
}

// 3.3: one request at a time; it stays with the adapter when we wait no longer.
TEST_F(UsbtmcStreamTest, GoesOnWaitingForTheSameRequest) {
  start();
  EXPECT_EQ(read(at_once()), "-");
  EXPECT_EQ(read(at_once()), "-");
  fake->in.push_back({in_transfer(1, "late\n")});
  EXPECT_EQ(read(soon()), "late\n");
  EXPECT_EQ(log.out, Transfers{request(1)});
}

TEST_F(UsbtmcStreamTest, PutsTogetherAnAnswerThatTheDeadlineCut) {
  start();
  const Bytes whole = in_transfer(1, std::string(100, 'y') + "\n");
  fake->in = {{Bytes(whole.begin(), whole.begin() + 64), PipeEnd::timed_out},
              {Bytes(whole.begin() + 64, whole.end())}};
  EXPECT_EQ(read(soon()), std::string(100, 'y') + "\n");
}

TEST_F(UsbtmcStreamTest, AsksAgainWhereAnAnswerHasNoBytes) {
  start();
  fake->in = {{in_transfer(1, "", false)}, {in_transfer(2, "now\n")}};
  EXPECT_EQ(read(soon()), "now\n");
}

// INITIATE_ABORT_BULK_IN with the request's bTag, the short packet, CHECK_ABORT_BULK_IN_STATUS
// (4.2.1.4, 4.2.1.5).
TEST_F(UsbtmcStreamTest, TakesBackARequestBeforeItWrites) {
  start();
  EXPECT_EQ(read(at_once()), "-");
  fake->in.push_back({{}});
  EXPECT_EQ(write("*CLS\n", soon()), "");
  EXPECT_EQ(log.control, (Words{"A2 03 0001 in", "A2 04 0000 in"}));
  EXPECT_EQ(log.out, (Transfers{request(1), out_transfer(2, "*CLS\n")}));
}

TEST_F(UsbtmcStreamTest, KeepsAnAnswerThatCameBeforeItsRequestWasTakenBack) {
  start();
  EXPECT_EQ(read(at_once()), "-");
  fake->in.push_back({in_transfer(1, "just in time\n")});
  EXPECT_EQ(write("*CLS\n", soon()), "");
  EXPECT_EQ(read(soon()), "just in time\n");
}

TEST_F(UsbtmcStreamTest, ReadsOnWhileTakingBackIsPending) {
  start();
  EXPECT_EQ(read(at_once()), "-");
  fake->answers[4] = {{{2, 1, 0, 0, 0, 0, 0, 0}}, {{1, 0, 0, 0, 0, 0, 0, 0}}};
  fake->in = {{Bytes(64, 0)}, {{}}};
  EXPECT_EQ(write("*CLS\n", soon()), "");
  EXPECT_TRUE(fake->in.empty());
}

// Table 16: 0x80 when nothing is under way; 0x81 when something else is.
TEST_F(UsbtmcStreamTest, WritesAtOnceWhenThereIsNothingToTakeBack) {
  start();
  EXPECT_EQ(read(at_once()), "-");
  fake->answers[3].push_back({{0x80, 0}});
  EXPECT_EQ(write("*CLS\n", soon()), "");
  EXPECT_EQ(log.control, Words{"A2 03 0001 in"});
}

TEST_F(UsbtmcStreamTest, ClearsWhenSomethingElseIsUnderWay) {
  start();
  EXPECT_EQ(read(at_once()), "-");
  fake->answers[3].push_back({{0x81, 0}});
  EXPECT_EQ(write("*CLS\n", soon()), "");
  EXPECT_EQ(log.control, (Words{"A2 03 0001 in", "A1 05 0000", "A1 06 0000", "clear halt out"}));
  EXPECT_EQ(log.out.back(), out_transfer(2, "*CLS\n"));
}

TEST_F(UsbtmcStreamTest, ThrowsAwayAnAnswerWithAWrongTagAndClears) {
  start();
  fake->in = {{in_transfer(9, "of another time\n")}, {in_transfer(2, "right\n")}};
  EXPECT_EQ(read(soon()), "right\n");
  EXPECT_EQ(log.control, kCleared);
}

TEST_F(UsbtmcStreamTest, ThrowsAwayATruncatedHeaderAndClears) {
  start();
  fake->in = {{{2, 1, 0xFE, 0, 5}}, {in_transfer(2, "right\n")}};
  EXPECT_EQ(read(soon()), "right\n");
  EXPECT_EQ(log.control, kCleared);
}

TEST_F(UsbtmcStreamTest, ClearsAHaltedBulkIn) {
  start();
  fake->in = {{{}, PipeEnd::stalled}, {in_transfer(2, "right\n")}};
  EXPECT_EQ(read(soon()), "right\n");
  EXPECT_EQ(log.control, (Words{"A1 05 0000", "A1 06 0000", "clear halt out", "clear halt in"}));
}

TEST_F(UsbtmcStreamTest, SendsAgainWhatAHaltedBulkOutRefused) {
  start();
  fake->out.push_back({0, PipeEnd::stalled});
  EXPECT_EQ(write("*CLS\n", soon()), "");
  EXPECT_EQ(log.control, kCleared);
  EXPECT_EQ(log.out, (Transfers{out_transfer(1, "*CLS\n"), out_transfer(2, "*CLS\n")}));
}

TEST_F(UsbtmcStreamTest, GivesUpWhenItGoesWrongFourTimesInARow) {
  start();
  for (int i = 0; i < 3; ++i) fake->in.push_back({in_transfer(99, "wrong\n")});
  fake->in.push_back({in_transfer(4, "right\n")});
  EXPECT_EQ(read(soon()), "right\n");
  for (int i = 0; i < 4; ++i) fake->in.push_back({in_transfer(99, "wrong\n")});
  EXPECT_EQ(read(soon()), "ADP-013");
}

TEST_F(UsbtmcStreamTest, GivesUpOnAnAdapterThatRefusesEverything) {
  start();
  fake->in.push_back({{}, PipeEnd::stalled});
  for (int i = 0; i < 9; ++i) fake->answers[5].push_back({{}, PipeEnd::stalled});
  EXPECT_EQ(read(soon()), "ADP-013");
}

// INITIATE_ABORT_BULK_OUT with the transfer's bTag, CHECK_ABORT_BULK_OUT_STATUS, then the halt
// (4.2.1.2, 4.2.1.3).
TEST_F(UsbtmcStreamTest, TakesBackATransferThatTheDeadlineCut) {
  start();
  fake->out.push_back({64, PipeEnd::timed_out});
  EXPECT_EQ(write(std::string(200, 'x') + "\n", Clock::now()), "ADP-011");
  fake->answers[2] = {{{2, 0, 0, 0, 0, 0, 0, 0}}, {{1, 0, 0, 0, 64, 0, 0, 0}}};
  EXPECT_EQ(write("*CLS\n", soon()), "");
  EXPECT_EQ(log.control,
            (Words{"A2 01 0001 out", "A2 02 0000 out", "A2 02 0000 out", "clear halt out"}));
  EXPECT_EQ(log.out.back(), out_transfer(2, "*CLS\n"));
}

TEST_F(UsbtmcStreamTest, TakesNothingBackWhenNothingWasSent) {
  start();
  fake->out.push_back({0, PipeEnd::timed_out});
  EXPECT_EQ(write("*IDN?\n", Clock::now()), "ADP-011");
  EXPECT_EQ(write("*CLS\n", soon()), "");
  EXPECT_EQ(log.control, Words{});
}

TEST_F(UsbtmcStreamTest, TellsWhenItIsUnplugged) {
  start();
  fake->in.push_back({{}, PipeEnd::gone});
  EXPECT_EQ(read(soon()), "ADP-010");
  fake->out.push_back({0, PipeEnd::gone});
  EXPECT_EQ(write("*CLS\n", soon()), "ADP-010");
  fake->answers[128].push_back({{}, PipeEnd::gone});
  EXPECT_EQ(stream->status_byte(soon()).problem().code, "ADP-010");
}

// USB488, 4.3.1: status, bTag, status byte.
TEST_F(UsbtmcStreamTest, ReadsTheStatusByte) {
  start();
  fake->answers[128] = {{{1, 2, 0x50}}, {{1, 9, 0x50}}, {{0x80, 4, 0x50}}};
  EXPECT_EQ(**stream->status_byte(soon()), 0x50);
  EXPECT_FALSE(*stream->status_byte(soon()));  // of another bTag
  EXPECT_FALSE(*stream->status_byte(soon()));  // failed
  EXPECT_EQ(log.control, (Words{"A1 80 0002", "A1 80 0003", "A1 80 0004"}));
}

// USB488, 3.4.1 and 4.3.1.1: bNotify1 is 0x80 and the bTag; 0x81 is a service request.
TEST_F(UsbtmcStreamTest, ReadsTheStatusByteFromTheInterruptEndpoint) {
  start();
  fake->has_interrupt = true;
  fake->answers[128] = {{{1, 2, 0}}};
  fake->interrupt = {{{0x81, 0x40}}, {{0x82, 0x10}}};
  EXPECT_EQ(**stream->status_byte(soon()), 0x10);
}

// IEEE 488.2, 6.3.1.7: asked before it has something to say, it would report UNTERMINATED.
TEST_F(UsbtmcStreamTest, AsksAnInterfaceOfIeee4882OnlyWhenAMessageIsAvailable) {
  start(4);
  fake->answers[128] = {{{1, 2, 0}}, {{1, 3, 0x20}}, {{1, 4, 0x10}}};
  fake->in.push_back({in_transfer(1, "ready\n")});
  EXPECT_EQ(read(soon()), "ready\n");
  EXPECT_EQ(log.control.size(), 3U);
}

TEST_F(UsbtmcStreamTest, AsksAnInterfaceOfIeee4882NothingWhenItHasNothing) {
  start(4);
  EXPECT_EQ(read(at_once()), "-");
  EXPECT_EQ(log.out, Transfers{});
}

}  // namespace
}  // namespace isthmus::adapter
