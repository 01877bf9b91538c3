// SPDX-License-Identifier: Apache-2.0
// Requests as program messages: packed to the adapter's buffer, two on the way at a time, every
// answer checked before it is delivered.
#pragma once

#include <deque>
#include <functional>
#include <span>

#include "adapter/lines.hpp"
#include "isthmus/adapter/instrument.hpp"

namespace isthmus::adapter {

// What is known of the adapter's levels; nothing once a message may have been lost.
struct Levels {
  std::optional<double> volts, amperes;
  void forget() { *this = {}; }
};

// What one query of a message must answer.
struct Expected {
  enum class Kind { request, level, done } kind{Kind::request};
  std::size_t index{};  // request
  double level{};       // level
};

struct Message {
  std::string text;
  std::vector<Expected> expected;  // never empty: a message without an answer could be lost unseen
  Seconds busy{};                  // what the adapter needs for it
  Deadline deadline{};
};

class Pipeline {
 public:
  using Arrived = std::function<void(std::size_t, const Answer&)>;
  struct Setup {
    const Capabilities& capabilities;
    std::optional<double> amperes;  // the current to measure with; nothing: the adapter's own
  };

  Pipeline(Lines& lines, Levels& levels, const Setup& setup)
      : lines_(lines), levels_(levels), setup_(setup) {}

  Result<Done> carry_out(std::span<const Request> requests, const Arrived& arrived);

 private:
  // Sends and reads until all is delivered or something is wrong: then in words what.
  Result<std::string> run(std::span<const Request> requests, const Arrived& arrived);
  Result<Done> fill(std::span<const Request> requests);
  std::string judge(const Piece& piece, std::span<const Request> requests, const Arrived& arrived);
  void write_next(std::span<const Request> requests);
  void write_levels(const Request& request, std::string& text, Message& into);
  void write_long(const Request& request);
  [[nodiscard]] std::size_t most() const;

  Lines& lines_;
  Levels& levels_;
  Setup setup_;
  std::deque<Message> unsent_, flight_;
  std::size_t next_{0};      // first request not yet written
  std::size_t accepted_{0};  // requests delivered
  std::size_t position_{0};  // answers accepted of the message in front
};

// What the adapter needs for this request, generously.
Seconds time_for(const Request& request, const Capabilities& capabilities);

}  // namespace isthmus::adapter
