// SPDX-License-Identifier: Apache-2.0
// Oracle: byte sequences written by hand from the tables of USBTMC 1.0 and USB488 1.0; tables and
// clauses are quoted from memory.
#include "adapter/usbtmc_wire.hpp"

#include <gtest/gtest.h>

#include "adapter/usb_address.hpp"
#include "isthmus/base/result.hpp"

namespace isthmus::adapter::usbtmc {
namespace {

using Bytes = std::vector<std::uint8_t>;

// Table 1: bTag and its complement; Table 3: TransferSize without header and alignment, EOM;
// 3.2.1: alignment to 4 bytes.
TEST(UsbtmcWire, WritesAMessageWithHeaderAndAlignment) {
  EXPECT_EQ(message_out(1, std::string_view("*IDN?\n"), true),
            (Bytes{0x01, 0x01, 0xFE, 0x00, 0x06, 0x00, 0x00, 0x00, 0x01, 0x00, 0x00, 0x00,  //
                   '*',  'I',  'D',  'N',  '?',  '\n', 0x00, 0x00}));
  EXPECT_EQ(message_out(0x80, std::string_view("*CLS"), false),
            (Bytes{0x01, 0x80, 0x7F, 0x00, 0x04, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00,  //
                   '*', 'C', 'L', 'S'}));
}

TEST(UsbtmcWire, WritesSizesLeastByteFirst) {
  const Bytes out = message_out(255, std::string(0x0102, 'x'), true);
  EXPECT_EQ(Bytes(out.begin(), out.begin() + 12),
            (Bytes{0x01, 0xFF, 0x00, 0x00, 0x02, 0x01, 0x00, 0x00, 0x01, 0x00, 0x00, 0x00}));
  EXPECT_EQ(out.size(), 12U + 0x0104);
}

// Table 4; bit 1 of bmTransferAttributes (TermCharEnabled) stays clear.
TEST(UsbtmcWire, AsksForAnAnswer) {
  const auto out = request_in(2, 0x01020304);
  EXPECT_EQ(Bytes(out.begin(), out.end()),
            (Bytes{0x02, 0x02, 0xFD, 0x00, 0x04, 0x03, 0x02, 0x01, 0x00, 0x00, 0x00, 0x00}));
}

Bytes answer() {
  return {0x02, 0x07, 0xF8, 0x00, 0x05, 0x00, 0x00, 0x00, 0x01,
          0x00, 0x00, 0x00, '1',  '2',  ';',  '3',  '\n'};
}

std::string text(const MessageIn& in) { return {in.payload.begin(), in.payload.end()}; }

// Tables 8 and 9; 3.3: a device may align the transfer.
TEST(UsbtmcWire, ReadsAnAnswerWithAndWithoutAlignment) {
  for (std::size_t aligned = 0; aligned <= 3; ++aligned) {
    Bytes bytes = answer();
    bytes.resize(bytes.size() + aligned, 0xAA);
    const MessageIn in = message_in(bytes, 7, 100);
    EXPECT_EQ(in.wrong, "");
    EXPECT_EQ(text(in), "12;3\n");
    EXPECT_TRUE(in.end_of_message);
  }
}

TEST(UsbtmcWire, TellsAPartOfAMessageFromItsEnd) {
  Bytes bytes = answer();
  bytes[8] = 0x02;  // Table 9: bit 1 is the termination character's, bit 0 is EOM
  EXPECT_FALSE(message_in(bytes, 7, 100).end_of_message);
}

std::string wrong_with(std::size_t at, std::uint8_t byte, std::uint32_t most = 100) {
  Bytes bytes = answer();
  bytes[at] = byte;
  return message_in(bytes, 7, most).wrong;
}

TEST(UsbtmcWire, RefusesAHeaderThatIsNotTheOneAskedFor) {
  EXPECT_EQ(wrong_with(0, 1), "MsgID 1 instead of 2");
  EXPECT_EQ(wrong_with(1, 6), "bTag 06 F8 instead of 07 F8");
  EXPECT_EQ(wrong_with(2, 7), "bTag 07 07 instead of 07 F8");
  EXPECT_EQ(wrong_with(4, 6), "6 bytes announced, 5 came");
  EXPECT_EQ(wrong_with(4, 1), "1 bytes announced, 5 came");
  EXPECT_EQ(wrong_with(4, 5, 4), "5 bytes where at most 4 were asked for");
  EXPECT_EQ(wrong_with(7, 1), "16777221 bytes where at most 100 were asked for");
}

TEST(UsbtmcWire, RefusesEveryTruncatedTransfer) {
  const Bytes whole = answer();
  for (std::size_t n = 0; n < whole.size(); ++n)
    EXPECT_NE(message_in(std::span(whole).first(n), 7, 100).wrong, "") << n;
}

// Table 1: 1 to 255; USB488, 4.3.1: 2 to 127.
TEST(UsbtmcWire, TagsGoRoundWithoutZero) {
  EXPECT_EQ(next_tag(0), 1);
  EXPECT_EQ(next_tag(254), 255);
  EXPECT_EQ(next_tag(255), 1);
  EXPECT_EQ(next_status_tag(0), 2);
  EXPECT_EQ(next_status_tag(126), 127);
  EXPECT_EQ(next_status_tag(127), 2);
}

// Table 37: bit 0 of byte 4 listen-only, bit 1 talk-only; USB488, Table 8: bytes 12 and 13
// bcdUSB488, bit 2 of byte 14 an IEEE 488.2 interface.
TEST(UsbtmcWire, ReadsCapabilities) {
  Bytes bytes(24, 0);
  bytes[0] = 0x01;
  EXPECT_FALSE(capabilities(bytes)->usb488);
  bytes[4] = 0x02;
  EXPECT_TRUE(capabilities(bytes)->talk_only);
  bytes[4] = 0x01;
  EXPECT_TRUE(capabilities(bytes)->listen_only);
  bytes[14] = 0x04;
  EXPECT_FALSE(capabilities(bytes)->strict);
  bytes[13] = 0x01;
  EXPECT_TRUE(capabilities(bytes)->usb488 && capabilities(bytes)->strict);
  EXPECT_FALSE(capabilities(std::span(bytes).first(23)));
  bytes[0] = 0x80;
  EXPECT_FALSE(capabilities(bytes));
}

TEST(UsbAddress, IsTwoHexadecimalNumbersAndPerhapsASerialNumber) {
  const auto plain = parse_usb_address("1209:1");
  ASSERT_TRUE(plain);
  EXPECT_EQ(plain->vendor, 0x1209);
  EXPECT_EQ(plain->product, 1);
  EXPECT_FALSE(plain->serial_number);
  EXPECT_EQ(parse_usb_address("ABCD:00ef:SN:4 2")->serial_number, "SN:4 2");
  for (const char* bad : {"", "1209", "1209:", ":1", "12090:1", "12x9:1", "0x1209:1", "1209:1:"})
    EXPECT_FALSE(parse_usb_address(bad)) << bad;
}

TEST(UsbAddress, ChoosesTheOneDeviceMeant) {
  const std::vector<UsbNames> there{
      {0x1209, 1, "", "", "A"}, {0x1209, 1, "", "", "B"}, {0x1209, 2, "", "", "A"}};
  EXPECT_EQ(*choose({0x1209, 1, "B"}, there), 1U);
  EXPECT_EQ(*choose({0x1209, 2, {}}, there), 2U);
  const auto several = choose({0x1209, 1, {}}, there);
  EXPECT_EQ(format(several.problem()),
            "error ADP-008: several USBTMC devices are \"usb:1209:0001\"\n  hint: name one of them "
            "by its serial number, or unplug the others: usb:1209:0001:A, usb:1209:0001:B");
  EXPECT_EQ(format(choose({0x1209, 2, "C"}, there).problem()),
            "error ADP-003: no USBTMC device is \"usb:1209:0002:C\"\n  hint: plugged in: "
            "usb:1209:0001:A, usb:1209:0001:B, usb:1209:0002:A");
}

}  // namespace
}  // namespace isthmus::adapter::usbtmc
