// SPDX-License-Identifier: Apache-2.0
// Messages of any kind to an adapter that may be wrong, and all that comes back for each. Apart
// from Lines, which the program trusts its readings to: here nothing is repaired or thrown away
// unseen.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "adapter/lines.hpp"

namespace isthmus::adapter {

struct Said {
  std::vector<std::string> lines;   // without LF, with whatever stands before it
  std::vector<std::string> errors;  // the queue's entries, oldest first
};

class Conversation {
 public:
  explicit Conversation(std::unique_ptr<ByteStream> stream) : stream_(std::move(stream)) {}

  // LF, silence, *CLS, an echo: false when none comes (stopped() says why).
  bool open();

  // All that is answered to these bytes (whole messages, with their LF), told by an echo sent
  // behind them; then the error queue, emptied. `busy`: what the adapter may need beyond the page's
  // 2 s. `alone`: nothing is sent behind them before they are answered or 50 ms have passed in
  // silence.
  Said say(std::string_view bytes, Seconds busy = Seconds{0}, bool alone = false);

  // The same, and leaves the error queue alone.
  Said tell(std::string_view bytes, Seconds busy = Seconds{0}, bool alone = false);

  // From now on nothing is sent behind a message before it is answered: for adapters that cannot
  // take that, so that the rest of them can be tried.
  void be_patient() { patient_ = true; }

  // Why nothing more is said; then say() gives nothing.
  [[nodiscard]] const std::optional<Problem>& stopped() const { return stopped_; }
  void stop(Problem why) { stopped_ = std::move(why); }

 private:
  void send(std::string_view bytes);
  std::optional<std::string> line(Deadline deadline);
  void silence();
  bool echo(Seconds busy, std::vector<std::string>& before);
  std::vector<std::string> errors();

  std::unique_ptr<ByteStream> stream_;
  std::string pending_;
  std::optional<Problem> stopped_;
  unsigned number_{0};
  bool patient_{false};
};

}  // namespace isthmus::adapter
