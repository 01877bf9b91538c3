// SPDX-License-Identifier: Apache-2.0
#include "hostsim/device/crc.hpp"

namespace isthmus::hostsim {

std::uint16_t crc16(std::string_view bytes) {
  std::uint32_t crc = 0xFFFF;
  for (const char c : bytes) {
    crc ^= static_cast<std::uint32_t>(static_cast<unsigned char>(c)) << 8;
    for (int bit = 0; bit < 8; ++bit) {
      crc = (crc & 0x8000) != 0 ? (crc << 1) ^ 0x1021 : crc << 1;
    }
    crc &= 0xFFFF;
  }
  return static_cast<std::uint16_t>(crc);
}

}  // namespace isthmus::hostsim
