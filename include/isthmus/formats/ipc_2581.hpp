// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

#include "isthmus/base/result.hpp"
#include "isthmus/formats/ipc_d_356.hpp"

namespace isthmus::formats {

// Does the beginning of a file open an IPC-2581 document?
bool is_ipc_2581(std::string_view head);

// Reads the netlist and the test points of an IPC-2581 file; its copper is not used.
//
// Points  every PhyNetPoint; where a file has none, every pad of a LayerFeature that names its pin.
//         References and pins come from the pads at the same place, nets of pins from LogicalNet.
// Units   Nanometres, y up, origin as in the file.
// Errors  I81-0xx at file:line:column: not well-formed, document types and entities, over 64 MB,
//         4 million tags or 64 levels; an unknown layer; a pin or place on two nets.
// Source  IPC-2581 revisions B and C. Left out: docs/formats/ipc-2581.md.
Result<Netlist> read_ipc_2581(std::string_view bytes, const std::string& file_name,
                              Diagnostics& notes);

// Whichever of the two netlist formats the content shows.
Result<Netlist> read_netlist(std::string_view bytes, const std::string& file_name,
                             Diagnostics& notes);

}  // namespace isthmus::formats
