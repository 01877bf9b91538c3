// SPDX-License-Identifier: Apache-2.0
// Every byte both ways as text: one line a call, ">" to the adapter, "<" from it, seconds in front.
#include <fmt/format.h>

#include <fstream>

#include "adapter/transports.hpp"

namespace isthmus::adapter {
namespace {

std::string escaped(std::span<const char> bytes) {
  std::string out;
  for (const char c : bytes) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '\n')
      out += "\\n";
    else if (c == '\\')
      out += "\\\\";
    else if (byte >= 0x20 && byte < 0x7f)
      out += c;
    else
      out += fmt::format("\\x{:02x}", byte);
  }
  return out;
}

class TracedStream : public ByteStream {
 public:
  TracedStream(std::unique_ptr<ByteStream> stream, const std::string& path)
      : stream_(std::move(stream)), path_(path), file_(path, std::ios::binary | std::ios::app) {}

  Result<std::size_t> read(std::span<char> into, Deadline deadline) override {
    if (!file_) return no_trace();
    auto got = stream_->read(into, deadline);
    if (!got)
      note('!', got.problem().message);
    else if (got.value() == 0)
      note('<', "(nothing in time)");
    else
      note('<', escaped(into.first(got.value())));
    return got;
  }

  Result<Done> write(std::span<const char> bytes, Deadline deadline) override {
    if (!file_) return no_trace();
    note('>', escaped(bytes));
    auto put = stream_->write(bytes, deadline);
    if (!put) note('!', put.problem().message);
    return put;
  }

 private:
  void note(char direction, const std::string& text) {
    const std::chrono::duration<double> since = Clock::now() - opened_;
    file_ << fmt::format("{:10.6f} {} {}\n", since.count(), direction, text) << std::flush;
  }
  [[nodiscard]] Problem no_trace() const {
    Problem p = link_problem("ADP-012", "cannot write the trace",
                             "name another file, or take ISTHMUS_TRACE out of the environment");
    p.file = path_;
    return p;
  }

  std::unique_ptr<ByteStream> stream_;
  std::string path_;
  std::ofstream file_;
  Deadline opened_{Clock::now()};
};

}  // namespace

std::unique_ptr<ByteStream> traced(std::unique_ptr<ByteStream> stream, const std::string& path) {
  return std::make_unique<TracedStream>(std::move(stream), path);
}

}  // namespace isthmus::adapter
