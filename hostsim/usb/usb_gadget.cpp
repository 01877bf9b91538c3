// SPDX-License-Identifier: Apache-2.0
#include "hostsim/usb/usb_gadget.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/mount.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <utility>
#include <vector>

namespace isthmus::hostsim {
namespace {

namespace fs = std::filesystem;

const fs::path kGadgets = "/sys/kernel/config/usb_gadget";
const fs::path kControllers = "/sys/class/udc";
constexpr const char* kFunction = "probe";  // names both functions

Problem no_gadget(const std::string& what, const std::string& hint = "") {
  return {"", 0, 0, "SIM-032", "cannot be a USB device: " + what, hint, ""};
}

Problem failed_at(const fs::path& path) {
  return no_gadget(path.string() + ": " + std::strerror(errno),
                   "it takes root, and the kernel's modules libcomposite, usb_f_acm and usb_f_fs");
}

// configfs wants a value in one write.
bool write_value(const fs::path& file, const std::string& value) {
  const Descriptor fd(::open(file.c_str(), O_WRONLY | O_CLOEXEC));
  if (fd.get() < 0) return false;
  const std::string line = value + "\n";
  return ::write(fd.get(), line.data(), line.size()) == static_cast<ssize_t>(line.size());
}

std::string read_value(const fs::path& file) {
  const Descriptor fd(::open(file.c_str(), O_RDONLY | O_CLOEXEC));
  std::string out(64, '\0');
  const ssize_t n = fd.get() < 0 ? 0 : ::read(fd.get(), out.data(), out.size());
  out.resize(n > 0 ? static_cast<std::size_t>(n) : 0);
  while (out.ends_with('\n')) out.pop_back();
  return out;
}

Result<std::string> controller(const std::string& wanted) {
  std::vector<std::string> there;
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(kControllers, error))
    there.push_back(entry.path().filename());
  std::ranges::sort(there);
  if (there.empty()) {
    return no_gadget("this machine has no USB device controller",
                     "a board with a USB device port has one; `modprobe dummy_hcd` makes one that "
                     "is looped back to this machine");
  }
  if (wanted.empty()) return there.front();
  if (std::ranges::find(there, wanted) != there.end()) return wanted;
  std::string names;
  for (const std::string& one : there) names += (names.empty() ? "" : ", ") + one;
  return no_gadget("there is no USB device controller \"" + wanted + "\"", "there: " + names);
}

std::string hexadecimal(int number) {
  constexpr const char* kDigits = "0123456789abcdef";
  std::string out = "0x";
  for (int shift = 12; shift >= 0; shift -= 4) out += kDigits[(number >> shift) & 15];
  return out;
}

}  // namespace

UsbGadget::UsbGadget(std::string udc, Descriptor lock)
    : udc_(std::move(udc)),
      lock_(std::move(lock)),
      folder_(kGadgets / ("isthmus-sim." + udc_)),
      function_fs_(fs::temp_directory_path() / ("isthmus-sim." + udc_)) {}

UsbGadget::UsbGadget(UsbGadget&& other) noexcept
    : udc_(std::move(other.udc_)),
      lock_(std::move(other.lock_)),
      folder_(std::exchange(other.folder_, {})),
      function_fs_(std::exchange(other.function_fs_, {})) {}

UsbGadget::~UsbGadget() {
  if (!folder_.empty()) take_down();
}

Result<UsbGadget> UsbGadget::make(const UsbStrings& strings, const std::string& udc) {
  auto chosen = controller(udc);
  if (!chosen) return chosen.problem();
  const fs::path lock_file = fs::temp_directory_path() / ("isthmus-sim." + *chosen + ".lock");
  Descriptor lock(::open(lock_file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600));
  if (lock.get() < 0) return failed_at(lock_file);
  if (::flock(lock.get(), LOCK_EX | LOCK_NB) != 0) {
    return no_gadget("another isthmus-sim has the controller " + *chosen,
                     "end it, or name another with --udc");
  }
  UsbGadget out(*chosen, std::move(lock));
  out.take_down();  // what a killed simulator left
  if (auto built = out.build(strings); !built) return built.problem();
  return out;
}

Result<Done> UsbGadget::build(const UsbStrings& strings) {
  const fs::path english = "strings/0x409", config = "configs/c.1";
  const fs::path acm = "functions/acm." + std::string(kFunction),
                 ffs = "functions/ffs." + std::string(kFunction);
  for (const fs::path& path : {fs::path(), english, config, config / english, acm, ffs}) {
    if (::mkdir((folder_ / path).c_str(), 0755) != 0 && errno != EEXIST)
      return failed_at(folder_ / path);
  }
  // A device of several functions, told apart by interface association (USB ECN, 2003).
  const std::pair<fs::path, std::string> values[] = {
      {"idVendor", hexadecimal(kUsbVendor)},
      {"idProduct", hexadecimal(kUsbProduct)},
      {"bcdUSB", "0x0200"},
      {"bDeviceClass", "0xef"},
      {"bDeviceSubClass", "0x02"},
      {"bDeviceProtocol", "0x01"},
      {english / "manufacturer", strings.maker},
      {english / "product", strings.model},
      {english / "serialnumber", strings.serial_number},
      {config / english / "configuration", "probe multiplexer"},
  };
  for (const auto& [file, value] : values)
    if (!write_value(folder_ / file, value)) return failed_at(folder_ / file);
  // Our descriptors are those of full and high speed; kernels before 5.11 have no such file.
  write_value(folder_ / "max_speed", "high-speed");
  // USBTMC first: Linux's own driver asks interface 0 for the capabilities, whichever it drives.
  for (const fs::path& function : {ffs, acm}) {
    const fs::path link = folder_ / config / function.filename();
    if (::symlink((folder_ / function).c_str(), link.c_str()) != 0) return failed_at(link);
  }
  if (::mkdir(function_fs_.c_str(), 0700) != 0 && errno != EEXIST) return failed_at(function_fs_);
  if (::mount(kFunction, function_fs_.c_str(), "functionfs", 0, nullptr) != 0)
    return failed_at(function_fs_);
  return Done{};
}

Result<Done> UsbGadget::plug_in() {
  if (!write_value(folder_ / "UDC", udc_)) return failed_at(folder_ / "UDC");
  return Done{};
}

void UsbGadget::unplug() { write_value(folder_ / "UDC", ""); }

std::string UsbGadget::serial_device() const {
  return "/dev/ttyGS" +
         read_value(folder_ / "functions" / ("acm." + std::string(kFunction)) / "port_num");
}

// In the order that configfs asks for; what is not there is not missed.
void UsbGadget::take_down() const {
  write_value(folder_ / "UDC", "");
  const std::string acm = "acm." + std::string(kFunction), ffs = "ffs." + std::string(kFunction);
  for (const std::string& function : {acm, ffs})
    ::unlink((folder_ / "configs/c.1" / function).c_str());
  ::umount2(function_fs_.c_str(), MNT_DETACH);
  ::rmdir(function_fs_.c_str());
  for (const fs::path& path :
       {fs::path("configs/c.1/strings/0x409"), fs::path("configs/c.1"), "functions" / fs::path(acm),
        "functions" / fs::path(ffs), fs::path("strings/0x409"), fs::path()})
    ::rmdir((folder_ / path).c_str());
}

}  // namespace isthmus::hostsim
