// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdlib>
#include <filesystem>
#include <optional>

namespace isthmus::test {

std::filesystem::path source_dir();
std::filesystem::path binary_dir();

// The real boards, kept outside the repository: ISTHMUS_BOARDS, else ../shared/boards; nothing
// where absent (the test then skips, visibly).
inline std::optional<std::filesystem::path> boards_dir() {
  const char* named = std::getenv("ISTHMUS_BOARDS");
  const std::filesystem::path dir = named ? named : source_dir() / ".." / "shared" / "boards";
  if (!std::filesystem::is_directory(dir)) return std::nullopt;
  return dir;
}

// Folders as people have them, kept outside, too: ISTHMUS_WILD, else wild beside the real boards.
inline std::optional<std::filesystem::path> wild_dir() {
  const char* named = std::getenv("ISTHMUS_WILD");
  const auto boards = boards_dir();
  if (!named && !boards) return std::nullopt;
  const std::filesystem::path dir = named ? named : *boards / ".." / "wild";
  if (!std::filesystem::is_regular_file(dir / "expected.json")) return std::nullopt;
  return dir;
}

}  // namespace isthmus::test

#define ISTHMUS_NEEDS_BOARDS(dir)                                                          \
  const auto dir##_or_none = ::isthmus::test::boards_dir();                                \
  if (!dir##_or_none) GTEST_SKIP() << "the real boards are not here (set ISTHMUS_BOARDS)"; \
  const std::filesystem::path dir = *dir##_or_none

// The long half of a check runs where ISTHMUS_SLOW is set (.ci/run --full does) and skips visibly
// elsewhere.
#define ISTHMUS_SKIP_IF_SLOW(slow)                      \
  if ((slow) && std::getenv("ISTHMUS_SLOW") == nullptr) \
  GTEST_SKIP() << "takes long (set ISTHMUS_SLOW to run it)"
