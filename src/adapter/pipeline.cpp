// SPDX-License-Identifier: Apache-2.0
#include "adapter/pipeline.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "adapter/reply.hpp"
#include "adapter/transports.hpp"

namespace isthmus::adapter {
namespace {

constexpr double kBytesPerSecond = 10'000;
constexpr std::size_t kMostRequests = 128;  // in one message: what is lost with it stays little

void append(std::string& text, const std::string& unit) {
  if (!text.empty()) text += ';';
  text += unit;
}

std::string begin_step(const Request& request) {
  std::string text = fmt::format(":SYST:TAG {}", request.tag);
  if (request.reference) append(text, fmt::format(":ROUT:REF {}", request.reference));
  return text;
}

Expected level(double value) { return {Expected::Kind::level, 0, value}; }

}  // namespace

Seconds time_for(const Request& request, const Capabilities& capabilities) {
  double s = 0.005 + 4 * (capabilities.settle_s + 2 * capabilities.convert_s);
  // 1 nF, twenty time constants, but never as long as a person would wait for one reading.
  if (request.what == Measure::isolation) s += std::min(2.0, 0.1 + 20e-9 * request.at_least.value);
  return Seconds{s};
}

// Two messages must fit the buffer together, each with its LF.
std::size_t Pipeline::most() const { return setup_.capabilities.buffer / 2 - 1; }

void Pipeline::write_levels(const Request& request, std::string& text, Message& into) {
  if (setup_.amperes && levels_.amperes != setup_.amperes) {
    append(text, ":SOUR:CURR " + number_text(*setup_.amperes) + ";:SOUR:CURR?");
    into.expected.push_back(level(*setup_.amperes));
    levels_.amperes = setup_.amperes;
  }
  if (request.what == Measure::isolation && levels_.volts != request.volts.value) {
    append(text, ":SOUR:VOLT " + number_text(request.volts.value) + ";:SOUR:VOLT?");
    into.expected.push_back(level(request.volts.value));
    levels_.volts = request.volts.value;
  }
}

// A request whose switches do not fit one message goes in several; each asks *OPC?, so that none is
// lost unseen.
void Pipeline::write_long(const Request& request) {
  Message first{};
  std::string text;
  write_levels(request, text, first);
  append(text, begin_step(request));
  first.expected.push_back({Expected::Kind::done, 0, 0});
  first.text = text + ";*OPC?";
  unsent_.push_back(std::move(first));
  for (const std::string& list : command_lists(request.closed, most() - 40)) {
    unsent_.push_back({":ROUT:CLOS " + list + ";*OPC?", {{Expected::Kind::done, 0, 0}}, {}, {}});
  }
  unsent_.push_back({measure_query(request),
                     {{Expected::Kind::request, next_, 0}},
                     time_for(request, setup_.capabilities),
                     {}});
  ++next_;
}

void Pipeline::write_next(std::span<const Request> requests) {
  Message message{};
  while (next_ < requests.size() && message.expected.size() < kMostRequests) {
    const Request& request = requests[next_];
    const Levels before = levels_;
    Message grown = message;
    write_levels(request, grown.text, grown);
    append(grown.text, begin_step(request));
    const auto lists = command_lists(request.closed, SIZE_MAX);
    if (!lists.empty()) append(grown.text, ":ROUT:CLOS " + lists.front());
    append(grown.text, measure_query(request));
    if (grown.text.size() > most()) {
      levels_ = before;
      if (message.text.empty()) return write_long(request);
      break;
    }
    grown.expected.push_back({Expected::Kind::request, next_, 0});
    grown.busy += time_for(request, setup_.capabilities);
    message = std::move(grown);
    ++next_;
  }
  unsent_.push_back(std::move(message));
}

Result<Done> Pipeline::fill(std::span<const Request> requests) {
  while (flight_.size() < 2) {
    if (unsent_.empty() && next_ < requests.size()) write_next(requests);
    if (unsent_.empty()) break;
    Message message = std::move(unsent_.front());
    unsent_.pop_front();
    const double bytes = static_cast<double>(message.text.size()) * 2;
    message.busy += Seconds{bytes / kBytesPerSecond};
    const Deadline from = flight_.empty() ? Clock::now() : flight_.back().deadline;
    message.deadline =
        from + std::chrono::ceil<Clock::duration>(message.busy) +
        (flight_.empty() ? std::chrono::ceil<Clock::duration>(kGrace) : Clock::duration{});
    if (auto sent = lines_.send(message.text); !sent) return sent.problem();
    flight_.push_back(std::move(message));
  }
  return Done{};
}

std::string Pipeline::judge(const Piece& piece, std::span<const Request> requests,
                            const Arrived& arrived) {
  const Message& message = flight_.front();
  const Expected& expected = message.expected[position_];
  const bool last = position_ + 1 == message.expected.size();
  if (piece.end != (last ? '\n' : ';')) return "the number of answers is not that of the queries";
  switch (expected.kind) {
    case Expected::Kind::done:
      if (piece.text != "1") return "*OPC? was answered \"" + shown(piece.text) + "\"";
      break;
    case Expected::Kind::level: {
      // A source sets its level in steps of its own, but not far from what was asked.
      const auto said = parse_number(piece.text);
      if (!said || std::fabs(*said - expected.level) > 0.03 * expected.level) {
        return fmt::format("a source level of {:G} was answered \"{}\"", expected.level,
                           shown(piece.text));
      }
      break;
    }
    case Expected::Kind::request: {
      const Judged judged = judge_answer(piece.text, requests[expected.index]);
      if (!judged.answer) return judged.wrong + " (\"" + shown(piece.text) + "\")";
      ENSURE(expected.index == accepted_);
      ++accepted_;
      arrived(expected.index, *judged.answer);
      break;
    }
  }
  ++position_;
  if (last) {
    flight_.pop_front();
    position_ = 0;
  }
  return "";
}

Result<std::string> Pipeline::run(std::span<const Request> requests, const Arrived& arrived) {
  for (;;) {
    if (auto filled = fill(requests); !filled) return filled.problem();
    if (flight_.empty()) return std::string();
    auto piece = lines_.next_piece(flight_.front().deadline);
    if (!piece) return piece.problem();
    if (!piece.value()) return std::string("no answer came in time");
    std::string wrong = judge(*piece.value(), requests, arrived);
    if (!wrong.empty()) return wrong;
  }
}

Result<Done> Pipeline::carry_out(std::span<const Request> requests, const Arrived& arrived) {
  lines_.forget_pending();
  int failures = 0;
  for (std::size_t before = 0;; before = accepted_) {
    auto wrong = run(requests, arrived);
    if (!wrong) {
      levels_.forget();
      return wrong.problem();
    }
    if (wrong.value().empty()) return Done{};
    if (accepted_ > before) failures = 0;
    ++failures;
    Seconds busy{};
    for (const Message& m : flight_) busy += m.busy;
    flight_.clear();
    unsent_.clear();
    position_ = 0;
    next_ = accepted_;
    levels_.forget();
    if (auto again = lines_.resynchronise(busy); !again) return again.problem();
    if (failures < kTries) continue;
    return link_problem(
        "ADP-025",
        fmt::format("step {} got no acceptable answer in {} tries: {}", requests[accepted_].tag,
                    kTries, wrong.value()),
        "ISTHMUS_TRACE=FILE shows every byte; a poor cable or hub is the usual cause");
  }
}

}  // namespace isthmus::adapter
