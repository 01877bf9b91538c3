// SPDX-License-Identifier: Apache-2.0
// USBTMC devices, through libusb: finding, opening, and their endpoints.
#include <fcntl.h>
#include <fmt/format.h>
#include <libusb.h>
#include <sys/types.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <fstream>
#include <optional>
#include <thread>

#include "adapter/transports.hpp"
#include "adapter/usb_address.hpp"
#include "adapter/usbtmc_stream.hpp"

namespace isthmus::adapter {
namespace {

template <auto Free>
struct Freed {
  template <class T>
  void operator()(T* what) const {
    Free(what);
  }
};
using Context = std::unique_ptr<libusb_context, Freed<libusb_exit>>;
using Handle = std::unique_ptr<libusb_device_handle, Freed<libusb_close>>;
using Device = std::unique_ptr<libusb_device, Freed<libusb_unref_device>>;
using Configuration =
    std::unique_ptr<libusb_config_descriptor, Freed<libusb_free_config_descriptor>>;

constexpr std::uint8_t kClass = 0xFE, kSubclass = 0x03;  // USBTMC 1.0, 4.1: bInterfaceClass
constexpr unsigned kStringWait = 250;                    // ms, for a device's name

// The interface and its endpoints' addresses; interrupt-IN is 0 where there is none.
struct Endpoints {
  int interface {
  }, alternate{};
  std::uint8_t out{}, in{}, interrupt{};
};

struct Found {
  Device device;
  Endpoints endpoints;
  UsbNames names;
};

std::optional<Endpoints> endpoints_of(const libusb_interface_descriptor& d) {
  if (d.bInterfaceClass != kClass || d.bInterfaceSubClass != kSubclass) return std::nullopt;
  Endpoints out{d.bInterfaceNumber, d.bAlternateSetting, 0, 0, 0};
  for (int i = 0; i < d.bNumEndpoints; ++i) {
    const std::uint8_t address = d.endpoint[i].bEndpointAddress;
    const int type = d.endpoint[i].bmAttributes & LIBUSB_TRANSFER_TYPE_MASK;
    const bool in = (address & LIBUSB_ENDPOINT_IN) != 0;
    if (type == LIBUSB_TRANSFER_TYPE_BULK) (in ? out.in : out.out) = address;
    if (type == LIBUSB_TRANSFER_TYPE_INTERRUPT && in) out.interrupt = address;
  }
  if (!out.in || !out.out) return std::nullopt;
  return out;
}

std::optional<Endpoints> endpoints_of(libusb_device* device) {
  libusb_config_descriptor* raw = nullptr;
  if (libusb_get_active_config_descriptor(device, &raw) != 0) return std::nullopt;
  const Configuration configuration(raw);
  for (int i = 0; i < raw->bNumInterfaces; ++i) {
    for (int j = 0; j < raw->interface[i].num_altsetting; ++j) {
      if (auto found = endpoints_of(raw->interface[i].altsetting[j])) return found;
    }
  }
  return std::nullopt;
}

// "/sys/bus/usb/devices/1-2.3/": the kernel has read the names already, and shows them to everyone.
std::string kernel_folder(libusb_device* device) {
  std::array<std::uint8_t, 8> ports{};
  const int n = libusb_get_port_numbers(device, ports.data(), static_cast<int>(ports.size()));
  std::string name = std::to_string(libusb_get_bus_number(device));
  for (int i = 0; i < n; ++i)
    name += (i == 0 ? '-' : '.') + std::to_string(ports[static_cast<std::size_t>(i)]);
  return "/sys/bus/usb/devices/" + name + "/";
}

std::string name_of(libusb_device* device, const char* kernel_name, std::uint8_t index) {
  if (index == 0) return "";
  std::string text;
  std::ifstream file(kernel_folder(device) + kernel_name);
  if (std::getline(file, text)) return text;
  libusb_device_handle* raw = nullptr;
  if (libusb_open(device, &raw) != 0) return "";
  const Handle handle(raw);
  std::array<unsigned char, 256> descriptor{};
  constexpr std::uint16_t kEnglish = 0x0409;
  const int got = libusb_control_transfer(
      raw, LIBUSB_ENDPOINT_IN, LIBUSB_REQUEST_GET_DESCRIPTOR,
      static_cast<std::uint16_t>(LIBUSB_DT_STRING << 8 | index), kEnglish, descriptor.data(),
      static_cast<std::uint16_t>(descriptor.size()), kStringWait);
  for (int i = 2; i + 1 < got; i += 2) {
    const auto at = static_cast<std::size_t>(i);
    text += descriptor[at + 1] == 0 ? static_cast<char>(descriptor[at]) : '?';
  }
  return text;
}

std::vector<Found> find_devices(libusb_context* context) {
  std::vector<Found> out;
  libusb_device** all = nullptr;
  const auto n = libusb_get_device_list(context, &all);
  for (ssize_t i = 0; i < n; ++i) {
    const auto endpoints = endpoints_of(all[i]);
    libusb_device_descriptor d{};
    if (!endpoints || libusb_get_device_descriptor(all[i], &d) != 0) continue;
    out.push_back(
        {Device(libusb_ref_device(all[i])),
         *endpoints,
         {d.idVendor, d.idProduct, name_of(all[i], "manufacturer", d.iManufacturer),
          name_of(all[i], "product", d.iProduct), name_of(all[i], "serial", d.iSerialNumber)}});
  }
  if (n >= 0) libusb_free_device_list(all, 1);
  return out;
}

std::vector<UsbNames> names_of(const std::vector<Found>& all) {
  std::vector<UsbNames> out;
  for (const Found& one : all) out.push_back(one.names);
  return out;
}

std::string node_of(libusb_device* device) {
  return fmt::format("/dev/bus/usb/{:03}/{:03}", libusb_get_bus_number(device),
                     libusb_get_device_address(device));
}

int system_error(int libusb_error) {
  switch (libusb_error) {
    case LIBUSB_ERROR_ACCESS:
      return EACCES;
    case LIBUSB_ERROR_NO_DEVICE:
    case LIBUSB_ERROR_NOT_FOUND:
      return ENODEV;
    case LIBUSB_ERROR_BUSY:
      return EBUSY;
    case LIBUSB_ERROR_NO_MEM:
      return ENOMEM;
    default:
      return EIO;
  }
}

// libusb waits for ever when told to wait 0 ms.
unsigned wait_ms(Deadline deadline) {
  return static_cast<unsigned>(std::max(1, milliseconds_left(deadline)));
}

class LibusbPipe : public UsbPipe {
 public:
  LibusbPipe(Context context, Handle handle, Endpoints endpoints, std::string node)
      : context_(std::move(context)),
        handle_(std::move(handle)),
        endpoints_(endpoints),
        node_(std::move(node)) {}
  ~LibusbPipe() override { libusb_release_interface(handle_.get(), endpoints_.interface); }
  LibusbPipe(const LibusbPipe&) = delete;
  LibusbPipe& operator=(const LibusbPipe&) = delete;

