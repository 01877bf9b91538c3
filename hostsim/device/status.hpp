// SPDX-License-Identifier: Apache-2.0
// Error queue and status registers: SCPI-1999 vol. 1, IEEE 488.2.
#pragma once

#include <deque>
#include <string>

namespace isthmus::hostsim {

class StatusModel {
 public:
  static constexpr std::size_t kQueueLength = 16;

  void raise(int number, const std::string& detail);
  // Oldest error as `number,"text"`; `0,"No error"` when there is none.
  std::string next_error();
  void clear();             // *CLS
  int take_event_status();  // *ESR?
  void operation_complete() { events_ |= 0x01; }
  [[nodiscard]] int status_byte(bool message_available) const;

  int event_enable{0};
  int service_enable{0};

 private:
  std::deque<std::string> errors_;
  int events_{0x80};  // power on
};

}  // namespace isthmus::hostsim
