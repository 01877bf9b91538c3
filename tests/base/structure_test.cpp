// SPDX-License-Identifier: Apache-2.0
// The direction of the folders, and the list of messages, kept by reading the sources themselves.
#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

namespace fs = std::filesystem;
using Names = std::set<std::string>;

std::string read(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

std::vector<fs::path> sources(const fs::path& dir) {
  std::vector<fs::path> list;
  for (const auto& entry : fs::recursive_directory_iterator(dir)) {
    const auto ext = entry.path().extension();
    if (ext == ".cpp" || ext == ".hpp") list.push_back(entry.path());
  }
  std::ranges::sort(list);
  return list;
}

// Folder of an include such as "isthmus/copper/gaps.hpp" or "copper/mesh.hpp"; empty for others.
Names folders_included(const std::string& text) {
  static const std::regex include("#include \"(?:isthmus/)?([a-z]+)/[^\"]+\"");
  Names found;
  for (std::sregex_iterator it(text.begin(), text.end(), include), end; it != end; ++it)
    found.insert((*it)[1]);
  return found;
}

// The lines of docs/architecture.md that begin with that, and what stands behind it.
std::vector<std::string> rows(const std::string& begin) {
  std::istringstream page(read(test::source_dir() / "docs/architecture.md"));
  std::vector<std::string> found;
  for (std::string line; std::getline(page, line);) {
    if (line.rfind(begin, 0) == 0) found.push_back(line.substr(begin.size()));
  }
  return found;
}

Names quoted(const std::string& text) {
  static const std::regex name("`([a-z]+)`");
  Names found;
  for (std::sregex_iterator it(text.begin(), text.end(), name), end; it != end; ++it)
    found.insert((*it)[1]);
  return found;
}

// The table of the folders: what each may include directly is its last column.
std::map<std::string, Names> folders() {
  std::map<std::string, Names> may;
  for (const std::string& row : rows("| `")) {
    const std::string folder = row.substr(0, row.find('`'));
    const std::size_t end = row.rfind('|'), last = row.rfind('|', end - 1);
    may[folder] = quoted(row.substr(last, end - last));
  }
  return may;
}

Names reachable(const std::map<std::string, Names>& may, const std::string& folder) {
  Names all{folder};
  for (const std::string& next : may.at(folder)) all.merge(reachable(may, next));
  return all;
}

Names directories(const fs::path& dir) {
  Names found;
  for (const auto& entry : fs::directory_iterator(dir)) {
    if (entry.is_directory()) found.insert(entry.path().filename());
  }
  return found;
}

TEST(Folders, AreThoseOfTheTableAndIncludeOnlyEarlierOnes) {
  const auto may = folders();
  Names told, earlier;
  for (const std::string& row : rows("| `")) {
    const std::string folder = row.substr(0, row.find('`'));
    for (const std::string& used : may.at(folder))
      EXPECT_TRUE(earlier.contains(used)) << folder << " before " << used;
    earlier.insert(folder);
  }
  for (const auto& [folder, direct] : may) told.insert(folder);
  EXPECT_EQ(told, directories(test::source_dir() / "src"));
}

TEST(Folders, IncludeOnlyWhatTheirPlaceInTheFlowAllows) {
  std::size_t files = 0;
  const auto may = folders();
  for (const auto& [folder, direct] : may) {
    const Names allowed = reachable(may, folder);
    for (const fs::path root : {"include/isthmus", "src"}) {
      const fs::path dir = test::source_dir() / root / folder;
      if (!fs::is_directory(dir)) continue;
      for (const fs::path& file : sources(dir)) {
        ++files;
        for (const std::string& used : folders_included(read(file))) {
          const bool ours = may.contains(used) || used == "hostsim";
          EXPECT_TRUE(!ours || allowed.contains(used)) << file << " includes " << used;
        }
      }
    }
  }
  EXPECT_GT(files, 100u);
}

// What another folder needs is a contract, and public.
TEST(Folders, PrivateHeadersServeTheirOwnFolderAlone) {
  static const std::regex own("#include \"([a-z]+)/[^\"]+\"");
  std::size_t seen = 0;
  for (const std::string& folder : directories(test::source_dir() / "src")) {
    for (const fs::path& file : sources(test::source_dir() / "src" / folder)) {
      const std::string text = read(file);
      for (std::sregex_iterator it(text.begin(), text.end(), own), end; it != end; ++it) {
        if ((*it)[1] == "isthmus") continue;
        ++seen;
        EXPECT_EQ((*it)[1], folder) << file << " has " << it->str();
      }
      EXPECT_EQ(text.find("#include \"../"), std::string::npos) << file;
    }
  }
  EXPECT_GT(seen, 100u);
}

TEST(Folders, TheSimulatorUsesBaseAndFormatsAlone) {
  const auto may = folders();
  for (const fs::path& file : sources(test::source_dir() / "hostsim")) {
    for (const std::string& used : folders_included(read(file))) {
      EXPECT_TRUE(!may.contains(used) || used == "base" || used == "formats")
          << file << " includes " << used;
    }
  }
}

TEST(Folders, ThirdPartyHeadersStayOutOfThePublicOnes) {
  static const std::regex third(
      "#include "
      "[<\"](boost|Eigen|yaml-cpp|nlohmann|fmt|sqlite3|polyclipping|clipper|libserialport|zip|"
      "httplib)");
  for (const fs::path& file : sources(test::source_dir() / "include")) {
    EXPECT_FALSE(std::regex_search(read(file), third)) << file;
  }
}

// The names of tests that the page gives as proof.
TEST(Architecture, NamesTestsThatExist) {
  std::string tests;
  for (const fs::path& file : sources(test::source_dir() / "tests")) tests += read(file);
  std::erase_if(tests, [](unsigned char c) { return std::isspace(c) != 0; });
  static const std::regex name("`([A-Z][A-Za-z]+)\\.([A-Z][A-Za-z]+)`");
  const std::string page = read(test::source_dir() / "docs/architecture.md");
  std::size_t named = 0;
  for (std::sregex_iterator it(page.begin(), page.end(), name), end; it != end; ++it, ++named) {
    const std::string test = "(" + (*it)[1].str() + "," + (*it)[2].str() + ")";
    EXPECT_NE(tests.find(test), std::string::npos) << test;
  }
  EXPECT_GT(named, 20u);
}

Names codes_in(const std::string& text) {
  static const std::regex code("\\b([A-Z]{3}-[0-9]{3})\\b");
  Names found;
  for (std::sregex_iterator it(text.begin(), text.end(), code), end; it != end; ++it)
    found.insert((*it)[1]);
  found.erase("SHA-256");  // the hash of FIPS 180-4, no message
  return found;
}

TEST(Messages, EveryCodeInTheSourcesIsListed) {
  Names listed, used;
  for (const auto& entry : fs::directory_iterator(test::source_dir() / "docs/messages"))
    listed.merge(codes_in(read(entry.path())));
  static const std::regex quoted("\"([A-Z]{3}-[0-9]{3})\"");
  for (const char* root : {"src", "hostsim"}) {
    for (const fs::path& file : sources(test::source_dir() / root)) {
      const std::string text = read(file);
      for (std::sregex_iterator it(text.begin(), text.end(), quoted), end; it != end; ++it)
        used.insert((*it)[1]);
    }
  }
  used.erase("SHA-256");  // the hash of FIPS 180-4, no message
  EXPECT_GT(used.size(), 40u);
  for (const std::string& code : used)
    EXPECT_TRUE(listed.contains(code)) << code << " is not listed in docs/messages";
  for (const std::string& code : listed)
    EXPECT_TRUE(used.contains(code)) << code << " is listed but nothing says it";
}

}  // namespace
}  // namespace isthmus
