// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>
#include <sys/stat.h>

#include "isthmus/formats/design.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

using test::TempDir;

TEST(WholeFile, ComesBackAsWritten) {
  const TempDir dir;
  const std::string bytes("a\0b\r\n\xff", 6);
  ASSERT_TRUE(write_whole_file(dir.path() / "f", bytes).ok());
  EXPECT_EQ(*read_whole_file(dir.path() / "f"), bytes);
}

TEST(WholeFile, LeavesNothingBesideIt) {
  const TempDir dir;
  ASSERT_TRUE(write_whole_file(dir.path() / "f", "one").ok());
  ASSERT_TRUE(write_whole_file(dir.path() / "f", "two").ok());
  EXPECT_EQ(*read_whole_file(dir.path() / "f"), "two");
  const std::filesystem::directory_iterator files(dir.path());
  EXPECT_EQ(std::distance(begin(files), end(files)), 1);
}

TEST(WholeFile, NamesAMissingFile) {
  const Result<std::string> r = read_whole_file("no-such-dir/no-such-file");
  EXPECT_EQ(r.problem().code, "DSN-001");
  EXPECT_EQ(r.problem().file, "no-such-dir/no-such-file");
}

TEST(WholeFile, RefusesFoldersPipesAndTooMuch) {
  const TempDir dir;
  EXPECT_EQ(read_whole_file(dir.path()).problem().code, "DSN-002");
  ASSERT_EQ(::mkfifo((dir.path() / "pipe").c_str(), 0600), 0);
  EXPECT_EQ(read_whole_file(dir.path() / "pipe").problem().code, "DSN-002");
  const auto file = dir.write("f", "12345");
  EXPECT_EQ(read_whole_file(file, 4).problem().code, "DSN-003");
  EXPECT_TRUE(read_whole_file(file, 5).ok());
}

TEST(WholeFile, ThatCannotBeReplacedLeavesNoHalf) {
  const TempDir dir;
  std::filesystem::create_directory(dir.path() / "taken");
  dir.write("taken/x", "");
  EXPECT_EQ(write_whole_file(dir.path() / "taken", "x").problem().code, "DSN-004");
  const std::filesystem::directory_iterator files(dir.path());
  EXPECT_EQ(std::distance(begin(files), end(files)), 1);
  EXPECT_EQ(write_whole_file(dir.path() / "nowhere" / "f", "x").problem().code, "DSN-004");
}

}  // namespace
}  // namespace isthmus::formats