  Moved bulk_out(std::span<const std::uint8_t> bytes, Deadline deadline) override {
    // libusb has one function for both directions; on the way out it only reads.
    return bulk(endpoints_.out, const_cast<std::uint8_t*>(bytes.data()), bytes.size(), deadline);
  }
  Moved bulk_in(std::span<std::uint8_t> room, Deadline deadline) override {
    return bulk(endpoints_.in, room.data(), room.size(), deadline);
  }
  Moved interrupt_in(std::span<std::uint8_t> room, Deadline deadline) override {
    int moved = 0;
    const int error =
        libusb_interrupt_transfer(handle_.get(), endpoints_.interrupt, room.data(),
                                  static_cast<int>(room.size()), &moved, wait_ms(deadline));
    return {static_cast<std::size_t>(moved), end_of(error)};
  }
  [[nodiscard]] bool has_interrupt_in() const override { return endpoints_.interrupt != 0; }

  Moved control(const ControlRequest& request, std::span<std::uint8_t> answer,
                Deadline deadline) override {
    constexpr int kClassIn = int{LIBUSB_ENDPOINT_IN} | int{LIBUSB_REQUEST_TYPE_CLASS};
    int recipient = LIBUSB_RECIPIENT_ENDPOINT;
    std::uint16_t index = endpoints_.in;
    if (request.to == ControlRequest::To::interface) {
      recipient = LIBUSB_RECIPIENT_INTERFACE;
      index = static_cast<std::uint16_t>(endpoints_.interface);
    } else if (request.to == ControlRequest::To::bulk_out) {
      index = endpoints_.out;
    }
    const int got =
        libusb_control_transfer(handle_.get(), static_cast<std::uint8_t>(kClassIn | recipient),
                                request.request, request.value, index, answer.data(),
                                static_cast<std::uint16_t>(answer.size()), wait_ms(deadline));
    if (got < 0) return {0, end_of(got)};
    return {static_cast<std::size_t>(got), PipeEnd::done};
  }

