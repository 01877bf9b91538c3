// SPDX-License-Identifier: Apache-2.0
// The program's end of USBTMC against the simulator's, packet by packet in memory. Both were
// written from the standard and docs/adapter.md and share no code; the adapter behind answers each
// line with itself, so that what must come back is known whatever the link does.
#include <gtest/gtest.h>

#include <functional>
#include <random>
#include <thread>

#include "adapter/usbtmc_stream.hpp"
#include "hostsim/usb/usbtmc_device.hpp"

namespace isthmus::adapter {
namespace {

enum class Fault {
  none,
  stall,      // the transfer is refused, the endpoint halted
  lost,       // away with no word of it
  failed,     // moved, and reported as failed
  cut,        // a part only, then a time-out
  truncated,  // to the host: a part only, reported as whole
  wrong_tag,
};
constexpr Fault kFaults[] = {Fault::stall, Fault::lost,      Fault::failed,
                             Fault::cut,   Fault::truncated, Fault::wrong_tag};

class LoopedPipe : public UsbPipe {
 public:
  std::function<Fault()> next_fault = [] { return Fault::none; };

  Moved bulk_out(std::span<const std::uint8_t> bytes, Deadline) override {
    const Fault fault = next_fault();
    halted_out_ |= fault == Fault::stall;
    if (halted_out_) return {0, PipeEnd::stalled};
    if (fault == Fault::lost) return {bytes.size(), PipeEnd::done};
    if (fault == Fault::cut) {
      const std::size_t some = bytes.size() > kPacket ? kPacket : 0;
      give(bytes.first(some));
      return {some, PipeEnd::timed_out};
    }
    std::vector<std::uint8_t> sent(bytes.begin(), bytes.end());
    if (fault == Fault::wrong_tag) sent[1] ^= 0x10;
    give(sent);
    if (halted_out_) return {0, PipeEnd::stalled};
    return {bytes.size(), fault == Fault::failed ? PipeEnd::failed : PipeEnd::done};
  }

  Moved bulk_in(std::span<std::uint8_t> room, Deadline deadline) override {
    if (halted_in_) return {0, PipeEnd::stalled};
    if (left_.empty()) {
      if (device_.take_stop()) device_.in_stopped();
      auto transfer = device_.begin_in();
      if (!transfer) {
        std::this_thread::sleep_until(deadline);
        return {0, PipeEnd::timed_out};
      }
      device_.in_done();
      left_ = std::move(*transfer);
      const Fault fault = next_fault();
      if (fault == Fault::stall) halted_in_ = true;
      if (fault == Fault::stall || fault == Fault::lost) left_.clear();
      if (fault == Fault::stall) return {0, PipeEnd::stalled};
      if (fault == Fault::lost) return {0, PipeEnd::timed_out};
      if (fault == Fault::failed) return move(room, left_.size(), PipeEnd::failed);
      if (fault == Fault::cut) return move(room, left_.size() / 2, PipeEnd::timed_out);
      if (fault == Fault::truncated) {
        left_.resize(left_.size() / 2);
      } else if (fault == Fault::wrong_tag && left_.size() > 1) {
        left_[1] ^= 0x10;
      }
    }
    return move(room, left_.size(), PipeEnd::done);
  }

  Moved control(const ControlRequest& r, std::span<std::uint8_t> answer, Deadline) override {
    const Fault fault = next_fault();
    if (fault == Fault::stall) return {0, PipeEnd::stalled};
    if (fault == Fault::lost) return {0, PipeEnd::timed_out};
    const bool interface = r.to == ControlRequest::To::interface;
    const std::uint16_t index = interface ? 0 : r.to == ControlRequest::To::bulk_in ? 0x82 : 0x01;
    const auto got = device_.control(
        {static_cast<std::uint8_t>(interface ? 0xA1 : 0xA2), r.request, r.value, index});
    respond();
    if (!got) return {0, PipeEnd::stalled};
    if (fault == Fault::failed) return {0, PipeEnd::failed};
    const std::size_t n = fault == Fault::truncated ? got->size() / 2 : got->size();
    std::copy_n(got->begin(), std::min(n, answer.size()), answer.begin());
    return {std::min(n, answer.size()), PipeEnd::done};
  }
  Moved interrupt_in(std::span<std::uint8_t>, Deadline) override { return {0, PipeEnd::stalled}; }
  [[nodiscard]] bool has_interrupt_in() const override { return false; }
  PipeEnd clear_halt_out() override {
    halted_out_ = false;
    return PipeEnd::done;
  }
  PipeEnd clear_halt_in() override {
    halted_in_ = false;
    return PipeEnd::done;
  }

 private:
  static constexpr std::size_t kPacket = 64;

