// SPDX-License-Identifier: Apache-2.0
#include "adapter/conversation.hpp"

#include <fmt/format.h>

#include <array>

#include "adapter/transports.hpp"

namespace isthmus::adapter {
namespace {

constexpr std::size_t kLongestLine = 1u << 20;
constexpr Seconds kQuiet{0.05};
constexpr double kBytesPerSecond = 10'000;
constexpr std::size_t kMostErrors = 600;  // more than is ever provoked

Seconds on_the_wire(std::string_view bytes) {
  return Seconds{static_cast<double>(bytes.size()) / kBytesPerSecond};
}

}  // namespace

void Conversation::send(std::string_view bytes) {
  if (stopped_) return;
  if (auto sent = stream_->write(bytes, after(kGrace + on_the_wire(bytes))); !sent)
    stopped_ = sent.problem();
}

std::optional<std::string> Conversation::line(Deadline deadline) {
  for (std::size_t searched = 0; !stopped_;) {
    const auto end = pending_.find('\n', searched);
    if (end != std::string::npos) {
      std::string text = pending_.substr(0, end);
      pending_.erase(0, end + 1);
      return text;
    }
    searched = pending_.size();
    if (searched > kLongestLine) pending_.clear(), searched = 0;
    std::array<char, 4096> room{};
    const auto got = stream_->read(room, deadline);
    if (!got) stopped_ = got.problem();
    if (!got || *got == 0) break;
    pending_.append(room.data(), *got);
  }
  return std::nullopt;
}

void Conversation::silence() {
  const Deadline last = after(kGrace);
  while (!stopped_ && Clock::now() < last) {
    std::array<char, 4096> room{};
    const auto got = stream_->read(room, std::min(last, after(kQuiet)));
    if (!got) stopped_ = got.problem();
    if (!got || *got == 0) break;
    pending_.append(room.data(), *got);
  }
}

// A number of ours and a 1 behind it: no other answer looks so. Below 100 and without regard to
// blanks and CR: what is wrong with those is another clause's matter.
bool Conversation::echo(Seconds busy, std::vector<std::string>& before) {
  number_ = number_ % 99 + 1;
  const std::string wanted = fmt::format("{};1", number_);
  send(fmt::format("*ESE {};*ESE?;*OPC?\n", number_));
  const Deadline deadline = after(busy + kGrace);
  while (auto text = line(deadline)) {
    std::string bare = *text;
    std::erase_if(bare, [](char c) { return c == ' ' || c == '\r'; });
    if (bare == wanted) return true;
    before.push_back(std::move(*text));
  }
  return false;
}

std::vector<std::string> Conversation::errors() {
  std::vector<std::string> out;
  while (out.size() < kMostErrors) {
    send(":SYST:ERR?\n");
    auto text = line(after(kGrace));
    if (!text || text->starts_with("0,") || text->starts_with("+0,")) break;
    out.push_back(std::move(*text));
  }
  return out;
}

bool Conversation::open() {
  send("\n");
  silence();
  pending_.clear();
  send("*CLS\n");
  std::vector<std::string> stale;
  for (int attempt = 0; attempt < kTries; ++attempt) {
    if (echo(Seconds{0}, stale)) return true;
  }
  if (!stopped_) {
    stopped_ = link_problem("ADP-020", "nothing answers *ESE 1;*ESE?;*OPC?",
                            "is the adapter switched on, and is this its port?");
  }
  return false;
}

Said Conversation::say(std::string_view bytes, Seconds busy, bool alone) {
  Said said = tell(bytes, busy, alone);
  said.errors = errors();
  return said;
}

Said Conversation::tell(std::string_view bytes, Seconds busy, bool alone) {
  Said said;
  send(bytes);
  busy += on_the_wire(bytes);
  if (alone || patient_) {
    if (auto first = line(after(busy + Seconds{0.5}))) said.lines.push_back(std::move(*first));
    silence();
  }
  if (!echo(busy, said.lines)) {
    // Too late for the page, but is it still there?
    said.lines.emplace_back("(nothing more in time)");
    std::vector<std::string> late;
    silence();
    if (!echo(Seconds{0}, late) && !echo(Seconds{3}, late) && !stopped_) {
      stopped_ = link_problem(
          "ADP-022", fmt::format("the adapter stopped answering after \"{}\"", shown(bytes)),
          "unplug it, plug it in again");
    }
  }
  return said;
}

}  // namespace isthmus::adapter
