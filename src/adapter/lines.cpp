// SPDX-License-Identifier: Apache-2.0
#include "adapter/lines.hpp"

#include <fmt/format.h>

#include <array>

#include "adapter/transports.hpp"

namespace isthmus::adapter {
namespace {

constexpr std::size_t kLongestPiece = 64u << 10;
constexpr std::chrono::milliseconds kQuiet{50};
constexpr double kBytesPerSecond = 10'000;  // 115200 baud, 8N1, a little less

}  // namespace

Deadline after(Seconds wait) { return Clock::now() + std::chrono::ceil<Clock::duration>(wait); }

std::string shown(std::string_view answer) {
  constexpr std::size_t kShown = 60;
  std::string out;
  for (const char c : answer.substr(0, kShown)) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte >= 0x20 && byte < 0x7f)
      out += c;
    else
      out += fmt::format("\\x{:02x}", byte);
  }
  return answer.size() > kShown ? out + "..." : out;
}

Result<Done> Lines::send(std::string_view message) {
  std::string bytes(message);
  bytes += '\n';
  const Seconds on_the_wire{static_cast<double>(bytes.size()) / kBytesPerSecond};
  return stream_->write(bytes, after(kGrace + on_the_wire));
}

Result<std::optional<std::string>> Lines::take(std::string_view ends, Deadline deadline) {
  std::size_t searched = 0;
  for (;;) {
    const auto end = pending_.find_first_of(ends, searched);
    if (end != std::string::npos) {
      std::string text = pending_.substr(0, end + 1);
      pending_.erase(0, end + 1);
      return std::optional(std::move(text));
    }
    searched = pending_.size();
    if (searched > kLongestPiece) {
      pending_.clear();
      return std::optional<std::string>();
    }
    std::array<char, 4096> room{};
    auto got = stream_->read(room, deadline);
    if (!got) return got.problem();
    if (got.value() == 0) return std::optional<std::string>();
    pending_.append(room.data(), got.value());
  }
}

Result<std::optional<Piece>> Lines::next_piece(Deadline deadline) {
  auto taken = take(";\n", deadline);
  if (!taken) return taken.problem();
  if (!taken.value()) return std::optional<Piece>();
  Piece piece{std::move(*taken.value()), 0};
  piece.end = piece.text.back();
  piece.text.pop_back();
  if (piece.end == '\n' && !piece.text.empty() && piece.text.back() == '\r') piece.text.pop_back();
  return std::optional(std::move(piece));
}

Result<std::optional<std::string>> Lines::next_line(Deadline deadline) {
  auto taken = take("\n", deadline);
  if (!taken || !taken.value()) return taken;
  std::string& line = *taken.value();
  line.pop_back();
  if (!line.empty() && line.back() == '\r') line.pop_back();
  return taken;
}

Result<Done> Lines::settle() {
  if (auto sent = send(""); !sent) return sent.problem();
  const Deadline last = after(kGrace);
  while (Clock::now() < last) {
    std::array<char, 4096> room{};
    auto got = stream_->read(room, std::min(last, Clock::now() + kQuiet));
    if (!got) return got.problem();
    if (got.value() == 0) break;
  }
  pending_.clear();
  return Done{};
}

Result<Done> Lines::resynchronise(Seconds busy) {
  // An echo may be lost like anything else, and a new number makes a late one harmless: ask again
  // soon, then more patiently.
  for (const double patience : {0.25, 0.5, 1.0, 2.0, 2.0}) {
    if (auto quiet = settle(); !quiet) return quiet.problem();
    echo_ = echo_ % 255 + 1;
    const std::string wanted = std::to_string(echo_);
    if (auto sent = send("*CLS;*ESE " + wanted + ";*ESE?"); !sent) return sent.problem();
    const Deadline deadline = after(busy + Seconds{patience});
    busy = Seconds{0};
    for (;;) {
      auto line = next_line(deadline);
      if (!line) return line.problem();
      if (!line.value()) break;
      if (*line.value() == wanted) return Done{};
      if (Clock::now() > deadline) break;
    }
  }
  return link_problem("ADP-022", "the adapter stopped answering",
                      "unplug it, plug it in again, then start again");
}

Result<std::string> Lines::ask(std::string_view query, Seconds busy) {
  for (int attempt = 0; attempt < kTries; ++attempt) {
    forget_pending();
    if (auto sent = send(query); !sent) return sent.problem();
    auto line = next_line(after(busy + kGrace));
    if (!line) return line.problem();
    if (line.value()) return std::move(*line.value());
    if (auto again = resynchronise(busy); !again) return again.problem();
  }
  return link_problem("ADP-020", fmt::format("the adapter does not answer {}", query),
                      "is it an adapter of this contract (docs/adapter.md)?");
}

}  // namespace isthmus::adapter
