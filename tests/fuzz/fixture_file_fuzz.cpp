// SPDX-License-Identifier: Apache-2.0
// fixture.yaml: written and read again it is the same text.
#include "isthmus/formats/fixture_file.hpp"
#include "tests/fuzz/fuzz.hpp"

using namespace isthmus;
using namespace isthmus::fuzz;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes = text_of(data, size);
  const auto read = formats::parse_fixture_file(bytes, "fixture.yaml");
  if (!read) {
    demand_told(read.problem(), bytes);
    return 0;
  }
  const std::string written = formats::write_fixture_file(*read);
  const auto back = formats::parse_fixture_file(written, "fixture.yaml");
  if (!back) std::fprintf(stderr, "%s\n%s\n", format(back.problem()).c_str(), written.c_str());
  demand(back.ok(), "what the writer writes is read");
  demand(formats::write_fixture_file(*back) == written, "the way back changes nothing");
  return 0;
}
