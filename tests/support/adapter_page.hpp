// SPDX-License-Identifier: Apache-2.0
// The worked exchanges of docs/adapter.md, as they stand there.
#pragma once

#include <string>
#include <vector>

namespace isthmus::test {

struct PageExchange {
  int line{};            // of `sent` in the page
  std::string sent;      // without its LF
  std::string response;  // without its LF; empty: none
};

struct AdapterPage {
  std::string scenario;  // the fenced block of YAML: the bench behind the exchanges
  std::vector<PageExchange> exchanges;
};
AdapterPage read_adapter_page();

// Where `got`, from another adapter on the same bench, says something else than `expected`; empty
// where it says the same. Maker's name, the text of an error and the last per cent of a reading are
// an adapter's own; the check of every reading, in either response, must be right.
std::string difference(const std::string& expected, const std::string& got);

}  // namespace isthmus::test
