// SPDX-License-Identifier: Apache-2.0
// Every message of the readers, as it is printed. tests/formats/golden holds for each code its
// input (CODE.gbr, .drl, .d356, .xml, .board.yaml, .fixture.yaml, or a folder: with a board.yaml it
// is loaded, without it is imported) and CODE.expected, the whole text. Inputs too large for a file
// are made here. To write the texts anew: ISTHMUS_WRITE_GOLDEN=1, then read what changed.
#include <gtest/gtest.h>
#include <zip.h>

#include <cstdlib>
#include <fstream>
#include <functional>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "formats/import/zip_archive.hpp"
#include "isthmus/formats/board_file.hpp"
#include "isthmus/formats/design.hpp"
#include "isthmus/formats/drill.hpp"
#include "isthmus/formats/fixture_file.hpp"
#include "isthmus/formats/gerber.hpp"
#include "isthmus/formats/import.hpp"
#include "isthmus/formats/ipc_2581.hpp"
#include "isthmus/formats/ipc_d_356.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

namespace fs = std::filesystem;
using test::TempDir;

fs::path golden() { return test::source_dir() / "tests/formats/golden"; }

std::string replaced_all(std::string text, const std::string& what, const std::string& by) {
  for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + by.size())) {
    text.replace(at, what.size(), by);
  }
  return text;
}

// All that is said about an input: notes and warnings first, then what refused it.
class Said {
 public:
  Diagnostics notes;
  template <class T>
  void result(const Result<T>& r) {
    if (!r) refused_ = format(r.problem());
  }
  [[nodiscard]] std::string text(const std::string& folder) const {
    std::string out;
    for (const Diagnostic& d : notes.list()) {
      out += format(d.what, d.severity == Severity::note ? "note" : "warning") + "\n";
    }
    if (!refused_.empty()) out += refused_ + "\n";
    return folder.empty() ? out : replaced_all(out, folder + "/", "");
  }

 private:
  std::string refused_;
};

void import_into(Said& said, const std::vector<fs::path>& paths, const fs::path& work) {
  const auto imported = import_files({paths, work / "board.yaml", "b", std::nullopt}, said.notes);
  said.result(imported);
  if (imported && imported->trouble) said.result(Result<Done>(*imported->trouble));
}

std::string about_folder(const fs::path& folder) {
  Said said;
  const TempDir work;
  if (const fs::path board = folder / "board.yaml"; fs::exists(board)) {
    const auto read = read_board_file(board);
    said.result(read);
    if (read) said.result(load_design(*read, said.notes));
  } else if (fs::exists(folder / "gerbers.zip")) {
    import_into(said, {folder / "gerbers.zip"}, work.path());
  } else {
    import_into(said, {folder}, work.path());
  }
  return said.text(folder.string());
}

std::string about_file(const fs::path& file) {
  Said said;
  const std::string bytes = test::read_bytes(file), name = file.filename().string();
  if (name.ends_with(".gbr")) said.result(read_gerber(bytes, name, said.notes));
  if (name.ends_with(".drl")) said.result(read_drill(bytes, name, said.notes));
  if (name.ends_with(".d356")) said.result(read_ipc_d_356(bytes, name, said.notes));
  if (name.ends_with(".xml")) said.result(read_ipc_2581(bytes, name, said.notes));
  if (name.ends_with(".board.yaml")) said.result(parse_board_file(bytes, name));
  if (name.ends_with(".fixture.yaml")) said.result(parse_fixture_file(bytes, name));
  return said.text("");
}

std::string about_gerber(const std::string& bytes) {
  Said said;
  said.result(read_gerber(bytes, "layer.gbr", said.notes));
  return said.text("");
}

std::string long_region() {
  std::string text = "%FSLAX46Y46*%\n%MOMM*%\nG36*\nX0Y0D02*\n";
  for (int i = 0; i < 100001; ++i) text += "X" + std::to_string(i) + "D01*\n";
  return about_gerber(text);
}

