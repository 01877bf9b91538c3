// SPDX-License-Identifier: Apache-2.0
// Bytes over a USBTMC interface: each write goes as DEV_DEP_MSG_OUT transfers, each read asks with
// REQUEST_DEV_DEP_MSG_IN and may wait for its answer over several calls.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "adapter/usb_pipe.hpp"
#include "adapter/usbtmc_wire.hpp"

namespace isthmus::adapter {

// What breaks the rules of USBTMC (a header that is not the one asked for, a halted endpoint, an
// error on the wire) is thrown away and the interface cleared, at most three times in a row; the
// fourth is ADP-013. The caller finds what was lost by its own tags and checksums.
class UsbtmcStream : public ByteStream {
 public:
  // Reads the capabilities and clears the interface. Errors ADP-010, ADP-013.
  static Result<std::unique_ptr<UsbtmcStream>> start(std::unique_ptr<UsbPipe> pipe,
                                                     Deadline deadline);

  Result<std::size_t> read(std::span<char> into, Deadline deadline) override;
  // The message ends (EOM) with bytes that end in LF.
  Result<Done> write(std::span<const char> bytes, Deadline deadline) override;

  // READ_STATUS_BYTE (USB488, 4.3.1). REQUIRES a USB488 interface. Nothing in time, or an answer
  // to another question: nothing.
  Result<std::optional<std::uint8_t>> status_byte(Deadline deadline);

 private:
  enum class Step { done, later };  // later: the deadline passed; the next call carries on

  explicit UsbtmcStream(std::unique_ptr<UsbPipe> pipe);
  Result<Done> trouble(const std::string& what);
  Result<Done> expect_done(const Moved& moved, const std::string& what);
  Result<Step> make_ready(Deadline deadline);
  Result<Step> clear(Deadline deadline);
  Result<Step> abort_in(Deadline deadline);
  Result<Step> abort_out(Deadline deadline);
  Result<std::optional<std::uint8_t>> ask(const ControlRequest& request,
                                          std::span<std::uint8_t> answer, const std::string& name,
                                          Deadline deadline);
  Result<Step> drain_in(Deadline deadline);
  Result<Step> message_available(Deadline deadline);
  Result<Step> ask_for_answer(Deadline deadline);
  Result<Step> take_answer(Deadline deadline);
  Result<Step> send_transfer(std::span<const char> payload, bool last, Deadline deadline);

  std::unique_ptr<UsbPipe> pipe_;
  usbtmc::Interface interface_{};
  std::uint8_t tag_{0}, status_tag_{0};
  std::string ready_;               // what came and was not read yet
  std::vector<std::uint8_t> room_;  // the answer that is coming in
  std::size_t came_{0};             // bytes of it
  bool asked_{false};               // a request is with the adapter; its bTag is `asked_tag_`
  std::uint8_t asked_tag_{0};
  bool half_sent_{false};  // the transfer with bTag `tag_` was cut off by a deadline
  bool must_clear_{false}, in_halted_{false};
  int troubles_{0};  // in a row
};

}  // namespace isthmus::adapter
