// SPDX-License-Identifier: Apache-2.0
#include "adapter/usbtmc_stream.hpp"

#include <algorithm>
#include <array>
#include <thread>

#include "adapter/transports.hpp"

namespace isthmus::adapter {
namespace {

using std::chrono::milliseconds;
using To = ControlRequest::To;

constexpr std::size_t kMostOut = 4096;  // payload of one transfer
// One answer with its header and alignment fits 16 KiB; a packet's room more tells a transfer that
// does not end where it should.
constexpr std::uint32_t kMostIn = 16384 - 16;
constexpr std::size_t kRoom = 16384 + 1024;
constexpr int kMostTroubles = 3;
constexpr std::uint8_t kMessageAvailable = 0x10;  // MAV (IEEE 488.2, 11.2.1.2)

Deadline within(milliseconds wait, Deadline deadline) {
  return std::min(deadline, Clock::now() + wait);
}

void pause(milliseconds wait, Deadline deadline) {
  std::this_thread::sleep_until(within(wait, deadline));
}

Problem breaks_rules(const std::string& what) {
  return link_problem("ADP-013", "the adapter does not keep to USBTMC: " + what,
                      "a poor cable or hub is the usual cause, else its firmware");
}

}  // namespace

UsbtmcStream::UsbtmcStream(std::unique_ptr<UsbPipe> pipe) : pipe_(std::move(pipe)), room_(kRoom) {}

Result<std::unique_ptr<UsbtmcStream>> UsbtmcStream::start(std::unique_ptr<UsbPipe> pipe,
                                                          Deadline deadline) {
  std::unique_ptr<UsbtmcStream> out(new UsbtmcStream(std::move(pipe)));
  std::array<std::uint8_t, 24> answer{};
  const Moved got =
      out->pipe_->control({To::interface, usbtmc::kGetCapabilities, 0}, answer, deadline);
  if (got.end == PipeEnd::gone) return link_gone("it was unplugged");
  const auto known = usbtmc::capabilities(std::span(answer).first(got.bytes));
  if (!known) return breaks_rules("it does not tell its capabilities");
  if (known->listen_only || known->talk_only) return breaks_rules("it only listens, or only talks");
  out->interface_ = *known;
  // What an earlier program left in it must not be taken for an answer.
  out->must_clear_ = true;
  for (;;) {
    auto cleared = out->make_ready(deadline);
    if (!cleared) return cleared.problem();
    if (*cleared == Step::done) return out;
    if (Clock::now() >= deadline) return breaks_rules("it is not clear in time");
  }
}

// Notes that the exchange went wrong; the interface is cleared before it is used again.
Result<Done> UsbtmcStream::trouble(const std::string& what) {
  must_clear_ = true;
  asked_ = half_sent_ = false;
  came_ = 0;
  if (++troubles_ > kMostTroubles) return breaks_rules(what);
  return Done{};
}

// Gone is a Problem, stalled and failed are trouble.
Result<Done> UsbtmcStream::expect_done(const Moved& moved, const std::string& what) {
  switch (moved.end) {
    case PipeEnd::gone:
      return link_gone("it was unplugged");
    case PipeEnd::stalled:
      return trouble(what + " was refused (halted)");
    case PipeEnd::failed:
      return trouble(what + " failed on the wire");
    case PipeEnd::timed_out:
    case PipeEnd::done:
      break;
  }
  return Done{};
}

// The USBTMC_status of the answer; nothing when none came in time or the request itself failed.
Result<std::optional<std::uint8_t>> UsbtmcStream::ask(const ControlRequest& request,
                                                      std::span<std::uint8_t> answer,
                                                      const std::string& name, Deadline deadline) {
  const Moved got = pipe_->control(request, answer, deadline);
  if (auto fine = expect_done(got, name); !fine) return fine.problem();
  if (got.end != PipeEnd::done) return std::optional<std::uint8_t>();
  if (got.bytes == answer.size()) return std::optional(answer[0]);
  if (auto noted = trouble(name + " was answered short"); !noted) return noted.problem();
  return std::optional<std::uint8_t>();
}

Result<UsbtmcStream::Step> UsbtmcStream::make_ready(Deadline deadline) {
  if (half_sent_ && !must_clear_) {
    auto aborted = abort_out(deadline);
    if (!aborted) return aborted;
  }
  if (must_clear_) return clear(deadline);
  return half_sent_ ? Step::later : Step::done;
}

// Reads away what is still coming; up to a short packet, or 100 ms.
Result<UsbtmcStream::Step> UsbtmcStream::drain_in(Deadline deadline) {
  const Moved got =
      pipe_->bulk_in(std::span(room_).subspan(came_), within(milliseconds(100), deadline));
  if (got.end == PipeEnd::gone) return link_gone("it was unplugged");
  in_halted_ |= got.end == PipeEnd::stalled;
  came_ += got.bytes;
  return got.end == PipeEnd::done ? Step::done : Step::later;
}

// INITIATE_CLEAR, CHECK_CLEAR_STATUS until it is done, then the halt of Bulk-OUT
// (4.2.1.6, 4.2.1.7).
Result<UsbtmcStream::Step> UsbtmcStream::clear(Deadline deadline) {
  asked_ = half_sent_ = false;
  std::array<std::uint8_t, 1> initiated{};
  auto status =
      ask({To::interface, usbtmc::kInitiateClear, 0}, initiated, "INITIATE_CLEAR", deadline);
  if (!status) return status.problem();
  while (*status && **status != usbtmc::kFailed) {
    std::array<std::uint8_t, 2> checked{};
    status =
        ask({To::interface, usbtmc::kCheckClearStatus, 0}, checked, "CHECK_CLEAR_STATUS", deadline);
    if (!status) return status.problem();
    if (!*status || **status != usbtmc::kPending) break;
    if (checked[1] & 1) {  // Bulk-IN holds something
      came_ = 0;
      if (auto drained = drain_in(deadline); !drained) return drained;
    } else {
      pause(milliseconds(2), deadline);
    }
    if (Clock::now() >= deadline) return Step::later;
  }
  came_ = 0;
  if (!*status) return Step::later;
  if (**status != usbtmc::kSuccess) {
    if (auto noted = trouble("it cannot be cleared"); !noted) return noted.problem();
    return Step::later;
  }
  if (auto fine = expect_done({0, pipe_->clear_halt_out()}, "CLEAR_FEATURE"); !fine)
    return fine.problem();
  if (in_halted_) {
    if (auto fine = expect_done({0, pipe_->clear_halt_in()}, "CLEAR_FEATURE"); !fine)
      return fine.problem();
  }
  in_halted_ = must_clear_ = false;
  return Step::done;
}

// Takes back the request that is with the adapter (4.2.1.4, 4.2.1.5). An answer that came whole
// before the adapter heard of it is kept.
Result<UsbtmcStream::Step> UsbtmcStream::abort_in(Deadline deadline) {
  std::array<std::uint8_t, 2> initiated{};
  auto status = ask({To::bulk_in, usbtmc::kInitiateAbortBulkIn, asked_tag_}, initiated,
                    "INITIATE_ABORT_BULK_IN", deadline);
  if (!status) return status.problem();
  if (!*status) return Step::later;
  if (**status == usbtmc::kFailed) {  // nothing under way, nothing in its FIFO
    asked_ = false;
    came_ = 0;
    return Step::done;
  }
  bool whole = false;
  while (**status == usbtmc::kSuccess || **status == usbtmc::kPending) {
    if (!whole) {
      auto drained = drain_in(deadline);
      if (!drained) return drained;
      whole = *drained == Step::done;  // else its status tells whether more will come
    }
    std::array<std::uint8_t, 8> checked{};
    status = ask({To::bulk_in, usbtmc::kCheckAbortBulkInStatus, 0}, checked,
                 "CHECK_ABORT_BULK_IN_STATUS", deadline);
    if (!status) return status.problem();
    if (!*status) return Step::later;
    if (**status == usbtmc::kSuccess) {
      const auto in =
          usbtmc::message_in(std::span(room_).first(whole ? came_ : 0), asked_tag_, kMostIn);
      if (in.wrong.empty()) ready_.append(in.payload.begin(), in.payload.end());
      asked_ = false;
      came_ = 0;
      return Step::done;
    }
    if (Clock::now() >= deadline) return Step::later;
    if (checked[1] & 1)
      whole = false;
    else
      pause(milliseconds(2), deadline);
  }
  if (auto noted = trouble("it cannot take back a request"); !noted) return noted.problem();
  return Step::later;
}

// Takes back the transfer that the last write could not finish (4.2.1.2, 4.2.1.3).
Result<UsbtmcStream::Step> UsbtmcStream::abort_out(Deadline deadline) {
  std::array<std::uint8_t, 2> initiated{};
  auto status = ask({To::bulk_out, usbtmc::kInitiateAbortBulkOut, tag_}, initiated,
                    "INITIATE_ABORT_BULK_OUT", deadline);
  if (!status) return status.problem();
  while (*status && (**status == usbtmc::kSuccess || **status == usbtmc::kPending)) {
    std::array<std::uint8_t, 8> checked{};
    status = ask({To::bulk_out, usbtmc::kCheckAbortBulkOutStatus, 0}, checked,
                 "CHECK_ABORT_BULK_OUT_STATUS", deadline);
    if (!status) return status.problem();
    if (!*status) return Step::later;
    if (**status == usbtmc::kSuccess) {
      if (auto fine = expect_done({0, pipe_->clear_halt_out()}, "CLEAR_FEATURE"); !fine)
        return fine.problem();
      half_sent_ = false;
      return Step::done;
    }
    if (Clock::now() >= deadline) return Step::later;
    pause(milliseconds(2), deadline);
  }
  if (!*status) return Step::later;
  if (**status == usbtmc::kFailed) {  // nothing under way, nothing in its FIFO
    half_sent_ = false;
    return Step::done;
  }
  if (auto noted = trouble("it cannot take back a transfer"); !noted) return noted.problem();
  return Step::later;
}

Result<std::optional<std::uint8_t>> UsbtmcStream::status_byte(Deadline deadline) {
  using Answer = std::optional<std::uint8_t>;
  ENSURE(interface_.usb488);
  status_tag_ = usbtmc::next_status_tag(status_tag_);
  std::array<std::uint8_t, 3> answer{};
  auto status = ask({To::interface, usbtmc::kReadStatusByte, status_tag_}, answer,
                    "READ_STATUS_BYTE", deadline);
  if (!status) return status.problem();
  if (!*status || **status != usbtmc::kSuccess || answer[1] != status_tag_) return Answer();
  if (!pipe_->has_interrupt_in()) return Answer(answer[2]);
  // The byte itself comes by the interrupt endpoint, behind whatever was told there unasked.
  while (Clock::now() < deadline) {
    std::array<std::uint8_t, 2> notice{};
    const Moved got = pipe_->interrupt_in(notice, deadline);
    if (auto fine = expect_done(got, "the interrupt endpoint"); !fine) return fine.problem();
    if (got.end != PipeEnd::done) break;
    if (got.bytes == 2 && notice[0] == (0x80 | status_tag_)) return Answer(notice[1]);
  }
  return Answer();
}

// Of an interface that keeps to IEEE 488.2 nothing may be asked before it has something to say
// (6.3.1.7: UNTERMINATED); others let a request wait.
Result<UsbtmcStream::Step> UsbtmcStream::message_available(Deadline deadline) {
  if (!interface_.strict) return Step::done;
  for (;;) {
    auto status = status_byte(deadline);
    if (!status) return status.problem();
    if (must_clear_) return Step::later;
    if (*status && (**status & kMessageAvailable)) return Step::done;
    if (Clock::now() >= deadline) return Step::later;
    pause(milliseconds(1), deadline);
  }
}

Result<UsbtmcStream::Step> UsbtmcStream::ask_for_answer(Deadline deadline) {
  auto available = message_available(deadline);
  if (!available || *available == Step::later) return available;
  tag_ = usbtmc::next_tag(tag_);
  const auto request = usbtmc::request_in(tag_, kMostIn);
  const Moved sent = pipe_->bulk_out(request, deadline);
  if (auto fine = expect_done(sent, "a request"); !fine) return fine.problem();
  if (sent.end != PipeEnd::done) {
    half_sent_ = !must_clear_ && sent.bytes > 0;
    return Step::later;
  }
  asked_ = true;
  asked_tag_ = tag_;
  came_ = 0;
  return Step::done;
}

Result<UsbtmcStream::Step> UsbtmcStream::take_answer(Deadline deadline) {
  const Moved got = pipe_->bulk_in(std::span(room_).subspan(came_), deadline);
  came_ += got.bytes;
  in_halted_ |= got.end == PipeEnd::stalled;
  if (auto fine = expect_done(got, "an answer"); !fine) return fine.problem();
  if (got.end != PipeEnd::done) return Step::later;
  const auto in = usbtmc::message_in(std::span(room_).first(came_), asked_tag_, kMostIn);
  if (!in.wrong.empty()) {
    if (auto noted = trouble(in.wrong); !noted) return noted.problem();
    return Step::later;
  }
  asked_ = false;
  came_ = 0;
  troubles_ = 0;
  if (in.payload.empty()) pause(milliseconds(1), deadline);  // it has nothing to say yet
  ready_.append(in.payload.begin(), in.payload.end());
  return Step::done;
}

Result<std::size_t> UsbtmcStream::read(std::span<char> into, Deadline deadline) {
  ENSURE(!into.empty());
  while (ready_.empty()) {
    auto step = make_ready(deadline);
    if (step && *step == Step::done && !asked_) step = ask_for_answer(deadline);
    if (step && *step == Step::done) step = take_answer(deadline);
    if (!step) return step.problem();
    if (ready_.empty() && Clock::now() >= deadline) return std::size_t{0};
  }
  const std::size_t n = std::min(into.size(), ready_.size());
  std::copy_n(ready_.begin(), n, into.begin());
  ready_.erase(0, n);
  return n;
}

Result<UsbtmcStream::Step> UsbtmcStream::send_transfer(std::span<const char> payload, bool last,
                                                       Deadline deadline) {
  tag_ = usbtmc::next_tag(tag_);
  const auto transfer = usbtmc::message_out(tag_, payload, last);
  const Moved sent = pipe_->bulk_out(transfer, deadline);
  if (auto fine = expect_done(sent, "a message"); !fine) return fine.problem();
  if (sent.end == PipeEnd::done) return Step::done;
  half_sent_ = !must_clear_ && sent.bytes > 0;
  return Step::later;
}

Result<Done> UsbtmcStream::write(std::span<const char> bytes, Deadline deadline) {
  for (std::size_t at = 0; at < bytes.size();) {
    auto step = make_ready(deadline);
    if (step && *step == Step::done && asked_) step = abort_in(deadline);
    if (step && *step == Step::done) {
      const std::size_t n = std::min(kMostOut, bytes.size() - at);
      const bool last = at + n == bytes.size() && bytes.back() == '\n';
      step = send_transfer(bytes.subspan(at, n), last, deadline);
      if (step && *step == Step::done) at += n;
    }
    if (!step) return step.problem();
    if (at < bytes.size() && *step == Step::later) {
      if (Clock::now() >= deadline) return write_timed_out();
      if (must_clear_) at = 0;  // a clear forgets what was sent of this message
    }
  }
  return Done{};
}

}  // namespace isthmus::adapter
