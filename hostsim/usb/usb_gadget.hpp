// SPDX-License-Identifier: Apache-2.0
// The USB device as the kernel builds it: configfs (Documentation/usb/gadget_configfs.rst of the
// kernel), one CDC-ACM function and one of our own through FunctionFS.
#pragma once

#include <filesystem>
#include <string>

#include "hostsim/waiter.hpp"
#include "isthmus/base/result.hpp"

namespace isthmus::hostsim {

// 1209:0001 is reserved for tests in private (pid.codes): nothing that is sold may have it.
inline constexpr int kUsbVendor = 0x1209, kUsbProduct = 0x0001;

struct UsbStrings {
  std::string maker, model, serial_number;
};

class UsbGadget {
 public:
  // Makes the device, not yet plugged in. `udc` empty: the first controller. SIM-032: no right, no
  // configfs, no controller, or another simulator has it.
  static Result<UsbGadget> make(const UsbStrings& strings, const std::string& udc);
  ~UsbGadget();
  UsbGadget(UsbGadget&& other) noexcept;
  UsbGadget& operator=(UsbGadget&&) = delete;

  // REQUIRES that FunctionFS has its descriptors.
  Result<Done> plug_in();
  void unplug();

  [[nodiscard]] const std::filesystem::path& function_fs() const { return function_fs_; }
  [[nodiscard]] std::string serial_device() const;  // "/dev/ttyGS0"

 private:
  UsbGadget(std::string udc, Descriptor lock);
  Result<Done> build(const UsbStrings& strings);
  void take_down() const;

  std::string udc_;
  Descriptor lock_;
  std::filesystem::path folder_, function_fs_;
};

}  // namespace isthmus::hostsim
