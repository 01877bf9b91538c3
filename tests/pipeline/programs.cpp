// SPDX-License-Identifier: Apache-2.0
#include "tests/pipeline/programs.hpp"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "tests/support/paths.hpp"

namespace isthmus::test {
namespace {

pid_t start(const std::string& program, const std::vector<std::string>& arguments, int out,
            int err) {
  std::vector<std::string> words{program};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> argv;
  for (std::string& w : words) argv.push_back(w.data());
  argv.push_back(nullptr);
  const pid_t pid = fork();
  if (pid == 0) {
    const int null = open("/dev/null", O_RDONLY);
    dup2(null, 0);
    dup2(out, 1);
    if (err >= 0) dup2(err, 2);
    execv(argv[0], argv.data());
    _exit(127);
  }
  return pid;
}

int code_of(int status) { return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status); }

}  // namespace

std::string isthmus_program() { return binary_dir() / "isthmus"; }
std::string simulator_program() { return binary_dir() / "hostsim/isthmus-sim"; }
std::string board_maker() { return binary_dir() / "fixtures/make-tide-gauge"; }

Ran run(const std::string& program, const std::vector<std::string>& arguments,
        std::chrono::milliseconds limit, int signal) {
  const auto end = std::chrono::steady_clock::now() + limit;
  return run_until(
      program, arguments, [end] { return std::chrono::steady_clock::now() > end; }, signal);
}

Ran run_until(const std::string& program, const std::vector<std::string>& arguments,
              const std::function<bool()>& due, int signal) {
  std::array<int, 2> out{}, err{};
  if (pipe2(out.data(), O_CLOEXEC) != 0 || pipe2(err.data(), O_CLOEXEC) != 0)
    throw std::runtime_error("no pipes");
  const auto begin = std::chrono::steady_clock::now();
  const pid_t pid = start(program, arguments, out[1], err[1]);
  close(out[1]);
  close(err[1]);
  Ran ran;
  std::array<pollfd, 2> fds{pollfd{out[0], POLLIN, 0}, pollfd{err[0], POLLIN, 0}};
  bool killed = false;
  while (fds[0].fd >= 0 || fds[1].fd >= 0) {
    if (!killed && due()) killed = ::kill(pid, signal) == 0;
    poll(fds.data(), 2, 20);
    for (std::size_t i = 0; i < 2; ++i) {
      if (fds[i].fd < 0 || (fds[i].revents & (POLLIN | POLLHUP)) == 0) continue;
      std::array<char, 65536> buffer{};
      const ssize_t n = ::read(fds[i].fd, buffer.data(), buffer.size());
      if (n > 0)
        (i == 0 ? ran.out : ran.err).append(buffer.data(), static_cast<std::size_t>(n));
      else
        close(fds[i].fd), fds[i].fd = -1;
    }
  }
  int status = 0;
  waitpid(pid, &status, 0);
  ran.code = killed && signal == SIGKILL ? -1 : code_of(status);
  ran.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  return ran;
}

Ran isthmus(const std::vector<std::string>& arguments) { return run(isthmus_program(), arguments); }

nlohmann::json json_of(const Ran& ran) {
  auto j = nlohmann::json::parse(ran.out, nullptr, false);
  if (j.is_discarded())
    throw std::runtime_error("not JSON (exit " + std::to_string(ran.code) +
                             "): " + ran.out.substr(0, 200) + ran.err);
  return j;
}

Background::Background(const std::string& program, const std::vector<std::string>& arguments) {
  std::array<int, 2> out{};
  if (pipe2(out.data(), O_CLOEXEC) != 0) throw std::runtime_error("no pipe");
  pid_ = start(program, arguments, out[1], -1);
  close(out[1]);
  out_ = out[0];
  char c{};
  while (::read(out_, &c, 1) == 1 && c != '\n') line_ += c;
}

void Background::kill(int signal) { ::kill(pid_, signal); }

Background::~Background() {
  ::kill(pid_, SIGTERM);
  for (int i = 0; i < 300 && waitpid(pid_, nullptr, WNOHANG) == 0; ++i) usleep(10'000);
  ::kill(pid_, SIGKILL);
  waitpid(pid_, nullptr, 0);
  close(out_);
}

Folder::Folder() {
  std::string name = (std::filesystem::temp_directory_path() / "isthmus-test-XXXXXX").string();
  if (!mkdtemp(name.data())) throw std::runtime_error("no temporary folder");
  path_ = name;
}
Folder::~Folder() {
  std::error_code error;
  std::filesystem::remove_all(path_, error);
}

void lay_tide_gauge(const Folder& folder) {
  namespace fs = std::filesystem;
  fs::copy(source_dir() / "fixtures/tide-gauge", folder.path(), fs::copy_options::recursive);
  fs::remove_all(folder / "generate");
}

std::string read(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  if (!in) throw std::runtime_error("cannot read " + file.string());
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

void write(const std::filesystem::path& file, const std::string& text) {
  std::filesystem::create_directories(file.parent_path());
  std::ofstream(file, std::ios::binary) << text;
}

std::string with(std::string text, const std::string& old, const std::string& fresh) {
  const auto at = text.find(old);
  if (at == std::string::npos) throw std::runtime_error("no '" + old + "' in the text");
  return text.replace(at, old.size(), fresh);
}

}  // namespace isthmus::test
