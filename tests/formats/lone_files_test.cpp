// SPDX-License-Identifier: Apache-2.0
// Single odd files from the wild. Oracle: a plain scan of their text, which knows nothing of the
// readers: lines by their first characters, commands by their letters. Where a file cannot be
// counted so, the reason stands beside it.
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "isthmus/formats/drill.hpp"
#include "isthmus/formats/gerber.hpp"
#include "isthmus/formats/ipc_d_356.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

namespace fs = std::filesystem;

std::vector<fs::path> files_in(const fs::path& folder) {
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(folder)) {
    if (entry.path().filename() != "SOURCES.tsv") files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines(1);
  for (const char c : text) {
    if (c == '\n' || c == '\r') {
      lines.emplace_back();
    } else {
      lines.back() += c;
    }
  }
  return lines;
}

std::string stripped(std::string s) {
  s.erase(0, s.find_first_not_of(' '));
  s.erase(s.find_last_not_of(' ') + 1);
  return s;
}

// IPC-D-356A, test records: operation code in columns 1 to 3, net in 4 to 17.
struct Counted {
  std::size_t records{};
  std::set<std::string> nets;
};
Counted scanned(const std::string& text) {
  Counted out;
  for (const std::string& line : lines_of(text)) {
    const std::string code = line.substr(0, 3);
    if (code != "317" && code != "327" && code != "307" && code != "367") continue;
    ++out.records;
    const std::string net = stripped(line.substr(3, 14));
    if (!net.empty() && net != "N/C") out.nets.insert(net);
  }
  return out;
}

TEST(LoneNetlists, HoldTheRecordsAndNetsThatAPlainScanCounts) {
  ISTHMUS_NEEDS_BOARDS(boards);
  std::size_t files = 0;
  for (const fs::path& file : files_in(boards / "lone-d356")) {
    const std::string name = file.filename().string(), text = test::read_bytes(file);
    Diagnostics notes;
    const Result<Netlist> read = read_ipc_d_356(text, name, notes);
    ASSERT_TRUE(read.ok()) << format(read.problem());
    std::set<std::string> nets;
    for (const NetlistRecord& r : read->records) {
      if (!r.net.empty() && r.net != "N/C") nets.insert(r.net);
    }
    const Counted counted = scanned(text);
    EXPECT_EQ(read->records.size(), counted.records) << name;
    EXPECT_EQ(nets.size(), counted.nets.size()) << name;
    ++files;
  }
  EXPECT_EQ(files, 16u);
}

bool is_gerber(const std::string& text) {
  return text.find("%FS") != text.npos || text.find("%AD") != text.npos ||
         text.find("%MO") != text.npos;
}

using Reasons = std::map<std::string, std::pair<const char*, const char*>>;

// Refused with this code, and why that is true of the file.
const Reasons kRefused{
    {"gbn__test_syntax_error.gbr", {"GBR-025", "made so: D99 is never defined"}},
    {"odd__6_vbat.gbr", {"GBR-014", "a % closes a command without its *"}},
    {"odd__EtchLayer2Bottom.gdo", {"GBR-047", "G03 with neither G74 nor G75 before it"}},
    {"odd__full-ex.grb", {"GBR-011", "no units anywhere"}},
    {"odd__limit-ex.grb", {"GBR-011", "no units anywhere"}},
    {"syn__test-aperture-polygon-flash-1.gbx", {"GBR-020", "a polygon with a rectangular hole"}},
    {"syn__test-image-justify-1.gbx", {"GBR-056", "IJ"}},
    {"syn__test-image-justify-2.gbx", {"GBR-056", "IJ"}},
    {"syn__test-image-offset-1.gbx", {"GBR-056", "IO"}},
    {"syn__test-image-offset-2.gbx", {"GBR-056", "IO"}},
    {"syn__test-image-polarity-1.gbx", {"GBR-056", "IPNEG: copper is what is not drawn"}},
    {"syn__test-image-rotation-1.gbx", {"GBR-056", "IR270"}},
    {"syn__test-include-file-1.gbx", {"GBR-056", "IO, and another file included"}},
    {"syn__test-layer-axis-select-1.gbx", {"GBR-056", "AS exchanges the axes"}},
    {"syn__test-layer-knockout-1.gbx", {"GBR-056", "KO"}},
    {"syn__test-layer-knockout-2.gbx", {"GBR-056", "KO"}},
    {"syn__test-layer-mirror-image-1.gbx", {"GBR-056", "MI of both axes"}},
    {"syn__test-layer-mode-1.gbx", {"GBR-055", "MO a second time, with other units"}},
    {"syn__test-layer-offset-1.gbx", {"GBR-056", "OF other than 0"}},
    {"syn__test-layer-rotation-1.gbx", {"GBR-056", "RO"}},
    {"syn__test-layer-scale-factor-1.gbx", {"GBR-056", "SF of 2 and 1"}},
    {"gbn-pads__Drill.drl", {"DRL-007", "no units anywhere"}},
    {"gbn__test_syntax_error.exc", {"DRL-014", "made so: T99 has no size"}},
    {"odd__SE_SG_IF_V2.DRL", {"DRL-002", "binary"}},
    {"syn__include-file-1.gbx", {"DRL-002", "a fragment of Gerber to be included elsewhere"}},
};

