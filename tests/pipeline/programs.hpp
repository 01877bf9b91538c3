// SPDX-License-Identifier: Apache-2.0
// Runs the programs as a person would, in a folder of its own.
#pragma once

#include <chrono>
#include <csignal>
#include <filesystem>
#include <functional>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace isthmus::test {

// The programs under test, from this build.
std::string isthmus_program();
std::string simulator_program();
std::string board_maker();

struct Ran {
  int code{-1};  // 128 + signal when killed; -1 when it did not end in time
  std::string out, err;
  double seconds{};
};
// stdin is closed. At the limit the program gets the signal.
Ran run(const std::string& program, const std::vector<std::string>& arguments,
        std::chrono::milliseconds limit = std::chrono::seconds(300), int signal = SIGKILL);
// The signal comes as soon as `due`, which is asked every 20 ms.
Ran run_until(const std::string& program, const std::vector<std::string>& arguments,
              const std::function<bool()>& due, int signal);
Ran isthmus(const std::vector<std::string>& arguments);
nlohmann::json json_of(const Ran& ran);

// A process in the background that prints its address on its first line.
class Background {
 public:
  Background(const std::string& program, const std::vector<std::string>& arguments);
  ~Background();
  Background(const Background&) = delete;
  Background& operator=(const Background&) = delete;
  [[nodiscard]] const std::string& first_line() const { return line_; }
  void kill(int signal);

 private:
  pid_t pid_{-1};
  int out_{-1};
  std::string line_;
};

// A temporary folder, gone at the end.
class Folder {
 public:
  Folder();
  ~Folder();
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  [[nodiscard]] std::filesystem::path operator/(const std::string& name) const {
    return path_ / name;
  }
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

// The demo board as it is kept in the repository (its own test: what its generator writes).
void lay_tide_gauge(const Folder& folder);

std::string read(const std::filesystem::path& file);
void write(const std::filesystem::path& file, const std::string& text);
// Replaces the one occurrence; a test that asks for text that is not there fails loudly.
std::string with(std::string text, const std::string& old, const std::string& fresh);

}  // namespace isthmus::test
