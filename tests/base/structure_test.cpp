// SPDX-License-Identifier: Apache-2.0
// The direction of the folders, and the list of messages, kept by reading the sources themselves.
#include <gtest/gtest.h>

#include <algorithm>
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

// Direct permissions of docs/architecture.md; what these may include is allowed too.
const std::map<std::string, Names> kMay{
    {"base", {}},           {"formats", {"base"}},          {"copper", {"formats"}},
    {"expect", {"copper"}}, {"plan", {"expect"}},           {"diagnose", {"plan"}},
    {"adapter", {"base"}},  {"record", {"diagnose"}},       {"session", {"adapter", "record"}},
    {"report", {"record"}}, {"cli", {"session", "report"}},
};

Names reachable(const std::string& folder) {
  Names all{folder};
  for (const std::string& next : kMay.at(folder)) all.merge(reachable(next));
  return all;
}

TEST(Folders, IncludeOnlyWhatTheirPlaceInTheFlowAllows) {
  std::size_t files = 0;
  for (const auto& [folder, direct] : kMay) {
    const Names allowed = reachable(folder);
    for (const fs::path root : {"include/isthmus", "src"}) {
      const fs::path dir = test::source_dir() / root / folder;
      if (!fs::is_directory(dir)) continue;
      for (const fs::path& file : sources(dir)) {
        ++files;
        for (const std::string& used : folders_included(read(file))) {
          const bool ours = kMay.contains(used) || used == "hostsim";
          EXPECT_TRUE(!ours || allowed.contains(used)) << file << " includes " << used;
        }
      }
    }
  }
  EXPECT_GT(files, 100u);
}

TEST(Folders, TheSimulatorUsesBaseAndFormatsAlone) {
  for (const fs::path& file : sources(test::source_dir() / "hostsim")) {
    for (const std::string& used : folders_included(read(file))) {
      EXPECT_TRUE(!kMay.contains(used) || used == "base" || used == "formats")
          << file << " includes " << used;
    }
  }
}

TEST(Folders, ThirdPartyHeadersStayOutOfThePublicOnes) {
  static const std::regex third(
      "#include "
      "[<\"](boost|Eigen|yaml-cpp|nlohmann|fmt|sqlite3|polyclipping|clipper|libserialport|zip)");
  for (const fs::path& file : sources(test::source_dir() / "include")) {
    EXPECT_FALSE(std::regex_search(read(file), third)) << file;
  }
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
