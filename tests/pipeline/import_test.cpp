// SPDX-License-Identifier: Apache-2.0
// Folders as a fab house gets them, made from the demo board's files: what import takes each file
// for, and what it notices. Oracle: the demo board's own description and what each case does to it.
#include <gtest/gtest.h>
#include <zip.h>

#include <functional>
#include <regex>
#include <sstream>

#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus {
namespace {

namespace fs = std::filesystem;
using test::Folder;
using test::Ran;

std::string demo(const std::string& file) {
  return test::read(test::source_dir() / "fixtures/tide-gauge" / file);
}

std::string by_line(const std::string& text,
                    const std::function<std::string(const std::string&)>& change) {
  std::istringstream in(text);
  std::string out;
  for (std::string line; std::getline(in, line);) out += change(line);
  return out;
}

// Without what a file says of itself (.FileFunction and its kin).
std::string silent(const std::string& text) {
  return by_line(text, [](const std::string& line) {
    const bool says = line.rfind("%TF", 0) == 0 || line.rfind("; #@! TF", 0) == 0;
    return says ? std::string() : line + "\n";
  });
}

// About x = 30 mm, the middle of the board. REQUIRES coordinates in nanometres, no arcs.
std::string mirrored(const std::string& text) {
  return by_line(text, [](const std::string& line) {
    std::size_t used = 0;
    if (line.empty() || line[0] != 'X') return line + "\n";
    const long long x = std::stoll(line.substr(1), &used);
    return "X" + std::to_string(60'000'000 - x) + line.substr(1 + used) + "\n";
  });
}

class Import : public ::testing::Test {
 protected:
  void put(const std::string& name, const std::string& bytes) const {
    const fs::path file = folder_ / ("in/" + name);
    fs::create_directories(file.parent_path());
    test::write(file, bytes);
  }
  void put_all(const std::string& under = "",
               const std::function<std::string(std::string)>& change = nullptr) const {
    for (const char* file : {"top.gbr", "bottom.gbr", "edge.gbr", "top-mask.gbr", "bottom-mask.gbr",
                             "holes.drl", "mounting.drl", "tide-gauge.d356"}) {
      const std::string text = demo(file);
      put(under + file, change ? change(text) : text);
    }
  }
  [[nodiscard]] Ran import(const std::string& from = "in") const {
    return test::isthmus({"import", folder_ / from, "--out", board()});
  }
  [[nodiscard]] std::string board() const { return folder_ / "board.yaml"; }
  [[nodiscard]] std::string yaml() const { return test::read(board()); }
  // What inspect says of the description as it was written.
  [[nodiscard]] Ran inspect() const { return test::isthmus({"inspect", board(), "--json"}); }
  void taken_whole(const std::string& under = "in/") const {
    const std::string text = yaml();
    EXPECT_NE(text.find("top: " + under + "top.gbr, bottom: " + under +
                        "bottom.gbr, outline: " + under + "edge.gbr"),
              std::string::npos)
        << text;
    EXPECT_NE(text.find("file: " + under + "holes.drl"), std::string::npos) << text;
    EXPECT_NE(text.find("netlist: " + under + "tide-gauge.d356"), std::string::npos) << text;
  }

