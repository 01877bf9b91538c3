// SPDX-License-Identifier: Apache-2.0
// The guide's page: a server for browsers on this machine alone. It has threads of its own; what is
// told and what is heard passes through queues, and nothing here calculates.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "isthmus/base/result.hpp"

namespace isthmus::serve {

class GuidePage {
 public:
  // Listens on 127.0.0.1; port 0 takes a free one. `board` is what /board.json answers.
  //
  // Errors  SRV-001 the port is taken or may not be had; SRV-002 no random number for the address.
  // Source  Server-sent events and their Last-Event-ID: HTML, 9.2. Checks of Host, Origin and
  //         Sec-Fetch-Site, and the policies sent along: Fetch, CSP Level 3; docs/guide-page.md.
  static Result<std::unique_ptr<GuidePage>> open(std::string board, int port);
  // Ends when every browser that listens has what was told, or after a second.
  virtual ~GuidePage() = default;

  // "http://127.0.0.1:PORT/TOKEN/"; the token has 128 random bits.
  [[nodiscard]] virtual const std::string& address() const = 0;

  // One event, one line of JSON. Events are kept: a browser that comes later, or again, gets all.
  virtual void tell(std::string line) = 0;
  // The next answer of the browser that drives, as a line; never waits.
  virtual std::optional<std::string> heard() = 0;

 protected:
  GuidePage() = default;
};

}  // namespace isthmus::serve
