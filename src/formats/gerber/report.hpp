// SPDX-License-Identifier: Apache-2.0
// Where messages of the Gerber reader get their place in the file. The first failure is kept; a
// message repeated many times is told a few times and then counted.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "isthmus/base/result.hpp"

namespace isthmus::formats::gerber {

class Report {
 public:
  // `bytes` must outlive this.
  Report(std::string_view bytes, std::string file, Diagnostics& notes)
      : bytes_(bytes), file_(std::move(file)), notes_(notes) {}

  [[nodiscard]] std::string_view bytes() const { return bytes_; }
  [[nodiscard]] const std::string& file() const { return file_; }
  // Byte offset of text that lies within bytes().
  [[nodiscard]] std::size_t offset(std::string_view part) const {
    return static_cast<std::size_t>(part.data() - bytes_.data());
  }

  bool fail(std::size_t at, const char* code, std::string message, std::string hint);  // false
  void warn(std::size_t at, const char* code, std::string message, std::string hint);
  void note(std::size_t at, const char* code, std::string message, std::string hint);
  void count_rest();  // says how many messages were not repeated

  [[nodiscard]] bool failed() const { return problem_.has_value(); }
  [[nodiscard]] const Problem& problem() const { return *problem_; }

 private:
  struct Count {
    int times{0};
    Severity severity{Severity::note};
  };
  void tell(Severity severity, std::size_t at, const char* code, std::string message,
            std::string hint);
  [[nodiscard]] Problem place(std::size_t at) const;

  std::string_view bytes_;
  std::string file_;
  Diagnostics& notes_;
  std::optional<Problem> problem_;
  std::map<std::string, Count> told_;
};

}  // namespace isthmus::formats::gerber
