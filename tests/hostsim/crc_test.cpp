// SPDX-License-Identifier: Apache-2.0
#include "hostsim/device/crc.hpp"

#include <gtest/gtest.h>

namespace isthmus::hostsim {
namespace {

// The check value every catalogue of CRCs lists for CRC-16/CCITT-FALSE; docs/adapter.md repeats it.
TEST(Crc16, GivesTheCheckValue) { EXPECT_EQ(crc16("123456789"), 0x29B1); }

TEST(Crc16, OfNothingIsTheStartValue) { EXPECT_EQ(crc16(""), 0xFFFF); }

// The answers printed in docs/adapter.md, worked exchange.
TEST(Crc16, MatchesTheWorkedExchange) {
  EXPECT_EQ(crc16("16,(@1!5),+1.000000E+00,0,"), 0xEE0A);
  EXPECT_EQ(crc16("17,(@1!5,2!9,3!5,4!9),+1.972410E-02,0,"), 0xA086);
  EXPECT_EQ(crc16("18,(@1!1,1!2,1!3,2!7),+9.900000E+37,1,"), 0x5A2A);
}

}  // namespace
}  // namespace isthmus::hostsim
