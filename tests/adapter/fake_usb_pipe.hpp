// SPDX-License-Identifier: Apache-2.0
// A USBTMC interface that answers from lists, and notes what it was sent.
#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <deque>
#include <map>
#include <string>
#include <thread>
#include <vector>

#include "adapter/usb_pipe.hpp"

namespace isthmus::adapter {

using Bytes = std::vector<std::uint8_t>;

struct UsbLog {
  std::vector<Bytes> out;            // Bulk-OUT transfers
  std::vector<std::string> control;  // "A1 05 0000": bmRequestType, bRequest, wValue; "halt out"
};

class FakeUsbPipe : public UsbPipe {
 public:
  struct In {
    Bytes bytes;
    PipeEnd end{PipeEnd::done};
  };
  struct Out {
    std::size_t taken{};
    PipeEnd end{PipeEnd::done};
  };

  explicit FakeUsbPipe(UsbLog& log) : log_(log) {}

  std::deque<In> in;                      // nothing: waits for the deadline
  std::deque<In> interrupt;               // as `in`
  std::deque<Out> out;                    // nothing: takes all
  std::map<int, std::deque<In>> answers;  // to a bRequest; nothing: success
  bool has_interrupt{false};

  Moved bulk_out(std::span<const std::uint8_t> bytes, Deadline) override {
    log_.out.emplace_back(bytes.begin(), bytes.end());
    if (out.empty()) return {bytes.size(), PipeEnd::done};
    const Out how = out.front();
    out.pop_front();
    return {how.end == PipeEnd::done ? bytes.size() : how.taken, how.end};
  }
  Moved bulk_in(std::span<std::uint8_t> room, Deadline deadline) override {
    return next(in, room, deadline);
  }
  Moved control(const ControlRequest& r, std::span<std::uint8_t> answer, Deadline d) override {
    const int type = r.to == ControlRequest::To::interface ? 0xA1 : 0xA2;
    const char* to = r.to == ControlRequest::To::bulk_in    ? " in"
                     : r.to == ControlRequest::To::bulk_out ? " out"
                                                            : "";
    log_.control.push_back(fmt::format("{:02X} {:02X} {:04X}{}", type, r.request, r.value, to));
    auto& list = answers[r.request];
    if (!list.empty()) return next(list, answer, d);
    std::ranges::fill(answer, std::uint8_t{0});
    answer[0] = 1;
    return {answer.size(), PipeEnd::done};
  }
  Moved interrupt_in(std::span<std::uint8_t> room, Deadline deadline) override {
    return next(interrupt, room, deadline);
  }
  [[nodiscard]] bool has_interrupt_in() const override { return has_interrupt; }
  PipeEnd clear_halt_out() override {
    log_.control.push_back("clear halt out");
    return PipeEnd::done;
  }
  PipeEnd clear_halt_in() override {
    log_.control.push_back("clear halt in");
    return PipeEnd::done;
  }

 private:
  static Moved next(std::deque<In>& list, std::span<std::uint8_t> room, Deadline deadline) {
    if (list.empty()) {
      std::this_thread::sleep_until(deadline);
      return {0, PipeEnd::timed_out};
    }
    const In one = list.front();
    list.pop_front();
    const std::size_t n = std::min(room.size(), one.bytes.size());
    std::copy_n(one.bytes.begin(), n, room.begin());
    return {n, one.end};
  }

  UsbLog& log_;
};

}  // namespace isthmus::adapter
