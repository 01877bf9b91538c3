// SPDX-License-Identifier: Apache-2.0
// Drill: under every number format it offers; what our writer makes of it has as many holes.
#include "isthmus/formats/drill.hpp"
#include "tests/fuzz/fuzz.hpp"

using namespace isthmus;
using namespace isthmus::fuzz;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes = text_of(data, size);
  Diagnostics notes;
  const auto drill = formats::read_drill(bytes, "holes.drl", notes);
  demand_told(notes, bytes);
  if (!drill) {
    demand_told(drill.problem(), bytes);
    return 0;
  }
  demand(drill->format_declared || !drill->candidates.empty(), "an open format has candidates");
  for (const formats::NumberFormat& as : drill->candidates) {
    const auto other = formats::read_drill(bytes, "holes.drl", notes, as);
    if (!other) demand_told(other.problem(), bytes);
  }
  if (drill->holes.size() > 2000) return 0;
  const std::string written = formats::write_drill(*drill, 2);
  const auto back = formats::read_drill(written, "again.drl", notes);
  if (!back) std::fprintf(stderr, "%s\n", format(back.problem()).c_str());
  demand(back.ok(), "what the writer writes is read");
  demand(back->holes.size() == drill->holes.size(), "no hole is lost or added");
  return 0;
}