// One command stands for more than one object.
const std::map<std::string, const char*> kRepeated{
    {"odd__top_sr.gbx", "step and repeat"},
    {"ts-step-repeats__multi-polarity-over-existing.gbr", "step and repeat"},
    {"ts-step-repeats__multi-polarity-over-self.gbr", "step and repeat"},
    {"ts-step-repeats__multi-polarity.gbr", "step and repeat"},
    {"ts-step-repeats__one-polarity.gbr", "step and repeat"},
    {"gbn-q-composite-drill__LimeSDR-QPCIe_1v2-SlotHoles.TXT", "routed slots"},
    {"gbn-s__80101_0125_F200_ContourPlated.ncd", "routed slots"},
    {"syn__test-drill-repeat-1.exc", "R repeats"},
    {"ts-drill__arc-route.drl", "a routed arc"},
    {"ts-drill__linear-route.drl", "a routed slot"},
};

// Gerber Layer Format 2023.08, its deprecated usages (D03 may be left out where the operation
// before was one): blocks end with *.
std::size_t scanned_flashes(const std::string& text) {
  static const std::regex operation("D0?([123])$"), place("^(G0?[123])?[XY]");
  std::istringstream blocks(std::regex_replace(text, std::regex("[\r\n]|%[^%]*%"), ""));
  std::size_t flashes = 0;
  char last = '0';
  for (std::string block; std::getline(blocks, block, '*');) {
    if (block.rfind("G04", 0) == 0 || block.rfind("G4 ", 0) == 0) continue;
    std::smatch code;
    const bool coded = std::regex_search(block, code, operation);
    if (coded) last = code.str(1)[0];
    if (coded || std::regex_search(block, place)) flashes += last == '3' ? 1u : 0u;
  }
  return flashes;
}

template <class T>
bool as_expected(const std::string& name, const Result<T>& read) {
  const auto expected = kRefused.find(name);
  const std::string code = expected == kRefused.end() ? "" : expected->second.first;
  EXPECT_EQ(read.ok() ? "" : read.problem().code, code) << name;
  return read.ok();
}

TEST(LoneGerbers, AreReadWithTheirFlashesOrRefusedForATrueReason) {
  ISTHMUS_NEEDS_BOARDS(boards);
  std::size_t read = 0, refused = 0;
  for (const fs::path& file : files_in(boards / "lone-gerber")) {
    const std::string name = file.filename().string(), text = test::read_bytes(file);
    if (!is_gerber(text)) continue;
    Diagnostics notes;
    const Result<LayerImage> image = read_gerber(text, name, notes);
    ++(image.ok() ? read : refused);
    if (!as_expected(name, image) || kRepeated.contains(name)) continue;
    const auto flashes = std::ranges::count(image->objects, ObjectKind::flash, &Object::kind);
    EXPECT_EQ(static_cast<std::size_t>(flashes), scanned_flashes(text)) << name;
  }
  EXPECT_EQ(refused, 21u);
  EXPECT_EQ(read, 113u);
}

// Hits by lines that begin with a coordinate.
TEST(LoneDrills, AreReadWithTheirHitsOrRefusedForATrueReason) {
  ISTHMUS_NEEDS_BOARDS(boards);
  std::size_t read = 0, refused = 0;
  for (const fs::path& file : files_in(boards / "lone-gerber")) {
    const std::string name = file.filename().string(), text = test::read_bytes(file);
    if (is_gerber(text)) continue;
    Diagnostics notes;
    const Result<DrillFile> drill = read_drill(text, name, notes);
    ++(drill.ok() ? read : refused);
    if (!as_expected(name, drill) || kRepeated.contains(name)) continue;
    const auto hits = std::ranges::count_if(lines_of(text), [](const std::string& line) {
      return !line.empty() && (line[0] == 'X' || line[0] == 'Y');
    });
    EXPECT_EQ(drill->holes.size(), static_cast<std::size_t>(hits)) << name;
  }
  EXPECT_EQ(refused, 4u);
  EXPECT_EQ(read, 16u);
}

}  // namespace
}  // namespace isthmus::formats
