// SPDX-License-Identifier: Apache-2.0
// IPC-2581: what is read can be written as IPC-D-356A and read again.
#include "isthmus/formats/ipc_2581.hpp"
#include "tests/fuzz/fuzz.hpp"

using namespace isthmus;
using namespace isthmus::fuzz;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes = text_of(data, size);
  Diagnostics notes;
  const auto netlist = formats::read_ipc_2581(bytes, "board.xml", notes);
  demand_told(notes, bytes);
  if (!netlist) {
    demand_told(netlist.problem(), bytes);
    return 0;
  }
  const std::string written = formats::write_ipc_d_356(*netlist);
  const auto back = formats::read_ipc_d_356(written, "again.d356", notes);
  if (!back) std::fprintf(stderr, "%s\n", format(back.problem()).c_str());
  demand(back.ok(), "what the writer writes is read");
  demand(back->records.size() == netlist->records.size(), "no record is lost or added");
  return 0;
}
