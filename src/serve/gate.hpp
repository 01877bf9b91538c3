// SPDX-License-Identifier: Apache-2.0
// Who is let in.
#pragma once

#include <string>

namespace httplib {
struct Request;
}

namespace isthmus::serve {

struct Gate {
  std::string host;   // "127.0.0.1:PORT"
  std::string token;  // 32 hexadecimal digits
};

enum class Let { in, no_such, forbidden };

// Asked of every request before anything else is done with it. A page of elsewhere, or a name that was
// made to lead here, is forbidden; who does not know the token is told nothing.
Let let_in(const Gate& gate, const httplib::Request& request);

// 128 random bits of the system; empty where it has none.
std::string new_token();

}  // namespace isthmus::serve
