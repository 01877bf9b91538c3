// SPDX-License-Identifier: Apache-2.0
#include "cli/simulator.hpp"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <filesystem>
#include <optional>
#include <utility>
#include <vector>

namespace isthmus::cli {
namespace {

std::string program_path() {
  std::error_code error;
  const auto self = std::filesystem::read_symlink("/proc/self/exe", error);
  if (!error) {
    for (const auto& dir : {self.parent_path(), self.parent_path() / "hostsim"}) {
      if (std::filesystem::exists(dir / "isthmus-sim", error)) return dir / "isthmus-sim";
    }
  }
  return "isthmus-sim";
}

// One line, or nothing when the time is over or the pipe closed.
std::optional<std::string> read_line(int fd, std::chrono::milliseconds time) {
  std::string line;
  const auto end = std::chrono::steady_clock::now() + time;
  while (true) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(
        end - std::chrono::steady_clock::now());
    pollfd p{fd, POLLIN, 0};
    if (left.count() <= 0 || poll(&p, 1, static_cast<int>(left.count())) <= 0) return std::nullopt;
    char c{};
    if (read(fd, &c, 1) != 1) return std::nullopt;
    if (c == '\n') return line;
    line += c;
  }
}

// Removes a file at the end of its scope.
struct Gone {
  std::filesystem::path file;
  explicit Gone(std::filesystem::path f) : file(std::move(f)) {}
  Gone(const Gone&) = delete;
  Gone& operator=(const Gone&) = delete;
  ~Gone() {
    std::error_code error;
    std::filesystem::remove(file, error);
  }
};

std::string read_rest(const std::filesystem::path& file) {
  std::string text;
  if (FILE* f = std::fopen(file.c_str(), "r")) {
    std::array<char, 2000> buffer{};
    text.assign(buffer.data(), std::fread(buffer.data(), 1, buffer.size(), f));
    std::fclose(f);
  }
  while (!text.empty() && text.back() == '\n') text.pop_back();
  return text;
}

constexpr int kRefused = 2;   // isthmus-sim's exit code for bad input
constexpr int kNotRun = 127;  // as a shell has it

// Why no address came; `status` is the child's, as waitpid gives it.
Problem not_started(const std::string& program, const std::string& said, int status) {
  const auto problem = [](const char* code, const std::string& message, const std::string& hint) {
    return Problem{"", 0, 0, code, message, hint, "", Cause::link};
  };
  const int code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  if (code == kNotRun) {
    const bool on_path = program.find('/') == std::string::npos;
    return problem("CLI-010", program + " cannot be run: " + said,
                   on_path
                       ? "isthmus-sim is neither beside isthmus nor on the PATH: build it (ninja "
                         "isthmus-sim) or install it"
                       : "see its permissions, or build it again");
  }
  if (code == kRefused && !said.empty()) {
    Problem refused =
        problem("CLI-012", "the simulator refuses its scenario or fixture:\n" + said, "");
    refused.cause = Cause::input;
    return refused;
  }
  return problem("CLI-011", "the simulator did not start" + (said.empty() ? "" : ":\n" + said),
                 said.empty() ? "it gave no address within a minute" : "");
}

[[noreturn]] void become(const std::string& program, const std::string& scenario,
                         const std::string& fixture, std::array<int, 3> fds) {
  for (int i = 0; i < 3; ++i) dup2(fds[static_cast<std::size_t>(i)], i);
  // Ctrl-C is for the program, which then opens the switches; the simulator ends when its input
  // closes.
  setpgid(0, 0);
  std::vector<const char*> words{program.c_str(), scenario.c_str(), "--tcp", "0", "--with-parent"};
  if (!fixture.empty()) words.insert(words.end(), {"--fixture", fixture.c_str()});
  words.push_back(nullptr);
  execvp(program.c_str(), const_cast<char* const*>(words.data()));
  const char* why = std::strerror(errno);
  [[maybe_unused]] const auto n = write(2, why, std::strlen(why));
  _exit(kNotRun);
}

}  // namespace

Result<std::unique_ptr<Simulator>> Simulator::start(const std::string& scenario,
                                                    const std::string& fixture) {
  const std::string program = program_path();
  std::array<int, 2> in{}, out{};
  std::string errors = (std::filesystem::temp_directory_path() / "isthmus-sim-XXXXXX").string();
  const int error_file = mkostemp(errors.data(), O_CLOEXEC);
  if (pipe2(in.data(), O_CLOEXEC) != 0 || pipe2(out.data(), O_CLOEXEC) != 0 || error_file < 0) {
    return Problem{"",
                   0,
                   0,
                   "CLI-010",
                   std::string("cannot start the simulator: ") + std::strerror(errno),
                   "",
                   "",
                   Cause::link};
  }
  std::unique_ptr<Simulator> sim(new Simulator);
  sim->pid_ = fork();
  if (sim->pid_ == 0) become(program, scenario, fixture, {in[0], out[1], error_file});
  close(in[0]);
  close(out[1]);
  close(error_file);
  sim->stdin_ = in[1];
  sim->stdout_ = out[0];
  const Gone gone{errors};
  const auto line = read_line(out[0], std::chrono::minutes(1));
  if (!line || line->empty()) {
    const int status = sim->end();  // then it has said everything
    return not_started(program, read_rest(errors), status);
  }
  sim->address_ = *line;
  return sim;
}

Simulator::~Simulator() {
  if (stdout_ >= 0) close(stdout_);
  if (pid_ > 0) {
    kill(pid_, SIGTERM);
    end();
  }
  if (stdin_ >= 0) close(stdin_);
}

void Simulator::tell(const std::string& line) {
  const std::string text = line + "\n";
  for (std::size_t done = 0; stdin_ >= 0 && done < text.size();) {
    const ssize_t n = write(stdin_, text.data() + done, text.size() - done);
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) return;  // it has gone: the link says so
    done += static_cast<std::size_t>(n);
  }
}

std::optional<std::string> Simulator::heard() {
  std::array<char, 512> buffer{};
  pollfd p{stdout_, POLLIN, 0};
  if (said_.find('\n') == std::string::npos && poll(&p, 1, 0) > 0) {
    const ssize_t n = read(stdout_, buffer.data(), buffer.size());
    if (n > 0) said_.append(buffer.data(), static_cast<std::size_t>(n));
  }
  const auto end = said_.find('\n');
  if (end == std::string::npos) return std::nullopt;
  std::string line = said_.substr(0, end);
  said_.erase(0, end + 1);
  return line;
}

int Simulator::end() {
  if (stdin_ >= 0) close(std::exchange(stdin_, -1));
  int status = 0;
  const pid_t pid = std::exchange(pid_, -1);
  for (int i = 0; i < 200; ++i) {
    if (waitpid(pid, &status, WNOHANG) != 0) return status;
    usleep(10'000);
  }
  kill(pid, SIGKILL);
  waitpid(pid, &status, 0);
  return status;
}

}  // namespace isthmus::cli