std::string tangle() {
  std::string text = "%FSLAX46Y46*%\n%MOMM*%\nG36*\nX0Y0D02*\n";
  for (int i = 0; i < 2000; ++i) {
    text += "X0Y" + std::to_string(i) + "D01*\nX9000000Y" + std::to_string(9000000 - i) + "D01*\n";
  }
  return about_gerber(text + "G37*\nM02*\n");
}

std::string many_attributes() {
  std::string text = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.5*%\nD10*\n%TO.N";
  for (int i = 0; i < 4000; ++i) text += ",N";
  text += "*%\n";
  for (int i = 0; i < 500; ++i) text += "%TO.C,R" + std::to_string(i) + "*%\nX0Y0D03*\n";
  return about_gerber(text + "M02*\n");
}

std::string deep_document() {
  Said said;
  std::string text = "<IPC-2581>\n";
  for (int i = 0; i < 80; ++i) text += "<Step>\n";
  for (int i = 0; i < 80; ++i) text += "</Step>";
  text += "</IPC-2581>\n";
  said.result(read_ipc_2581(text, "net.xml", said.notes));
  return said.text("");
}

std::string too_large() {
  const TempDir dir;
  Said said;
  said.result(read_whole_file(dir.write("top.gbr", "12345"), 4));
  return said.text(dir.path().string());
}

std::string not_written() {
  const TempDir dir;
  Said said;
  said.result(write_whole_file(dir.path() / "nowhere" / "board.yaml", "x"));
  return said.text(dir.path().string());
}

std::string not_there() {
  Said said;
  import_into(said, {"no-such-folder"}, ".");
  return said.text("");
}

fs::path make_zip(const TempDir& dir, const std::vector<std::string>& names) {
  const fs::path file = dir.path() / "gerbers.zip";
  int error = 0;
  zip_t* const zip = zip_open(file.c_str(), ZIP_CREATE, &error);
  for (const std::string& name : names) {
    zip_file_add(zip, name.c_str(), zip_source_buffer(zip, "x", 1, 0), 0);
  }
  EXPECT_EQ(zip_close(zip), 0);
  return file;
}

std::string about_zip(const std::vector<std::string>& names, const std::string& in_the_way = "") {
  const TempDir dir;
  Said said;
  if (!in_the_way.empty()) dir.write("gerbers/" + in_the_way, "other");
  import_into(said, {make_zip(dir, names)}, dir.path());
  return said.text(dir.path().string());
}

std::string many_in_zip() {
  std::vector<std::string> names;
  for (int i = 0; i < 201; ++i) names.push_back(std::to_string(i));
  return about_zip(names);
}

std::string named_and_silent() {
  const TempDir dir;
  Said said;
  const std::string gerber = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,1.5*%\nD10*\nX1D03*\nM02*\n";
  import_into(said, {dir.write("a.gtl", gerber), dir.write("mystery.gbr", gerber)}, dir.path());
  return said.text(dir.path().string());
}

std::string many_files() {
  const TempDir dir;
  Said said;
  for (int i = 0; i <= 2000; ++i) dir.write("in/" + std::to_string(i), "");
  import_into(said, {dir.path() / "in"}, dir.path());
  return said.text(dir.path().string());
}

const std::map<std::string, std::function<std::string()>> kMade{
    {"GBR-062", many_attributes},  {"GBR-070", long_region},
    {"GBR-073", tangle},           {"I81-002", deep_document},
    {"DSN-003", too_large},        {"DSN-004", not_written},
    {"IMP-001", not_there},        {"IMP-003", [] {
       return about_zip({"a.gtl", "../evil"}); }},
    {"IMP-004", many_in_zip},      {"IMP-008", many_files},
    {"IMP-032", named_and_silent}, {"IMP-009", [] { return about_zip({"a.gtl"}, "b.gtl"); }}};

