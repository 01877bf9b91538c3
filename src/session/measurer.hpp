// SPDX-License-Identifier: Apache-2.0
// Steps in, journalled readings out.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <span>

#include "isthmus/adapter/instrument.hpp"
#include "isthmus/plan/plan.hpp"
#include "isthmus/plan/reading.hpp"
#include "session/requests.hpp"

namespace isthmus::session {

// Where readings are written down before they count.
class Journal {
 public:
  virtual ~Journal() = default;
  virtual Result<Done> write(const plan::Reading& reading) = 0;
};

// A tip was heard to touch, or no longer to.
struct ContactEvent {
  std::size_t placement{};
  plan::Channel channel{};
  bool touches{};
  bool operator==(const ContactEvent&) const = default;
};

// Why nothing more is measured: the first failure of the link, and the first reason of any other
// kind.
struct Ending {
  std::optional<Problem> link_failure, stopped;
  void note(Problem why);  // by its cause
  [[nodiscard]] bool any() const { return link_failure || stopped; }
};

// Changes a reading before it is written. A Problem ends the measuring.
using Correction = std::function<Result<Done>(const plan::Step&, plan::Reading&)>;

struct MeasurerSetup {
  int wires{2};
  Journal* journal{};  // none: nothing is kept
  std::uint32_t first_sequence{};
  std::function<bool()> interrupted;
  Correction correct;
  std::function<void(const ContactEvent&)> contact;  // where it changes, in order of reading
};

// Carries steps out on an instrument. What a reading says of a board, and what to measure next, is
// for others.
//
// Shape   one reading a step, in order, numbered from first_sequence; each is written to the
//         journal before it is handed on. Steps may repeat.
// Errors  gathered in ending(); once there is one no further batch is begun. SES-008 where
//         `interrupted` says so, looked at between batches of half a second at most.
class Measurer {
 public:
  // A Problem ends the measuring, with the batch that is on its way.
  using Arrived = std::function<Result<Done>(const plan::Step&, const plan::Reading&)>;

  Measurer(adapter::Instrument& instrument, MeasurerSetup setup)
      : instrument_(instrument), setup_(std::move(setup)), sequence_(setup_.first_sequence) {}

  // No step is sent past a board voltage that was not handed on yet.
  void measure(std::span<const plan::Step> steps, const Arrived& arrived);

  void end(Problem why) { ending_.note(std::move(why)); }
  void keep(const Result<Done>& done) {
    if (!done) end(done.problem());
  }
  [[nodiscard]] bool ended() const { return ending_.any(); }
  [[nodiscard]] const Ending& ending() const { return ending_; }
  [[nodiscard]] double seconds() const { return seconds_; }  // spent on the instrument

 private:
  void batch(std::span<const plan::Step> steps, const Arrived& arrived);
  adapter::Answer both(const plan::Step& step, const adapter::Answer& four_wire,
                       const adapter::Answer& two_wire);
  void take(const plan::Step& step, const adapter::Answer& answer, const adapter::Request& request,
            const Arrived& arrived);
  void note_contact(const plan::Step& step, const plan::Reading& reading);

  adapter::Instrument& instrument_;
  MeasurerSetup setup_;
  std::uint32_t sequence_;
  Ending ending_;
  ForcePaths paths_;
  double seconds_{};
  std::map<std::pair<std::size_t, plan::Channel>, bool> touching_;
};

}  // namespace isthmus::session
