// SPDX-License-Identifier: Apache-2.0
// What comes from outside (files, options, instruments) is a Result: a value or a Problem.
#pragma once

#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "isthmus/base/ensure.hpp"

namespace isthmus {

// Who must act before it can go on.
enum class Cause {
  input,       // whoever wrote a file or gave an option
  bench,       // whoever stands at the bench: probes, board, what lies under the tips
  link,        // whoever looks after the adapter, its cable and its driver
  interrupted  // nobody: somebody asked to stop
};

// A reason why something from outside could not be used, and what to do about it.
struct Problem {
  std::string file;         // as the person wrote it; empty when no file is concerned
  int line{};               // 1-based; 0 unknown
  int column{};             // 1-based; 0 unknown
  std::string code;         // "GBR-014"; listed in docs/messages.md
  std::string message;      // one sentence, no trailing period
  std::string hint;         // what to do; may be empty
  std::string source_line;  // the offending line, for the caret; may be empty
  Cause cause{Cause::input};
  bool operator==(const Problem&) const = default;
};

// "file:line:column: error GBR-014: message\n  <source line>\n  ^\n  hint: ...": the one place
// where messages are laid out. `severity` is "error", "warning" or "note". Long source lines are
// cut around the column to 100 characters; tabs become blanks.
std::string format(const Problem& p, const std::string& severity = "error");

enum class Severity { note, warning };
struct Diagnostic {
  Severity severity{Severity::note};
  Problem what;
};

// Collects what is odd but survivable. Only `cli` prints it.
class Diagnostics {
 public:
  void note(Problem p) { list_.push_back({Severity::note, std::move(p)}); }
  void warn(Problem p) { list_.push_back({Severity::warning, std::move(p)}); }
  [[nodiscard]] const std::vector<Diagnostic>& list() const { return list_; }

 private:
  std::vector<Diagnostic> list_;
};

template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value)
      : state_(std::in_place_index<0>, std::move(value)) {}  // NOLINT: implicit by intent
  Result(Problem problem)
      : state_(std::in_place_index<1>, std::move(problem)) {}  // NOLINT: implicit by intent
  [[nodiscard]] bool ok() const { return state_.index() == 0; }
  explicit operator bool() const { return ok(); }
  T& value() & {
    ENSURE(ok());
    return *std::get_if<0>(&state_);
  }
  const T& value() const& {
    ENSURE(ok());
    return *std::get_if<0>(&state_);
  }
  T&& value() && {
    ENSURE(ok());
    return std::move(*std::get_if<0>(&state_));
  }
  T* operator->() { return &value(); }
  const T* operator->() const { return &value(); }
  T& operator*() & { return value(); }
  const T& operator*() const& { return value(); }
  T operator*() && { return std::move(*this).value(); }  // by value: nothing dangles
  [[nodiscard]] const Problem& problem() const {
    ENSURE(!ok());
    return *std::get_if<1>(&state_);
  }

 private:
  std::variant<T, Problem> state_;
};

struct Done {};  // Result<Done>: success carries nothing

}  // namespace isthmus