  Folder folder_;
};

bool says(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}
#define EXPECT_SAYS(text, part) EXPECT_TRUE(says(text, part)) << (text)

TEST_F(Import, TakesAFolderAndSaysWhatForAndWhy) {
  put_all();
  const Ran ran = import();
  EXPECT_EQ(ran.code, 0) << ran.err;
  EXPECT_EQ(ran.err, "");
  for (const char* line : {"top copper     top.gbr          says .FileFunction Copper,L1,Top",
                           "bottom copper  bottom.gbr       says .FileFunction Copper,L2,Bot",
                           "netlist        tide-gauge.d356  holds IPC-D-356 records"}) {
    EXPECT_SAYS(ran.out, line);
    // The description says the same to whoever reads it.
    EXPECT_SAYS(yaml(), std::string(line).substr(0, 13));
  }
  taken_whole();
  // 116 drilled records and as many plated holes, by grep; all pads are the artwork's own.
  EXPECT_SAYS(ran.out, "116 of 116 plated holes lie on copper");
  EXPECT_SAYS(ran.out, "314 of 314 points lie on copper");
  EXPECT_EQ(inspect().code, 0);
}

TEST_F(Import, BelievesContentWhereNamesLie) {
  const std::map<std::string, std::string> lies{
      {"top.gbr", "b.gbl"},           {"bottom.gbr", "b.gtl"},     {"top-mask.gbr", "b.gko"},
      {"bottom-mask.gbr", "b.drl"},   {"edge.gbr", "b.gts"},       {"holes.drl", "b.gbs"},
      {"mounting.drl", "readme.txt"}, {"tide-gauge.d356", "b.gto"}};
  for (const auto& [file, name] : lies) put(name, demo(file));
  const Ran ran = import();
  EXPECT_EQ(ran.code, 0) << ran.err;
  EXPECT_SAYS(yaml(), "top: in/b.gbl, bottom: in/b.gtl, outline: in/b.gts");
  EXPECT_SAYS(yaml(), "netlist: in/b.gto");
  EXPECT_EQ(inspect().code, 0);
}

TEST_F(Import, FollowsNamesWhereContentIsSilent) {
  put_all("", silent);
  const Ran ran = import();
  EXPECT_EQ(ran.code, 0) << ran.err;
  taken_whole();
  EXPECT_SAYS(ran.out, "named like top copper");
  EXPECT_EQ(inspect().code, 0);
}

TEST_F(Import, RefusesWhereNeitherContentNorNamesTellAndShowsWhatToWrite) {
  put_all("", silent);
  for (const auto& [from, to] : {std::pair("top.gbr", "1.dat"), std::pair("bottom.gbr", "2.dat"),
                                 std::pair("edge.gbr", "3.dat")}) {
    fs::rename(folder_ / "in" / from, folder_ / "in" / to);
  }
  const Ran ran = import();
  EXPECT_EQ(ran.code, 2);
  EXPECT_EQ(ran.out, "");
  EXPECT_SAYS(ran.err, "IMP-006");
  EXPECT_SAYS(ran.err, "holes in its pads 116 of 120");
  // Copper, with its tracks and its pads at the holes, comes before the outline.
  EXPECT_TRUE(
      std::regex_search(ran.err, std::regex(R"(artwork: \{top: [12]\.dat, bottom: [12]\.dat\})")))
      << ran.err;
  EXPECT_FALSE(fs::exists(board()));
}

TEST_F(Import, NoticesSidesThatAreExchanged) {
  put_all("", silent);
  fs::rename(folder_ / "in/top.gbr", folder_ / "in/x.gbr");
  fs::rename(folder_ / "in/bottom.gbr", folder_ / "in/top.gbr");
  fs::rename(folder_ / "in/x.gbr", folder_ / "in/bottom.gbr");
  const Ran ran = import();
  EXPECT_EQ(ran.code, 2);
  EXPECT_EQ(ran.out, "");
  EXPECT_SAYS(ran.err, "DSN-021");
  EXPECT_SAYS(ran.err, "exchange artwork: top and bottom");
  // What it says to do is what mends it.
  test::write(board(), test::with(yaml(), "top: in/top.gbr, bottom: in/bottom.gbr",
                                  "top: in/bottom.gbr, bottom: in/top.gbr"));
  EXPECT_EQ(inspect().code, 0);
}

TEST_F(Import, NoticesAMirroredLayer) {
  for (const std::string file : {"bottom.gbr", "top.gbr"}) {
    put_all();
    put(file, mirrored(demo(file)));
    fs::remove(board());
    const Ran ran = import();
    EXPECT_NE(ran.code, 0);
    EXPECT_SAYS(ran.err, file + ": warning DSN-022: is mirrored in x");
    EXPECT_TRUE(fs::exists(board()));
  }
}

TEST_F(Import, NoticesAMirroredMask) {
  put_all();
  put("top-mask.gbr", mirrored(demo("top-mask.gbr")));
  const Ran ran = import();
  EXPECT_EQ(ran.code, 1);
  EXPECT_SAYS(ran.err, "top-mask.gbr: warning DSN-022: is mirrored in x against the copper");
}

TEST_F(Import, NoticesADrillFileSeenFromBelow) {
  put_all();
  put("holes.drl", by_line(demo("holes.drl"), [](const std::string& line) {
        std::size_t used = 0;
        if (line.empty() || line[0] != 'X') return line + "\n";
        const double x = std::stod(line.substr(1), &used);
        std::ostringstream out;
        out << "X" << std::fixed << 60 - x << line.substr(1 + used) << "\n";
        return out.str();
      }));
  fs::remove(folder_ / "in/mounting.drl");
  const Ran ran = import();
  EXPECT_EQ(ran.code, 1);
  EXPECT_SAYS(ran.err, "warning DSN-018: all holes are brought to the artwork");
  EXPECT_SAYS(ran.err, "mirrored in x");
}

TEST_F(Import, NoticesMasksThatAreExchanged) {
  put_all("", silent);
  fs::rename(folder_ / "in/top-mask.gbr", folder_ / "in/x.gbr");
  fs::rename(folder_ / "in/bottom-mask.gbr", folder_ / "in/top-mask.gbr");
  fs::rename(folder_ / "in/x.gbr", folder_ / "in/bottom-mask.gbr");
  const Ran ran = import();
  EXPECT_EQ(ran.code, 1);
  EXPECT_SAYS(ran.err, "DSN-023");
  EXPECT_SAYS(ran.err, "hint: exchange mask: top and bottom in board.yaml\n");
  EXPECT_TRUE(fs::exists(board()));
}

TEST_F(Import, NoticesAMissingDrillFile) {
  put_all();
  fs::remove(folder_ / "in/holes.drl");
  const Ran ran = import();
  EXPECT_EQ(ran.code, 1);
  EXPECT_SAYS(ran.err, "IMP-029");
  EXPECT_SAYS(ran.err, "116 of 116 drilled points of the netlist have no hole");
  EXPECT_TRUE(fs::exists(board()));
}

TEST_F(Import, NoticesAMissingDrillFileWithoutANetlist) {
  put_all();
  for (const char* file : {"holes.drl", "mounting.drl", "tide-gauge.d356"}) {
    fs::remove(folder_ / "in" / file);
  }
  const Ran ran = import();
  EXPECT_EQ(ran.code, 1);
  EXPECT_SAYS(ran.err, "IMP-029");
  EXPECT_SAYS(ran.err, "there is no drill file among them");
}

TEST_F(Import, NoticesAMissingSide) {
  put_all("", silent);
  fs::remove(folder_ / "in/top.gbr");
  const Ran ran = import();
  EXPECT_EQ(ran.code, 1);
  EXPECT_SAYS(ran.err, "IMP-030");
  EXPECT_SAYS(ran.err, "no top copper among the files, but the netlist has 198 pads there");
}

TEST_F(Import, NoticesTheNetlistOfAnotherRevision) {
  put_all();
  int n = 0;
  put("tide-gauge.d356", std::regex_replace(demo("tide-gauge.d356"), std::regex("Y\\+00"), "Y+10"));
  put("tide-gauge.d356", by_line(test::read(folder_ / "in/tide-gauge.d356"), [&](std::string line) {
        const auto x = line.find("X+0");
        if (x != std::string::npos) line[x + 4] = static_cast<char>('0' + n++ * 7 % 10);
        return line + "\n";
      }));
  const Ran ran = import();
  EXPECT_EQ(ran.code, 2);
  EXPECT_SAYS(ran.err, "DSN-016");
  EXPECT_SAYS(ran.err, "cannot be used until that is mended");
  EXPECT_TRUE(fs::exists(board()));
}

TEST_F(Import, LeavesJunkAndSaysSo) {
  put_all();
  put("readme.txt", "fabricate in green\n");
  put("photo.png", std::string("\x89PNG\r\n\x1a\n\0\0\0\rIHDR", 16));
  put("empty.gbr", "");
  put("legend.gto", "%TF.FileFunction,Legend,Top*%\n%FSLAX46Y46*%\n%MOMM*%\nM02*\n");
  put(".hidden.gbr", demo("bottom.gbr"));
  put("odd\nname: {.txt", "x");
  const Ran ran = import();
  EXPECT_EQ(ran.code, 0) << ran.err;
  for (const char* left : {"readme.txt", "photo.png", "empty.gbr"}) {
    EXPECT_TRUE(std::regex_search(
        ran.out, std::regex(std::string("left +") + left + " +neither Gerber, drill nor netlist")))
        << ran.out;
  }
  EXPECT_TRUE(
      std::regex_search(ran.out, std::regex("left +legend.gto +says .FileFunction Legend,Top")))
      << ran.out;
  EXPECT_FALSE(says(ran.out, "hidden"));
  taken_whole();
  EXPECT_EQ(inspect().code, 0);
}

TEST_F(Import, LooksIntoSubfolders) {
  put_all("gerber/");
  for (const char* file : {"holes.drl", "mounting.drl"}) {
    fs::create_directories(folder_ / "in/drill/plated");
    fs::rename(folder_ / "in/gerber" / file, folder_ / "in/drill/plated" / file);
  }
  fs::rename(folder_ / "in/gerber/tide-gauge.d356", folder_ / "in/tide-gauge.d356");
  const Ran ran = import();
  EXPECT_EQ(ran.code, 0) << ran.err;
  EXPECT_SAYS(yaml(), "file: in/drill/plated/holes.drl");
  EXPECT_SAYS(yaml(), "top: in/gerber/top.gbr");
  EXPECT_EQ(inspect().code, 0);
}

TEST_F(Import, ADrillFileInASubfolderOfTheDesignIsTaken) {
  put_all();
  fs::create_directories(folder_ / "in/drill");
  for (const char* file : {"holes.drl", "mounting.drl"}) {
    fs::rename(folder_ / "in" / file, folder_ / "in/drill" / file);
  }
  const Ran ran = import();
  EXPECT_EQ(ran.code, 0) << ran.err;
  EXPECT_SAYS(yaml(), "file: in/drill/holes.drl");
}

TEST_F(Import, AnOlderRevisionBelowIsLeft) {
  put_all();
  put_all("old/", mirrored);
  const Ran ran = import();
  EXPECT_EQ(ran.code, 0) << ran.err;
  taken_whole();
  EXPECT_TRUE(std::regex_search(
      ran.out, std::regex("left +old/holes.drl +holds drill commands, but others like it")))
      << ran.out;
}

TEST_F(Import, TwoRevisionsSideBySideAreRefused) {
  put_all("a/");
  put_all("b/", [](const std::string& text) { return text + "\n"; });
  const Ran ran = import();
  EXPECT_EQ(ran.code, 2);
  EXPECT_EQ(ran.out, "");
  EXPECT_SAYS(ran.err, "IMP-005");
  EXPECT_FALSE(fs::exists(board()));
}

void zip_folder(const fs::path& folder, const fs::path& file) {
  zip_t* const zip = zip_open(file.c_str(), ZIP_CREATE, nullptr);
  ASSERT_NE(zip, nullptr);
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    if (!entry.is_regular_file()) continue;
    zip_source_t* const bytes = zip_source_file(zip, entry.path().c_str(), 0, 0);
    zip_file_add(zip, entry.path().lexically_relative(folder).c_str(), bytes, 0);
  }
  ASSERT_EQ(zip_close(zip), 0);
}

