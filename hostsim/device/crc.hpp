// SPDX-License-Identifier: Apache-2.0
// CRC-16/CCITT-FALSE: polynomial 1021, start FFFF, no reflection, no final xor.
#pragma once

#include <cstdint>
#include <string_view>

namespace isthmus::hostsim {

std::uint16_t crc16(std::string_view bytes);

}  // namespace isthmus::hostsim