std::map<std::string, std::function<std::string()>> cases() {
  auto out = kMade;
  for (const auto& entry : fs::directory_iterator(golden())) {
    const fs::path path = entry.path();
    const std::string code = path.filename().string().substr(0, 7);
    if (path.extension() == ".expected") continue;
    out[code] = [path] { return fs::is_directory(path) ? about_folder(path) : about_file(path); };
  }
  return out;
}

std::vector<std::string> case_names() {
  std::vector<std::string> out;
  for (const auto& [code, run] : cases()) out.push_back(code);
  return out;
}

class GoldenMessage : public testing::TestWithParam<std::string> {};

TEST_P(GoldenMessage, IsPrintedAsAgreed) {
  const fs::path expected = golden() / (GetParam() + ".expected");
  const std::string text = cases().at(GetParam())();
  EXPECT_NE(text.find(" " + GetParam() + ": "), std::string::npos) << text;
  if (std::getenv("ISTHMUS_WRITE_GOLDEN") != nullptr) {
    std::ofstream(expected, std::ios::binary) << text;
  }
  EXPECT_EQ(text, test::read_bytes(expected));
}

// A person must be told what to do: by a hint, or by the message itself ("has to be ...").
TEST_P(GoldenMessage, SaysWhatToDo) {
  std::istringstream lines(test::read_bytes(golden() / (GetParam() + ".expected")));
  std::string of_whom;
  bool told = true;
  for (std::string line; std::getline(lines, line);) {
    if (!line.starts_with(" ")) {
      EXPECT_TRUE(told) << of_whom;
      of_whom = line;
      const bool asks = line.find("error ") != line.npos || line.find("warning ") != line.npos;
      told = !asks || line.find("has to ") != line.npos || line.find("have to ") != line.npos;
    }
    told = told || line.starts_with("  hint: ");
  }
  EXPECT_TRUE(told) << of_whom;
}

INSTANTIATE_TEST_SUITE_P(All, GoldenMessage, testing::ValuesIn(case_names()),
                         [](const testing::TestParamInfo<std::string>& tested) {
                           return replaced_all(tested.param, "-", "_");
                         });

std::set<std::string> codes_in(const std::string& text, const std::string& pattern) {
  std::set<std::string> out;
  const std::regex code(pattern);
  for (std::sregex_iterator i(text.begin(), text.end(), code), end; i != end; ++i) {
    out.insert((*i)[1]);
  }
  return out;
}

constexpr const char* kPrefixes = "(?:GBR|DRL|NET|I81|YML|DSN|IMP)";

std::set<std::string> listed_codes() {
  std::set<std::string> out;
  for (const char* page : {"gbr", "drl", "net", "i81", "yml", "dsn", "imp"}) {
    const auto file = test::source_dir() / "docs/messages" / (std::string(page) + ".md");
    out.merge(
        codes_in(test::read_bytes(file), "\\| (" + std::string(kPrefixes) + "-[0-9]{3}) \\|"));
  }
  return out;
}

TEST(Messages, EachHaveACaseThatProvokesThem) {
  const auto provoked = cases();
  for (const std::string& code : listed_codes()) {
    EXPECT_TRUE(provoked.contains(code)) << "add tests/formats/golden/" << code << ".*";
  }
}

TEST(Messages, AreEachListed) {
  const std::set<std::string> listed = listed_codes();
  EXPECT_GT(listed.size(), 100u);
  for (const auto& entry : fs::directory_iterator(test::source_dir() / "src/formats")) {
    const std::string source = test::read_bytes(entry.path());
    for (const std::string& code :
         codes_in(source, "\"(" + std::string(kPrefixes) + "-[0-9]{3})\"")) {
      EXPECT_TRUE(listed.contains(code)) << code << " in " << entry.path().filename();
    }
  }
}

}  // namespace
}  // namespace isthmus::formats