  PipeEnd clear_halt_out() override {
    return end_of(libusb_clear_halt(handle_.get(), endpoints_.out));
  }
  PipeEnd clear_halt_in() override {
    return end_of(libusb_clear_halt(handle_.get(), endpoints_.in));
  }

 private:
  Moved bulk(std::uint8_t endpoint, std::uint8_t* bytes, std::size_t size, Deadline deadline) {
    int moved = 0;
    const int error = libusb_bulk_transfer(handle_.get(), endpoint, bytes, static_cast<int>(size),
                                           &moved, wait_ms(deadline));
    return {static_cast<std::size_t>(moved), end_of(error)};
  }

  PipeEnd end_of(int error) const {
    if (error == 0) return PipeEnd::done;
    if (error == LIBUSB_ERROR_TIMEOUT) return PipeEnd::timed_out;
    if (error == LIBUSB_ERROR_PIPE) return PipeEnd::stalled;
    if (error == LIBUSB_ERROR_NO_DEVICE || is_gone()) return PipeEnd::gone;
    return PipeEnd::failed;
  }

  // A cable that is pulled shows as errors on the wire first; the hub tells the kernel, and the
  // kernel takes the device's file away, within a quarter of a second.
  bool is_gone() const {
    for (int i = 0; i < 15; ++i) {
      if (::access(node_.c_str(), F_OK) != 0) return true;
      std::this_thread::sleep_for(std::chrono::milliseconds(20));
    }
    return false;
  }

  Context context_;
  Handle handle_;
  Endpoints endpoints_;
  std::string node_;
};

Context new_context() {
  libusb_context* raw = nullptr;
  return Context(libusb_init(&raw) == 0 ? raw : nullptr);
}

// What another program holds cannot be claimed; what the kernel's own driver holds is taken from
// it when it is opened, and given back.
int try_to_claim(libusb_device_handle* handle, int interface) {
  if (libusb_kernel_driver_active(handle, interface) == 1) return 0;
  const int error = libusb_claim_interface(handle, interface);
  if (error == 0) libusb_release_interface(handle, interface);
  return error;
}

std::string why_not(const Found& one, const std::string& address) {
  libusb_device_handle* raw = nullptr;
  int error = libusb_open(one.device.get(), &raw);
  const Handle handle(raw);
  if (error == 0) error = try_to_claim(raw, one.endpoints.interface);
  return error == 0 ? "" : in_one_line(cannot_open(address, system_error(error)));
}

}  // namespace

Opened open_usb(const std::string& rest, Deadline deadline) {
  const auto wanted = parse_usb_address(rest);
  if (!wanted) {
    return link_problem(
        "ADP-002", "\"usb:" + rest + "\" is not usb:VID:PID or usb:VID:PID:SERIALNUMBER",
        "VID and PID are hexadecimal, as in usb:1209:0001; `isthmus adapters` lists "
        "what is there");
  }
  Context context = new_context();
  if (!context) return cannot_open("usb:" + rest, EIO);
  auto all = find_devices(context.get());
  const auto chosen = choose(*wanted, names_of(all));
  if (!chosen) return chosen.problem();
  const Found& one = all[*chosen];
  libusb_device_handle* raw = nullptr;
  int error = libusb_open(one.device.get(), &raw);
  Handle handle(raw);
  if (error == 0) libusb_set_auto_detach_kernel_driver(raw, 1);
  if (error == 0) error = libusb_claim_interface(raw, one.endpoints.interface);
  if (error == 0 && one.endpoints.alternate != 0)
    error = libusb_set_interface_alt_setting(raw, one.endpoints.interface, one.endpoints.alternate);
  if (error != 0) return cannot_open("usb:" + rest, system_error(error));
  const std::string node = node_of(one.device.get());
  const Endpoints endpoints = one.endpoints;
  all.clear();  // the list goes before its context
  auto stream = UsbtmcStream::start(
      std::make_unique<LibusbPipe>(std::move(context), std::move(handle), endpoints, node),
      deadline);
  if (!stream) return stream.problem();
  return std::unique_ptr<ByteStream>(std::move(*stream));
}

std::vector<Listed> list_usb() {
  std::vector<Listed> out;
  const Context context = new_context();
  if (!context) return out;
  for (const Found& one : find_devices(context.get())) {
    const UsbNames& n = one.names;
    Listed listed{usb_address(n.vendor, n.product, n.serial_number),
                  n.maker,
                  n.model,
                  n.serial_number,
                  node_of(one.device.get()),
                  ""};
    listed.why_not = why_not(one, listed.address);
    out.push_back(std::move(listed));
  }
  return out;
}

}  // namespace isthmus::adapter