TEST_F(Import, TakesAZipAndUnpacksItBesideTheDescription) {
  put_all("gerber/");
  put("readme.txt", "x");
  zip_folder(folder_ / "in", folder_ / "order.zip");
  fs::remove_all(folder_ / "in");
  const Ran ran = import("order.zip");
  EXPECT_EQ(ran.code, 0) << ran.err;
  taken_whole("order/gerber/");
  EXPECT_SAYS(yaml(), "name: order");
  EXPECT_EQ(inspect().code, 0);
  // Once more: the unpacked folder holds the same and is used as it is.
  EXPECT_EQ(test::isthmus({"import", folder_ / "order.zip", "--out", board(), "--force"}).code, 0);
}

TEST_F(Import, AFolderThatHoldsOneArchiveAloneTakesIt) {
  put_all();
  fs::create_directories(folder_ / "outer");
  zip_folder(folder_ / "in", folder_ / "outer/order.zip");
  const Ran ran = import("outer");
  EXPECT_EQ(ran.code, 0) << ran.err;
  EXPECT_SAYS(yaml(), "top: order/top.gbr");
}

TEST_F(Import, AFolderThatHoldsTwoArchivesPointsToThem) {
  put_all();
  fs::create_directories(folder_ / "outer");
  zip_folder(folder_ / "in", folder_ / "outer/order.zip");
  put("new.txt", "another");
  zip_folder(folder_ / "in", folder_ / "outer/order2.zip");
  const Ran ran = import("outer");
  EXPECT_EQ(ran.code, 2);
  EXPECT_SAYS(ran.err, "IMP-006");
  EXPECT_SAYS(ran.err, "order.zip");
  EXPECT_SAYS(ran.err, "order2.zip");
}

