// SPDX-License-Identifier: Apache-2.0
// One test record of IPC-D-356A: columns to values.
#pragma once

#include <string_view>

#include "isthmus/formats/ipc_d_356.hpp"

namespace isthmus::formats {

struct TestRecord {
  NetlistRecord value;
  bool has_access{false};
  bool has_place{false};
  int shift{};            // columns by which the record was found displaced
  bool saturated{false};  // a size field full of nines
};

struct RecordContext {
  std::string_view file;
  std::int32_t line{};
  std::int64_t unit_nm{2540};  // length of one count
};

// `line` is the whole record with its operation code. Errors NET-005..NET-008.
Result<TestRecord> parse_test_record(std::string_view line, const RecordContext& context);

}  // namespace isthmus::formats
