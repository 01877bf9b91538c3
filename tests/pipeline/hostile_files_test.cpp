// SPDX-License-Identifier: Apache-2.0
// Names that are no design files: refused at once, nothing on stdout, nothing written.
#include <gtest/gtest.h>
#include <sys/stat.h>

#include "tests/pipeline/programs.hpp"

namespace isthmus {
namespace {

using test::Folder;
using test::Ran;

void expect_refusal(const std::vector<std::string>& arguments, const std::string& code) {
  const Ran ran = test::isthmus(arguments);
  EXPECT_EQ(ran.code, 2) << arguments[1];
  EXPECT_EQ(ran.out, "");
  EXPECT_NE(ran.err.find("error " + code + ":"), std::string::npos) << ran.err;
}

TEST(HostileFiles, DevicesPipesAndFoldersAreNoBoards) {
  const Folder folder;
  ASSERT_EQ(::mkfifo((folder / "pipe").c_str(), 0600), 0);
  expect_refusal({"inspect", "/dev/zero"}, "DSN-002");
  expect_refusal({"inspect", (folder / "pipe").string()}, "DSN-002");
  expect_refusal({"inspect", folder.path().string()}, "CLI-035");
  expect_refusal({"import", "/dev/zero", "--out", (folder / "b.yaml").string()}, "IMP-001");
  expect_refusal({"import", (folder / "pipe").string(), "--out", (folder / "b.yaml").string()},
                 "IMP-001");
  EXPECT_FALSE(std::filesystem::exists(folder / "b.yaml"));
}

TEST(HostileFiles, OfNulsAreNoBoards) {
  const Folder folder;
  test::write(folder / "nuls.yaml", std::string(20'000'000, '\0'));
  expect_refusal({"inspect", (folder / "nuls.yaml").string()}, "YML-014");
}

}  // namespace
}  // namespace isthmus
