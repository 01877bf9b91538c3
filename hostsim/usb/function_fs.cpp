// SPDX-License-Identifier: Apache-2.0
#include "hostsim/usb/function_fs.hpp"

#include <endian.h>
#include <fcntl.h>
#include <linux/usb/functionfs.h>
#include <sys/eventfd.h>
#include <sys/ioctl.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <string_view>
#include <utility>

namespace isthmus::hostsim {
namespace {

void put(std::vector<std::uint8_t>& into, std::uint32_t value, int bytes) {
  for (int i = 0; i < bytes; ++i)
    into.push_back(static_cast<std::uint8_t>((value >> (8 * i)) & 0xff));
}

// USB 2.0, 9.6.5 and 9.6.6; USBTMC 1.0, 5.5 to 5.6.
void put_interface(std::vector<std::uint8_t>& into, std::uint32_t packet) {
  for (const std::uint32_t byte : {9u, 4u, 0u, 0u, 2u, 0xFEu, 0x03u, 0x01u, 1u}) put(into, byte, 1);
  for (const std::uint8_t address : {kBulkOutAddress, kBulkInAddress}) {
    for (const std::uint32_t byte : {7u, 5u, std::uint32_t{address}, 2u}) put(into, byte, 1);
    put(into, packet, 2);
    put(into, 0, 1);
  }
}

void put_length(std::vector<std::uint8_t>& into) {
  for (std::size_t i = 0; i < 4; ++i)
    into[4 + i] = static_cast<std::uint8_t>((into.size() >> (8 * i)) & 0xff);
}

Problem refused(const std::string& what) {
  return {"",
          0,
          0,
          "SIM-033",
          "the kernel refuses the USBTMC function: " + what + ": " + std::strerror(errno),
          "",
          ""};
}

// The kernel gives endpoints the addresses that its controller has, and tells requests to them by
// our own order, from 1.
std::uint16_t recipient(std::uint8_t type, std::uint16_t index) {
  if ((type & USB_RECIP_MASK) != USB_RECIP_ENDPOINT) return index;
  return index == 1 ? kBulkOutAddress : kBulkInAddress;
}

bool write_all(const Descriptor& fd, const std::vector<std::uint8_t>& bytes) {
  return ::write(fd.get(), bytes.data(), bytes.size()) == static_cast<ssize_t>(bytes.size());
}

}  // namespace

std::vector<std::uint8_t> function_descriptors() {
  constexpr std::uint32_t kDescriptors = 3;  // of each speed: the interface and two endpoints
  std::vector<std::uint8_t> out;
  put(out, FUNCTIONFS_DESCRIPTORS_MAGIC_V2, 4);
  put(out, 0, 4);
  put(out, FUNCTIONFS_HAS_FS_DESC | FUNCTIONFS_HAS_HS_DESC, 4);
  put(out, kDescriptors, 4);
  put(out, kDescriptors, 4);
  put_interface(out, 64);
  put_interface(out, 512);
  put_length(out);
  return out;
}

std::vector<std::uint8_t> function_strings() {
  std::vector<std::uint8_t> out;
  put(out, FUNCTIONFS_STRINGS_MAGIC, 4);
  put(out, 0, 4);
  put(out, 1, 4);       // strings
  put(out, 1, 4);       // languages
  put(out, 0x0409, 2);  // English
  for (const char c : std::string_view("Probe multiplexer"))
    put(out, static_cast<unsigned char>(c), 1);
  put(out, 0, 1);
  put_length(out);
  return out;
}

Result<std::unique_ptr<FunctionFs>> FunctionFs::open(const std::filesystem::path& folder,
                                                     UsbtmcDevice& device) {
  std::unique_ptr<FunctionFs> out(new FunctionFs(device));
  const auto file = [&folder](const char* name) {
    return Descriptor(::open((folder / name).c_str(), O_RDWR | O_NONBLOCK | O_CLOEXEC));
  };
  out->control_ = file("ep0");
  if (out->control_.get() < 0) return refused("ep0");
  if (!write_all(out->control_, function_descriptors())) return refused("its descriptors");
  if (!write_all(out->control_, function_strings())) return refused("its strings");
  out->out_ = file("ep1");  // in the order of the descriptors
  out->in_ = file("ep2");
  if (out->out_.get() < 0 || out->in_.get() < 0) return refused("its endpoints");
  out->completed_ = Descriptor(::eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC));
  if (::syscall(SYS_io_setup, 4, &out->jobs_) != 0) return refused("asynchronous I/O");
  return out;
}

FunctionFs::~FunctionFs() {
  if (jobs_) ::syscall(SYS_io_destroy, jobs_);  // waits for what is under way to be stopped
}

std::array<pollfd, 2> FunctionFs::to_wait_for() const {
  return {pollfd{control_.get(), POLLIN, 0}, pollfd{completed_.get(), POLLIN, 0}};
}

void FunctionFs::serve() {
  // Completions first: a request must find what its transfer has come to.
  do completions();
  while (events());
  carry_on();
}

