// SPDX-License-Identifier: Apache-2.0
// What every fuzz target asks of a reader beyond not breaking.
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>

#include "isthmus/base/result.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace isthmus::fuzz {

// Ends the process: libFuzzer keeps the input, the replay fails.
inline void demand(bool holds, std::string_view what) {
  if (holds) return;
  std::fprintf(stderr, "does not hold: %.*s\n", static_cast<int>(what.size()), what.data());
  std::abort();
}

inline std::string_view text_of(const std::uint8_t* data, std::size_t size) {
  return {reinterpret_cast<const char*>(data), size};
}

// A refusal names its code and a place that is there, and can be laid out.
inline void demand_told(const Problem& p, std::string_view bytes) {
  demand(p.code.size() == 7 && p.code[3] == '-', "a problem has a code");
  demand(!p.message.empty(), "a problem has a message");
  demand(p.line >= 0 && p.column >= 0, "a place is not negative");
  demand(static_cast<std::size_t>(p.line) <= bytes.size() + 1, "the line is within the file");
  const std::string laid_out = format(p);
  demand(laid_out.size() < 4096 + p.file.size() + p.message.size() + p.hint.size(),
         "a message is short");
}

inline void demand_told(const Diagnostics& notes, std::string_view bytes) {
  for (const Diagnostic& d : notes.list()) demand_told(d.what, bytes);
}

}  // namespace isthmus::fuzz
