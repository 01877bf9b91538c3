// SPDX-License-Identifier: Apache-2.0
// Messages over a byte stream: sending, cutting what comes back, and finding the beginning again.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "isthmus/adapter/stream.hpp"

namespace isthmus::adapter {

using Seconds = std::chrono::duration<double>;

// Patience beyond what the adapter itself needs.
inline constexpr Seconds kGrace{2.0};
inline constexpr int kTries = 3;

Deadline after(Seconds wait);

// Non-printing bytes as \xNN, cut to a line's length: for messages about what an adapter said.
std::string shown(std::string_view answer);

// One answer of a response message and what ended it: ';' or '\n'.
struct Piece {
  std::string text;
  char end{};
};

class Lines {
 public:
  explicit Lines(std::unique_ptr<ByteStream> stream) : stream_(std::move(stream)) {}

  // Adds the LF.
  Result<Done> send(std::string_view message);

  // Nothing when the deadline passed first, or when 64 KiB came without an end.
  Result<std::optional<Piece>> next_piece(Deadline deadline);
  Result<std::optional<std::string>> next_line(Deadline deadline);  // without LF (and CR)

  void forget_pending() { pending_.clear(); }

  // LF, then reads until nothing has come for 50 ms (at most 2 s).
  Result<Done> settle();

  // Throws away everything said so far, however late it comes: LF, silence, *CLS, then a number of
  // ours put into the event enable register and asked back (IEEE 488.2, 10.10 and 10.11). Answers
  // come in order, so that what follows the echo belongs to what is sent after it. `busy` is how
  // long the adapter may still work on earlier messages. ADP-022 when the echo does not come.
  Result<Done> resynchronise(Seconds busy);

  // One query, one line; asked again after resynchronising where nothing comes. ADP-020.
  Result<std::string> ask(std::string_view query, Seconds busy);

 private:
  Result<std::optional<std::string>> take(std::string_view ends, Deadline deadline);

  std::unique_ptr<ByteStream> stream_;
  std::string pending_;
  unsigned echo_{0};
};

}  // namespace isthmus::adapter
