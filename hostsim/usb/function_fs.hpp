// SPDX-License-Identifier: Apache-2.0
// The USBTMC function behind FunctionFS (Documentation/usb/functionfs.rst of the kernel): its
// descriptors, its control endpoint, and its bulk endpoints through the kernel's asynchronous I/O,
// so that one thread serves them all.
#pragma once

#include <linux/aio_abi.h>
#include <poll.h>

#include <array>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "hostsim/usb/usbtmc_device.hpp"
#include "hostsim/waiter.hpp"
#include "isthmus/base/result.hpp"

namespace isthmus::hostsim {

// What is written to ep0 before the device is plugged in: descriptors for full and high speed, and
// the interface's name.
std::vector<std::uint8_t> function_descriptors();
std::vector<std::uint8_t> function_strings();

class FunctionFs {
 public:
  // Borrows `device`. SIM-033 when the kernel refuses.
  static Result<std::unique_ptr<FunctionFs>> open(const std::filesystem::path& folder,
                                                  UsbtmcDevice& device);
  ~FunctionFs();
  FunctionFs(const FunctionFs&) = delete;
  FunctionFs& operator=(const FunctionFs&) = delete;

  // Two descriptors to wait for; then, or whenever `device` got something to say, serve().
  [[nodiscard]] std::array<pollfd, 2> to_wait_for() const;
  void serve();

 private:
  explicit FunctionFs(UsbtmcDevice& device) : device_(device) {}

  struct Job {
    iocb control{};
    std::vector<std::uint8_t> bytes;
    bool submitted{false};
    bool forgotten{false};  // of before the bus was reset
  };
  bool events();
  void completions();
  void reply(bool to_host, const std::optional<std::vector<std::uint8_t>>& answer,
             std::size_t most) const;
  void enable();
  void disable();
  bool submit(Job& job, const Descriptor& endpoint, int operation);
  void received(long result);
  void sent(long result);
  void carry_on();

  UsbtmcDevice& device_;
  Descriptor control_, out_, in_, completed_;
  aio_context_t jobs_{0};
  Job receive_, send_;
  std::size_t packet_{64};
  bool enabled_{false}, short_packet_owed_{false};
};

}  // namespace isthmus::hostsim
