// SPDX-License-Identifier: Apache-2.0
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <system_error>

#include "isthmus/formats/design.hpp"

namespace isthmus::formats {
namespace {

constexpr const char* kWhereTo =
    "check the folder: that it is there, its permissions and its free space";

class Descriptor {
 public:
  explicit Descriptor(int fd) : fd_(fd) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (fd_ >= 0) ::close(fd_);
  }
  [[nodiscard]] int fd() const { return fd_; }
  bool close() { return ::close(std::exchange(fd_, -1)) == 0; }

 private:
  int fd_;
};

Problem file_problem(const std::filesystem::path& path, const char* code, const std::string& what,
                     const std::string& hint = "") {
  return {path.string(), 0, 0, code, what, hint, ""};
}

std::string why(int error) { return std::generic_category().message(error); }

bool write_all(int fd, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t n = ::write(fd, bytes.data(), bytes.size());
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(n));
  }
  return ::fsync(fd) == 0;
}

}  // namespace

Result<std::string> read_whole_file(const std::filesystem::path& path, std::size_t limit) {
  // Without O_NONBLOCK a named pipe would wait for ever.
  Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
  if (file.fd() < 0) {
    const std::string hint =
        errno == ENOENT ? "check the name, and the folder it is relative to" : "";
    return file_problem(path, "DSN-001", "cannot be opened: " + why(errno), hint);
  }
  struct stat info {};
  if (::fstat(file.fd(), &info) != 0 || !S_ISREG(info.st_mode)) {
    return file_problem(path, "DSN-002", "is not a regular file", "name a file, not a folder");
  }
  const std::string too_big = "is larger than " + std::to_string(limit) + " bytes";
  if (static_cast<std::uint64_t>(info.st_size) > limit) {
    return file_problem(path, "DSN-003", too_big, "is it the right file?");
  }
  std::string bytes;
  bytes.reserve(static_cast<std::size_t>(info.st_size));
  std::array<char, 65536> chunk{};
  for (;;) {
    const ssize_t n = ::read(file.fd(), chunk.data(), chunk.size());
    if (n < 0 && errno == EINTR) continue;
    if (n < 0)
      return file_problem(path, "DSN-001", "cannot be read: " + why(errno),
                          "check the disk it is on");
    if (n == 0) return bytes;
    bytes.append(chunk.data(), static_cast<std::size_t>(n));
    if (bytes.size() > limit)
      return file_problem(path, "DSN-003", too_big, "is it the right file?");
  }
}

Result<Done> write_whole_file(const std::filesystem::path& path, std::string_view bytes) {
  const std::filesystem::path beside = path.parent_path() / ("." + path.filename().string() + "." +
                                                             std::to_string(::getpid()) + ".part");
  const auto failed = [&](const char* doing, int error) -> Result<Done> {
    ::unlink(beside.c_str());
    return file_problem(path, "DSN-004", std::string(doing) + ": " + why(error), kWhereTo);
  };
  Descriptor file(::open(beside.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666));
  if (file.fd() < 0 && errno == EEXIST) {
    return file_problem(path, "DSN-004", "a half-written " + beside.string() + " is in the way",
                        "remove it");
  }
  if (file.fd() < 0)
    return file_problem(path, "DSN-004", "cannot be created: " + why(errno), kWhereTo);
  if (!write_all(file.fd(), bytes)) return failed("cannot be written", errno);
  if (!file.close()) return failed("cannot be closed", errno);
  if (::rename(beside.c_str(), path.c_str()) != 0) return failed("cannot be replaced", errno);
  return Done{};
}

}  // namespace isthmus::formats
