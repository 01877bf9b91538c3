// SPDX-License-Identifier: Apache-2.0
#include "formats/import/zip_archive.hpp"

#include <gtest/gtest.h>
#include <zip.h>

#include "isthmus/formats/recognise.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

using test::TempDir;
using Entries = std::vector<std::pair<std::string, std::string>>;

std::filesystem::path make_zip(const TempDir& dir, const Entries& entries) {
  const std::filesystem::path file = dir.path() / "gerbers.zip";
  int error = 0;
  zip_t* zip = zip_open(file.c_str(), ZIP_CREATE | ZIP_TRUNCATE, &error);
  for (const auto& [name, bytes] : entries) {
    zip_source_t* source = zip_source_buffer(zip, bytes.data(), bytes.size(), 0);
    EXPECT_GE(zip_file_add(zip, name.c_str(), source, 0), 0) << name;
  }
  EXPECT_EQ(zip_close(zip), 0);
  return file;
}
std::size_t entries_in(const std::filesystem::path& folder) {
  const std::filesystem::directory_iterator files(folder);
  return static_cast<std::size_t>(std::distance(begin(files), end(files)));
}

TEST(UnpackZip, KeepsFilesAndFolders) {
  const TempDir dir;
  const auto zip = make_zip(dir, {{"a.gtl", "one"}, {"sub/b.gbl", "two"}});
  const auto folder = unpack_zip(zip, dir.path());
  ASSERT_TRUE(folder.ok()) << format(folder.problem());
  EXPECT_EQ(*folder, dir.path() / "gerbers");
  EXPECT_EQ(test::read_bytes(*folder / "sub/b.gbl"), "two");
  EXPECT_EQ(entries_in(dir.path()), 2u);  // the archive and the folder, nothing beside
}

TEST(UnpackZip, UsesAFolderThatHoldsTheSameAndRefusesAnother) {
  const TempDir dir;
  const auto zip = make_zip(dir, {{"a.gtl", "one"}});
  ASSERT_TRUE(unpack_zip(zip, dir.path()).ok());
  EXPECT_TRUE(unpack_zip(zip, dir.path()).ok());
  dir.write("gerbers/a.gtl", "other");
  EXPECT_EQ(unpack_zip(zip, dir.path()).problem().code, "IMP-009");
  EXPECT_EQ(test::read_bytes(dir.path() / "gerbers/a.gtl"), "other");
}

class UnsafeName : public testing::TestWithParam<const char*> {};
TEST_P(UnsafeName, IsRefusedAndNothingIsWritten) {
  const TempDir dir;
  const auto zip = make_zip(dir, {{"a.gtl", "one"}, {GetParam(), "evil"}});
  const auto folder = unpack_zip(zip, dir.path() / "work");
  ASSERT_FALSE(folder.ok());
  EXPECT_EQ(folder.problem().code, "IMP-003");
  EXPECT_EQ(entries_in(dir.path()), 1u);
}
INSTANTIATE_TEST_SUITE_P(All, UnsafeName,
                         testing::Values("../evil", "/etc/evil", "a/../../evil", "a\\..\\evil",
                                         "C:evil", "./evil", "a//evil"));

TEST(UnpackZip, CountsWhatComesOutNotWhatIsClaimed) {
  const TempDir dir;
  const auto zip = make_zip(dir, {{"zeros", std::string(1 << 20, '\0')}});
  EXPECT_LT(std::filesystem::file_size(zip), 10'000u);
  EXPECT_EQ(unpack_zip(zip, dir.path(), {200, 1 << 19}).problem().code, "IMP-004");
  EXPECT_EQ(entries_in(dir.path()), 1u);
}

TEST(UnpackZip, RefusesManyFilesAndDamage) {
  const TempDir dir;
  const auto many = make_zip(dir, {{"a", "1"}, {"b", "2"}, {"c", "3"}});
  EXPECT_EQ(unpack_zip(many, dir.path(), {2, 1000}).problem().code, "IMP-004");
  const std::string bytes = test::read_bytes(many);
  for (const std::size_t cut : {bytes.size() / 2, bytes.size() - 4}) {
    const auto damaged = dir.write("damaged.zip", bytes.substr(0, cut));
    EXPECT_EQ(unpack_zip(damaged, dir.path()).problem().code, "IMP-002");
  }
}

TEST(Recognise, LooksIntoAnArchive) {
  const TempDir dir;
  const auto zip = make_zip(dir, {{"out/a.gtl", "%FSLAX46Y46*%\nM02*\n"}});
  Diagnostics notes;
  const auto found = recognise({zip}, dir.path(), notes);
  ASSERT_TRUE(found.ok()) << format(found.problem());
  ASSERT_EQ(found->size(), 1u);
  EXPECT_EQ((*found)[0].side, Side::top);
}

}  // namespace
}  // namespace isthmus::formats
