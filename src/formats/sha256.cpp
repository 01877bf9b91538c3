// SPDX-License-Identifier: Apache-2.0
// SHA-256, FIPS 180-4, sections 4.1.2, 5.1.1, 5.3.3 and 6.2.
#include <array>
#include <bit>
#include <cstdint>
#include <string>
#include <string_view>

#include "isthmus/formats/design.hpp"

namespace isthmus::formats {
namespace {

using Words8 = std::array<std::uint32_t, 8>;

// The first 32 bits of the fractional parts of the roots of the first primes (4.2.2, 5.3.3),
// computed in integers so that no table can be mistyped: floor(root(p) * 2^32) mod 2^32.
__extension__ using Wide = unsigned __int128;

std::uint32_t root_fraction(unsigned prime, int power) {
  // Largest r with r^power <= prime * 2^(32*power); r < 2^36, so r^3 < 2^108 fits 128 bits.
  const Wide goal = static_cast<Wide>(prime) << (32 * power);
  std::uint64_t r = 0;
  for (int bit = 36; bit >= 0; --bit) {
    const std::uint64_t next = r | (std::uint64_t{1} << bit);
    Wide product = next;
    for (int i = 1; i < power; ++i) product *= next;
    if (product <= goal) r = next;
  }
  return static_cast<std::uint32_t>(r);
}

std::array<unsigned, 64> first_primes() {
  std::array<unsigned, 64> primes{};
  std::size_t found = 0;
  for (unsigned n = 2; found < primes.size(); ++n) {
    bool prime = true;
    for (std::size_t i = 0; i < found && prime; ++i) prime = n % primes[i] != 0;
    if (prime) primes[found++] = n;
  }
  return primes;
}

std::array<std::uint32_t, 64> round_constants() {
  const std::array<unsigned, 64> primes = first_primes();
  std::array<std::uint32_t, 64> k{};
  for (std::size_t i = 0; i < k.size(); ++i) k[i] = root_fraction(primes[i], 3);
  return k;
}

Words8 initial_hash() {
  Words8 h{};
  const std::array<unsigned, 64> primes = first_primes();
  for (std::size_t i = 0; i < h.size(); ++i) h[i] = root_fraction(primes[i], 2);
  return h;
}

void absorb(Words8& hash, const unsigned char* block) {
  static const std::array<std::uint32_t, 64> kRound = round_constants();
  std::array<std::uint32_t, 64> w{};
  for (std::size_t t = 0; t < 16; ++t) {
    w[t] = std::uint32_t{block[4 * t]} << 24 | std::uint32_t{block[4 * t + 1]} << 16 |
           std::uint32_t{block[4 * t + 2]} << 8 | std::uint32_t{block[4 * t + 3]};
  }
  for (std::size_t t = 16; t < 64; ++t) {
    const std::uint32_t a = w[t - 15], b = w[t - 2];
    const std::uint32_t s0 = std::rotr(a, 7) ^ std::rotr(a, 18) ^ (a >> 3);
    const std::uint32_t s1 = std::rotr(b, 17) ^ std::rotr(b, 19) ^ (b >> 10);
    w[t] = w[t - 16] + s0 + w[t - 7] + s1;
  }
  auto [a, b, c, d, e, f, g, h] = hash;
  for (std::size_t t = 0; t < 64; ++t) {
    const std::uint32_t s1 = std::rotr(e, 6) ^ std::rotr(e, 11) ^ std::rotr(e, 25);
    const std::uint32_t t1 = h + s1 + ((e & f) ^ (~e & g)) + kRound[t] + w[t];
    const std::uint32_t s0 = std::rotr(a, 2) ^ std::rotr(a, 13) ^ std::rotr(a, 22);
    const std::uint32_t t2 = s0 + ((a & b) ^ (a & c) ^ (b & c));
    h = g, g = f, f = e, e = d + t1, d = c, c = b, b = a, a = t1 + t2;
  }
  const Words8 turned{a, b, c, d, e, f, g, h};
  for (std::size_t i = 0; i < 8; ++i) hash[i] += turned[i];
}

}  // namespace

std::string sha256(std::string_view bytes) {
  Words8 hash = initial_hash();
  const std::uint64_t bits = std::uint64_t{bytes.size()} * 8;
  while (bytes.size() >= 64) {
    std::array<unsigned char, 64> block{};
    for (std::size_t i = 0; i < 64; ++i) block[i] = static_cast<unsigned char>(bytes[i]);
    absorb(hash, block.data());
    bytes.remove_prefix(64);
  }
  std::array<unsigned char, 128> tail{};
  for (std::size_t i = 0; i < bytes.size(); ++i) tail[i] = static_cast<unsigned char>(bytes[i]);
  tail[bytes.size()] = 0x80;
  const std::size_t end = bytes.size() + 9 <= 64 ? 64 : 128;
  for (std::size_t i = 0; i < 8; ++i) {
    tail[end - 1 - i] = static_cast<unsigned char>(bits >> (8 * i));
  }
  absorb(hash, tail.data());
  if (end == 128) absorb(hash, tail.data() + 64);
  std::string out;
  for (std::uint32_t word : hash) {
    for (int shift = 28; shift >= 0; shift -= 4) out += "0123456789abcdef"[(word >> shift) & 15];
  }
  return out;
}

}  // namespace isthmus::formats