bool FunctionFs::submit(Job& job, const Descriptor& endpoint, int operation) {
  job.control = {};
  job.control.aio_data = reinterpret_cast<std::uintptr_t>(&job);
  job.control.aio_lio_opcode = static_cast<std::uint16_t>(operation);
  job.control.aio_fildes = static_cast<std::uint32_t>(endpoint.get());
  job.control.aio_buf = reinterpret_cast<std::uintptr_t>(job.bytes.data());
  job.control.aio_nbytes = job.bytes.size();
  job.control.aio_flags = IOCB_FLAG_RESFD;
  job.control.aio_resfd = static_cast<std::uint32_t>(completed_.get());
  iocb* one = &job.control;
  job.submitted = ::syscall(SYS_io_submit, jobs_, 1, &one) == 1;
  return job.submitted;
}

void FunctionFs::completions() {
  std::uint64_t count = 0;
  static_cast<void>(::read(completed_.get(), &count, sizeof count));
  std::array<io_event, 4> done{};
  timespec at_once{};
  const long n = ::syscall(SYS_io_getevents, jobs_, 0, done.size(), done.data(), &at_once);
  for (long i = 0; i < n; ++i) {
    const io_event& event = done[static_cast<std::size_t>(i)];
    const auto result = static_cast<long>(event.res);
    Job& job = event.data == reinterpret_cast<std::uintptr_t>(&send_) ? send_ : receive_;
    job.submitted = false;
    if (std::exchange(job.forgotten, false)) continue;
    if (&job == &send_)
      sent(result);
    else
      received(result);
  }
}

void FunctionFs::received(long result) {
  if (result < 0) return;
  // An I/O call in the wrong direction halts the endpoint.
  if (!device_.packet(std::span(receive_.bytes).first(static_cast<std::size_t>(result))))
    static_cast<void>(::write(out_.get(), nullptr, 0));
}

void FunctionFs::sent(long result) {
  if (result >= 0 && short_packet_owed_) return;  // carry_on() sends it
  if (result >= 0)
    device_.in_done();
  else
    device_.in_stopped();
  short_packet_owed_ = false;
}

void FunctionFs::enable() {
  usb_endpoint_descriptor endpoint{};
  if (::ioctl(out_.get(), FUNCTIONFS_ENDPOINT_DESC, &endpoint) == 0)
    packet_ = le16toh(endpoint.wMaxPacketSize);
  enabled_ = true;
}

void FunctionFs::disable() {
  enabled_ = short_packet_owed_ = false;
  for (Job* job : {&receive_, &send_}) job->forgotten = job->submitted;
  device_.reset();
}

void FunctionFs::carry_on() {
  if (!enabled_) return;
  if (device_.take_stop()) {
    io_event ignored{};
    if (send_.submitted) {
      ::syscall(SYS_io_cancel, jobs_, &send_.control, &ignored);  // completes with an error
    } else if (std::exchange(short_packet_owed_, false)) {
      device_.in_stopped();
    }
  }
  if (!receive_.submitted) {
    receive_.bytes.resize(packet_);
    submit(receive_, out_, IOCB_CMD_PREAD);
  }
  if (send_.submitted) return;
  if (std::exchange(short_packet_owed_, false)) {
    send_.bytes.clear();
  } else {
    auto transfer = device_.begin_in();
    if (!transfer) return;
    send_.bytes = std::move(*transfer);
    short_packet_owed_ = !send_.bytes.empty() && send_.bytes.size() % packet_ == 0;
  }
  if (!submit(send_, in_, IOCB_CMD_PWRITE)) {
    short_packet_owed_ = false;
    device_.in_stopped();
  }
}

// Refusing (a stall) is I/O against the request's direction.
void FunctionFs::reply(bool to_host, const std::optional<std::vector<std::uint8_t>>& answer,
                       std::size_t most) const {
  char none{};
  if (to_host && answer)
    static_cast<void>(::write(control_.get(), answer->data(), std::min(most, answer->size())));
  else if (to_host)
    static_cast<void>(::read(control_.get(), &none, 0));
  else
    static_cast<void>(::write(control_.get(), &none, 0));
}

// True when something was handled.
bool FunctionFs::events() {
  std::array<usb_functionfs_event, 4> all{};
  const ssize_t n = ::read(control_.get(), all.data(), sizeof all);
  if (n <= 0) return false;
  for (std::size_t i = 0; i < static_cast<std::size_t>(n) / sizeof all[0]; ++i) {
    switch (all[i].type) {
      case FUNCTIONFS_ENABLE:
        enable();
        break;
      case FUNCTIONFS_DISABLE:
      case FUNCTIONFS_UNBIND:
        disable();
        break;
      case FUNCTIONFS_SETUP: {
        const auto& s = all[i].u.setup;
        const auto answer = device_.control({s.bRequestType, s.bRequest,
                                             static_cast<std::uint16_t>(le16toh(s.wValue)),
                                             recipient(s.bRequestType, le16toh(s.wIndex))});
        reply((s.bRequestType & USB_DIR_IN) != 0, answer, le16toh(s.wLength));
        break;
      }
      default:
        break;
    }
  }
  return true;
}

}  // namespace isthmus::hostsim
