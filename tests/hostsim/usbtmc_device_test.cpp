// SPDX-License-Identifier: Apache-2.0
// Oracle: byte sequences written by hand from USBTMC 1.0, USB488 1.0 and USB 2.0 (chapter 9);
// tables and clauses are quoted from memory.
#include "hostsim/usb/usbtmc_device.hpp"

#include <gtest/gtest.h>

#include "hostsim/usb/function_fs.hpp"

namespace isthmus::hostsim {
namespace {

using Bytes = std::vector<std::uint8_t>;
using Answer = std::optional<Bytes>;

const Bytes kIdentify{0x01, 0x01, 0xFE, 0x00, 0x06, 0x00, 0x00, 0x00, 0x01, 0x00,
                      0x00, 0x00, '*',  'I',  'D',  'N',  '?',  '\n', 0x00, 0x00};
const Bytes kRequest{0x02, 0x02, 0xFD, 0x00, 0x00, 0x01, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00};

Bytes with(Bytes bytes, std::size_t at, std::uint8_t byte) {
  bytes.at(at) = byte;
  return bytes;
}
Answer to_interface(UsbtmcDevice& device, std::uint8_t request, std::uint16_t value = 0) {
  return device.control({0xA1, request, value, 0});
}
Answer to_endpoint(UsbtmcDevice& device, std::uint8_t request, std::uint16_t value,
                   std::uint16_t address) {
  return device.control({0xA2, request, value, address});
}

// Tables 1 and 3; 3.2.1: aligned to 4 bytes.
TEST(UsbtmcDevice, TakesAMessage) {
  UsbtmcDevice device;
  EXPECT_TRUE(device.packet(kIdentify));
  EXPECT_EQ(device.take_input(), "*IDN?\n");
  EXPECT_EQ(device.take_input(), "");
}

// A transfer of whole packets has no short one at its end: its header tells where it ends.
TEST(UsbtmcDevice, TakesATransferOfWholePackets) {
  UsbtmcDevice device;
  Bytes first{0x01, 0x03, 0xFC, 0x00, 0x74, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00};
  first.resize(64, 'a');
  EXPECT_TRUE(device.packet(first));
  EXPECT_TRUE(device.packet(Bytes(64, 'b')));
  EXPECT_EQ(device.take_input(), std::string(52, 'a') + std::string(64, 'b'));
  EXPECT_TRUE(device.packet(kIdentify));
}

TEST(UsbtmcDevice, RefusesWhatIsNoHeader) {
  for (const Bytes& bad :
       {Bytes{}, Bytes(kIdentify.begin(), kIdentify.begin() + 11), with(kIdentify, 0, 0x03),
        with(kIdentify, 1, 0x00), with(kIdentify, 2, 0xFF), with(kIdentify, 4, 0x00),
        with(kIdentify, 4, 0x04), with(kRequest, 8, 0x02)}) {
    UsbtmcDevice device;
    EXPECT_FALSE(device.packet(bad));
    EXPECT_EQ(device.take_input(), "");
  }
}

TEST(UsbtmcDevice, RefusesASecondRequestWhileOneWaits) {
  UsbtmcDevice device;
  EXPECT_TRUE(device.packet(kRequest));
  EXPECT_FALSE(device.packet(with(with(kRequest, 1, 3), 2, 0xFC)));
}

// Tables 4, 8 and 9.
TEST(UsbtmcDevice, AnswersARequestWhenThereIsSomethingToSay) {
  UsbtmcDevice device;
  ASSERT_TRUE(device.packet(kRequest));
  EXPECT_FALSE(device.begin_in());
  device.offer("1\n22\n");
  EXPECT_EQ(*device.begin_in(), (Bytes{0x02, 0x02, 0xFD, 0x00, 0x02, 0x00, 0x00, 0x00, 0x01, 0x00,
                                       0x00, 0x00, '1', '\n', 0x00, 0x00}));
  EXPECT_FALSE(device.begin_in());
  device.in_done();
  EXPECT_FALSE(device.begin_in());  // "22\n" needs a request of its own
}

TEST(UsbtmcDevice, GivesNoMoreThanWasAskedFor) {
  UsbtmcDevice device;
  ASSERT_TRUE(device.packet(with(with(kRequest, 4, 3), 5, 0)));
  device.offer("12345\n");
  EXPECT_EQ(*device.begin_in(), (Bytes{0x02, 0x02, 0xFD, 0x00, 0x03, 0x00, 0x00, 0x00, 0x00, 0x00,
                                       0x00, 0x00, '1', '2', '3', 0x00}));
}

// 4.2.1.4 and 4.2.1.5.
TEST(UsbtmcDevice, EndsATransferThatIsTakenBackWithAShortPacket) {
  UsbtmcDevice device;
  ASSERT_TRUE(device.packet(kRequest));
  EXPECT_EQ(to_endpoint(device, 3, 9, 0x82), (Bytes{0x81, 0x02}));  // another bTag
  EXPECT_EQ(to_endpoint(device, 3, 2, 0x82), (Bytes{0x01, 0x02}));
  EXPECT_EQ(to_endpoint(device, 4, 0, 0x82), (Bytes{0x02, 0x01, 0, 0, 0, 0, 0, 0}));
  EXPECT_EQ(*device.begin_in(), Bytes{});
  device.in_done();
  EXPECT_EQ(to_endpoint(device, 4, 0, 0x82), (Bytes{0x01, 0x00, 0, 0, 0, 0, 0, 0}));
  EXPECT_EQ(to_endpoint(device, 3, 2, 0x82), (Bytes{0x80, 0x00}));  // nothing under way
  EXPECT_TRUE(device.packet(kRequest));
}

TEST(UsbtmcDevice, StopsATransferUnderWayThatIsTakenBack) {
  UsbtmcDevice device;
  ASSERT_TRUE(device.packet(kRequest));
  device.offer("late\n");
  ASSERT_TRUE(device.begin_in());
  EXPECT_EQ(to_endpoint(device, 3, 2, 0x82), (Bytes{0x01, 0x02}));
  EXPECT_TRUE(device.take_stop());
  device.in_stopped();
  EXPECT_EQ(*device.begin_in(), Bytes{});
  device.in_done();
  ASSERT_TRUE(device.packet(kRequest));
  EXPECT_FALSE(device.begin_in());  // the stopped answer is void
}

// The host read it to its end before the device heard of the abort: no second short packet.
TEST(UsbtmcDevice, OwesNoShortPacketAfterATransferThatEnded) {
  UsbtmcDevice device;
  ASSERT_TRUE(device.packet(kRequest));
  device.offer("just in time\n");
  ASSERT_TRUE(device.begin_in());
  EXPECT_EQ(to_endpoint(device, 3, 2, 0x82), (Bytes{0x01, 0x02}));
  device.in_done();
  EXPECT_FALSE(device.begin_in());
  EXPECT_EQ((*to_endpoint(device, 4, 0, 0x82))[0], 0x01);
}

// 4.2.1.2 and 4.2.1.3: NBYTES_RXD is the payload received.
TEST(UsbtmcDevice, ForgetsATransferThatIsTakenBack) {
  UsbtmcDevice device;
  EXPECT_EQ(to_endpoint(device, 1, 1, 0x01), (Bytes{0x80, 0x00}));
  Bytes first{0x01, 0x05, 0xFA, 0x00, 0x00, 0x02, 0x00, 0x00, 0x00, 0x00, 0x00, 0x00};
  first.resize(64, 'a');
  ASSERT_TRUE(device.packet(first));
  EXPECT_EQ(to_endpoint(device, 1, 6, 0x01), (Bytes{0x81, 0x05}));
  EXPECT_EQ(to_endpoint(device, 1, 5, 0x01), (Bytes{0x01, 0x05}));
  EXPECT_EQ(to_endpoint(device, 2, 0, 0x01), (Bytes{0x01, 0, 0, 0, 52, 0, 0, 0}));
  EXPECT_TRUE(device.packet(kIdentify));
}

// 4.2.1.6 and 4.2.1.7.
TEST(UsbtmcDevice, ForgetsEverythingWhenCleared) {
  UsbtmcDevice device;
  ASSERT_TRUE(device.packet(kIdentify));
  ASSERT_TRUE(device.packet(kRequest));
  device.offer("old\n");
  ASSERT_TRUE(device.begin_in());
  EXPECT_EQ(to_interface(device, 5), Bytes{0x01});
  EXPECT_TRUE(device.take_stop());
  EXPECT_EQ(to_interface(device, 6), (Bytes{0x02, 0x00}));
  device.in_stopped();
  EXPECT_EQ(to_interface(device, 6), (Bytes{0x01, 0x00}));
  EXPECT_TRUE(device.take_cleared());
  EXPECT_FALSE(device.take_cleared());
  EXPECT_EQ(device.take_input(), "");
  ASSERT_TRUE(device.packet(kRequest));
  EXPECT_FALSE(device.begin_in());
}

// Table 37; USB488, Table 8: SCPI (bit 3 of byte 15), no IEEE 488.2 interface (bit 2 of byte 14).
TEST(UsbtmcDevice, TellsItsCapabilities) {
  UsbtmcDevice device;
  EXPECT_EQ(to_interface(device, 7), (Bytes{1, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0,  //
                                            0, 1, 0, 8, 0, 0, 0, 0, 0, 0, 0, 0}));
}

// USB488, 4.3.1; IEEE 488.2, 11.2.1: MAV is bit 4.
TEST(UsbtmcDevice, TellsItsStatusByte) {
  UsbtmcDevice device;
  device.set_status(0x24);
  EXPECT_EQ(to_interface(device, 128, 2), (Bytes{0x01, 0x02, 0x24}));
  device.offer("1\n");
  EXPECT_EQ(to_interface(device, 128, 127), (Bytes{0x01, 0x7F, 0x34}));
  EXPECT_EQ(to_interface(device, 128, 1), Answer());
  EXPECT_EQ(to_interface(device, 128, 128), Answer());
}

TEST(UsbtmcDevice, RefusesOtherRequests) {
  UsbtmcDevice device;
  EXPECT_EQ(to_interface(device, 64), Answer());   // INDICATOR_PULSE: not in the capabilities
  EXPECT_EQ(to_interface(device, 160), Answer());  // REN_CONTROL: neither
  EXPECT_EQ(to_endpoint(device, 3, 1, 0x01), Answer());
  EXPECT_EQ(device.control({0x21, 5, 0, 0}), Answer());
}

// USB 2.0, 9.6.5 and 9.6.6; USBTMC 1.0, 5.5: class FE, subclass 03, protocol 01; bulk packets of 64
// bytes at full speed and 512 at high speed (5.8.3).
TEST(FunctionFs, DescribesTheInterfaceAtBothSpeeds) {
  const Bytes all = function_descriptors();
  ASSERT_EQ(all.size(), 20U + 2 * 23U);
  EXPECT_EQ(all[4], all.size());
  EXPECT_EQ(Bytes(all.begin() + 20, all.begin() + 43),
            (Bytes{9, 4, 0,    0, 2,  0xFE, 0x03, 0x01, 1,  //
                   7, 5, 0x01, 2, 64, 0,    0,              //
                   7, 5, 0x82, 2, 64, 0,    0}));
  EXPECT_EQ(Bytes(all.begin() + 43, all.end()), (Bytes{9, 4, 0,    0, 2, 0xFE, 0x03, 0x01, 1,  //
                                                       7, 5, 0x01, 2, 0, 2,    0,              //
                                                       7, 5, 0x82, 2, 0, 2,    0}));
}

}  // namespace
}  // namespace isthmus::hostsim