  void give(std::span<const std::uint8_t> bytes) {
    for (std::size_t at = 0; at < bytes.size() && !halted_out_; at += kPacket)
      halted_out_ = !device_.packet(bytes.subspan(at, std::min(kPacket, bytes.size() - at)));
    respond();
  }
  void respond() {
    if (device_.take_cleared()) {
      line_.clear();
      left_.clear();
    }
    for (const char c : device_.take_input()) {
      line_ += c;
      if (c == '\n') device_.offer(std::exchange(line_, {}));
    }
  }
  Moved move(std::span<std::uint8_t> room, std::size_t most, PipeEnd end) {
    const std::size_t n = std::min({room.size(), most, left_.size()});
    std::copy_n(left_.begin(), n, room.begin());
    left_.erase(left_.begin(), left_.begin() + static_cast<std::ptrdiff_t>(n));
    return {n, end};
  }

  hostsim::UsbtmcDevice device_;
  std::string line_;
  std::vector<std::uint8_t> left_;  // of the transfer under way
  bool halted_out_{false}, halted_in_{false};
};

struct Talk {
  int answered{0};
  std::vector<std::string> strange;  // lines that nobody sent
  std::string problem;
};

std::string line_of(int i) {
  return std::to_string(i) + std::string(static_cast<std::size_t>(i * 9), 'x');
}

// Sends each line until it comes back, at most five times; other lines are late ones of before.
Talk talk(UsbtmcStream& stream, int lines) {
  Talk out;
  std::string pending;
  const auto in = [](int ms) { return Clock::now() + std::chrono::milliseconds(ms); };
  for (int i = 1; i <= lines; ++i) {
    bool came = false;
    for (int attempt = 0; attempt < 5 && !came; ++attempt) {
      pending.clear();
      // An LF first: what is left of a line that was cut off must not run into this one.
      if (auto put = stream.write((attempt ? "\n" : "") + line_of(i) + "\n", in(500)); !put) {
        out.problem = put.problem().code;
        return out;
      }
      for (const Deadline end = in(attempt ? 30 : 10); !came && Clock::now() < end;) {
        std::array<char, 512> room{};
        const auto got = stream.read(room, end);
        if (!got) {
          out.problem = got.problem().code;
          return out;
        }
        pending.append(room.data(), *got);
        for (auto lf = pending.find('\n'); lf != std::string::npos; lf = pending.find('\n')) {
          const std::string line = pending.substr(0, lf);
          pending.erase(0, lf + 1);
          came |= line == line_of(i);
          bool known = line.empty();
          for (int k = 1; k <= i; ++k) known |= line == line_of(k);
          if (!known) out.strange.push_back(line);
        }
      }
    }
    out.answered += came ? 1 : 0;
  }
  return out;
}

Result<std::unique_ptr<UsbtmcStream>> start(std::function<Fault()> faults) {
  auto pipe = std::make_unique<LoopedPipe>();
  LoopedPipe* const kept = pipe.get();
  auto out = UsbtmcStream::start(std::move(pipe), Clock::now() + std::chrono::seconds(5));
  kept->next_fault = std::move(faults);
  return out;
}

constexpr int kLines = 6;

TEST(UsbtmcEnds, UnderstandEachOther) {
  auto stream = start([] { return Fault::none; });
  ASSERT_TRUE(stream) << format(stream.problem());
  const Talk all = talk(**stream, 40);
  EXPECT_EQ(all.answered, 40);
  EXPECT_TRUE(all.strange.empty());
}

TEST(UsbtmcEnds, HealOneFaultAtEveryOperation) {
  int operations = 0;
  {
    auto stream = start([&] {
      ++operations;
      return Fault::none;
    });
    ASSERT_EQ(talk(**stream, kLines).answered, kLines);
  }
  ASSERT_GT(operations, 2 * kLines);
  for (const Fault fault : kFaults) {
    for (int at = 1; at <= operations; ++at) {
      int n = 0;
      auto stream = start([&] { return ++n == at ? fault : Fault::none; });
      const Talk all = talk(**stream, kLines);
      EXPECT_EQ(all.problem, "") << static_cast<int>(fault) << " at " << at;
      EXPECT_EQ(all.answered, kLines) << static_cast<int>(fault) << " at " << at;
    }
  }
}

TEST(UsbtmcEnds, NeverMakeUpALineUnderRandomFaults) {
  int answered = 0;
  for (unsigned seed = 1; seed <= 100; ++seed) {
    std::mt19937 random(seed);
    auto stream = start(
        [&] { return random() % 10 == 0 ? kFaults[random() % std::size(kFaults)] : Fault::none; });
    const Talk all = talk(**stream, kLines);
    const bool gave_up = all.problem == "ADP-013" || all.problem == "ADP-011";
    EXPECT_TRUE(all.problem.empty() || gave_up) << all.problem << ", seed " << seed;
    EXPECT_EQ(all.strange, std::vector<std::string>()) << "seed " << seed;
    answered += all.answered;
  }
  EXPECT_GT(answered, 50 * kLines);  // one operation in ten goes wrong: many runs give up
}

}  // namespace
}  // namespace isthmus::adapter
