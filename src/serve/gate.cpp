// SPDX-License-Identifier: Apache-2.0
#include "serve/gate.hpp"

#include <httplib.h>
#include <sys/random.h>

#include <array>

namespace isthmus::serve {
namespace {

// In the same time wherever they differ.
bool same(const std::string& a, const std::string& b) {
  unsigned differ = a.size() == b.size() ? 0 : 1;
  for (std::size_t i = 0; i < a.size() && i < b.size(); ++i)
    differ |=
        static_cast<unsigned>(static_cast<unsigned char>(a[i]) ^ static_cast<unsigned char>(b[i]));
  return differ == 0;
}

bool has_once(const httplib::Request& r, const char* header) {
  return r.get_header_value_count(header) == 1;
}

}  // namespace

Let let_in(const Gate& gate, const httplib::Request& r) {
  if (!has_once(r, "Host") || r.get_header_value("Host") != gate.host) return Let::forbidden;
  const std::string own = "http://" + gate.host;
  if (r.has_header("Origin") && (!has_once(r, "Origin") || r.get_header_value("Origin") != own))
    return Let::forbidden;
  if (r.method != "GET" && !r.has_header("Origin")) return Let::forbidden;
  if (r.has_header("Sec-Fetch-Site")) {
    const std::string site = r.get_header_value("Sec-Fetch-Site");
    if (site != "same-origin" && site != "none") return Let::forbidden;
  }
  const std::string begin = "/" + gate.token + "/";
  if (!same(r.path.substr(0, begin.size()), begin)) return Let::no_such;
  return Let::in;
}

std::string new_token() {
  std::array<unsigned char, 16> bytes{};
  if (getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size())) return "";
  constexpr char kDigits[] = "0123456789abcdef";
  std::string token;
  for (const unsigned char b : bytes) {
    token += kDigits[b >> 4U];
    token += kDigits[b & 15U];
  }
  return token;
}

}  // namespace isthmus::serve