// The list of holes, as the description carries it, is read as `joins` once the signs are away.
TEST_F(Import, WritesTheHolesThatCanBeJoined) {
  put_all();
  ASSERT_EQ(import().code, 0);
  std::istringstream lines(yaml());
  std::string text, list;
  for (std::string line; std::getline(lines, line);) {
    if (line.rfind("joins: none", 0) == 0) continue;
    const bool listed = line.rfind("# joins:", 0) == 0 || line.rfind("#   - {at", 0) == 0;
    (listed ? list : text) += (listed ? line.substr(2) : line) + "\n";
  }
  test::write(board(), text + list);
  const Ran ran = test::isthmus({"inspect", board(), "--stage", "joined", "--json", "--holes"});
  ASSERT_LE(ran.code, 1) << ran.err;
  const auto holes = test::json_of(ran)["holes"];
  EXPECT_EQ(holes.size(), 116u);  // as many drilled records, by grep
  for (const auto& hole : holes) {
    EXPECT_EQ(hole["join"], hole["group"] == "lead" ? "deferred" : "wire") << hole.dump();
  }
}

TEST_F(Import, AMaskThatCannotBeReadIsLeft) {
  put_all();
  put("top-mask.gbr", test::with(demo("top-mask.gbr"), "%MOMM*%", "%MOMM*%\n%IPNEG*%"));
  const Ran ran = import();
  EXPECT_EQ(ran.code, 0) << ran.err;
  EXPECT_SAYS(ran.err, "IMP-028");
  EXPECT_SAYS(yaml(), "mask: {bottom: in/bottom-mask.gbr}");
  EXPECT_EQ(inspect().code, 0);
}

