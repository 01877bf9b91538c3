// SPDX-License-Identifier: Apache-2.0
// What a person with a needle sees, and what they answer: values; words are made where they are
// shown.
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "isthmus/diagnose/diagnosis.hpp"
#include "isthmus/plan/hand.hpp"

namespace isthmus::session {

namespace event {

struct Start {
  std::string board, stage;
  int channels{};
  std::vector<plan::Needle> needles;
  std::size_t touches{};
  double minutes_low{}, minutes_high{};
};
struct Air {};  // all tips and clips hang apart: answered by `done`
struct Clips {
  std::size_t round{}, of{};  // from 1
  std::vector<plan::HandClip> clips;
  std::vector<plan::Channel> remove;
};
struct Touch {
  std::size_t touch{}, left{};
  std::size_t needle{};
  plan::Needle tips;
  PointId point{};
  Side side{};
  Position at;
  bool again{};
  std::string why;  // empty: planned
  bool turn_over{};
  bool noticed{true};  // false: nothing tells that it stands until the next one lands beside it
  double likelihood{};
  std::optional<std::pair<std::size_t, PointId>> beside;  // the other needle stays there
};
struct Lift {
  std::size_t needle{};
};
struct Landed {
  std::size_t touch{};
};
struct Read {
  std::size_t touch{};
  std::optional<Ohms> ohms, predicted;
  std::string isolation;  // "good", "conducts", "not-read"
  std::size_t against{};
};
struct Booked {
  std::size_t touch{};
  std::string result;  // "good", "fault", "high-resistance"
};
struct Wrong {
  std::size_t touch{};
  PointId wanted{};
  std::vector<PointId> heard;
};
struct Lost {
  std::size_t touch{};
};
struct Clip {
  plan::Channel channel{};
  PointId point{};
  std::string what;  // "proven", "lost", "exchanged"
  std::optional<plan::Channel> with;
};
struct Finding {
  diagnose::Finding finding;
};
struct Coverage {
  double likelihood{};
  std::size_t done{}, left{};
  double minutes_low{}, minutes_high{};
};
struct Note {
  std::string what;  // "pause", "resume", "undone", "skipped", "rest"
  std::size_t touch{};
  std::string why;
};
// A finding that was told is none any longer: it read well since, or was mended.
struct Withdrawn {
  diagnose::Finding finding;
};
// Everything is read, and there are findings: mend one now (`mended`), or end (`done`).
struct Offer {
  std::size_t findings{};
};
struct End {
  diagnose::Verdict verdict{};
};

}  // namespace event

struct Event {
  std::uint32_t n{};  // from 1
  std::variant<event::Start, event::Air, event::Clips, event::Touch, event::Lift, event::Landed,
               event::Read, event::Booked, event::Wrong, event::Lost, event::Clip, event::Finding,
               event::Coverage, event::Note, event::Withdrawn, event::Offer, event::End>
      what;
};

// What the person answered.
struct Answer {
  enum class Kind { done, again, skip, cannot_reach, undo, pause, resume, mended, quit };
  Kind kind{};
  std::string why;  // of skip; of mended: the finding's number, from 1 in the order they were told
                    // (none: all of them)
};
// "done", "again", "skip WHY", "cannot-reach", "mended 2", ...; nothing for other words.
std::optional<Answer> parse_answer(std::string_view text);

}  // namespace isthmus::session