TEST_F(Import, CopperThatCannotBeReadIsAnErrorWithItsPlace) {
  put_all();
  put("top.gbr", test::with(demo("top.gbr"), "%MOMM*%", "%MOMM*%\n%IPNEG*%"));
  const Ran ran = import();
  EXPECT_EQ(ran.code, 2);
  EXPECT_EQ(ran.out, "");
  EXPECT_SAYS(ran.err, "GBR-056");
  EXPECT_SAYS(ran.err, "top.gbr:");
  EXPECT_SAYS(ran.err, "Wrote ");
}

TEST_F(Import, ReplacesNothingWithoutForce) {
  put_all();
  test::write(board(), "mine");
  const Ran ran = import();
  EXPECT_EQ(ran.code, 2);
  EXPECT_EQ(ran.out, "");
  EXPECT_SAYS(ran.err, "CLI-030");
  EXPECT_EQ(yaml(), "mine");
}

// What a person may have edited is not replaced unasked; what is made from it is.
TEST_F(Import, AFixtureIsReplacedOnlyWithForce) {
  put_all();
  ASSERT_EQ(import().code, 0);
  const std::string file = folder_ / "fixture.yaml", drill = folder_ / "plate.drl";
  test::write(file, "mine");
  std::vector<std::string> words{"fixture", board(), "--channels", "256", "--contact-check",
                                 "--out",   file,    "--drill",    drill};
  const Ran refused = test::isthmus(words);
  EXPECT_EQ(refused.code, 2);
  EXPECT_SAYS(refused.err, "CLI-030");
  EXPECT_EQ(test::read(file), "mine");
  EXPECT_FALSE(fs::exists(drill));
  words.emplace_back("--force");
  const Ran made = test::isthmus(words);
  EXPECT_EQ(made.code, 0) << made.err;
  EXPECT_SAYS(test::read(file), "placements:");
}

}  // namespace
}  // namespace isthmus
