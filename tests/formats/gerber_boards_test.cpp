// SPDX-License-Identifier: Apache-2.0
// Real layers. Kept outside the repository; skipped where they are not.
#include <algorithm>
#include <fstream>
#include <iterator>

#include "tests/formats/gerber_support.hpp"
#include "tests/support/paths.hpp"

namespace isthmus::formats {
namespace {

namespace fs = std::filesystem;

std::string bytes_of(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::vector<fs::path> sorted_files(const fs::path& dir, bool recursive) {
  std::vector<fs::path> files;
  const auto add = [&files](const fs::directory_entry& e) {
    if (e.is_regular_file()) files.push_back(e.path());
  };
  if (recursive) {
    for (const auto& e : fs::recursive_directory_iterator(dir)) add(e);
  } else {
    for (const auto& e : fs::directory_iterator(dir)) add(e);
  }
  std::sort(files.begin(), files.end());
  return files;
}

// A layer by its content: an aperture is defined and an object drawn.
bool is_layer(const std::string& bytes) {
  return bytes.find("%ADD") != bytes.npos && bytes.find("D02*") != bytes.npos;
}

TEST(GerberBoards, AreReadWithoutAnErrorOrWarning) {
  ISTHMUS_NEEDS_BOARDS(dir);
  int layers = 0;
  for (const fs::path& path : sorted_files(dir, true)) {
    if (path.parent_path().filename().string().rfind("lone", 0) == 0) continue;
    const std::string bytes = bytes_of(path);
    if (!is_layer(bytes)) continue;
    ++layers;
    Diagnostics notes;
    const auto image = read_gerber(bytes, path.filename().string(), notes);
    if (bytes.find("%IPNEG*%") != bytes.npos) {  // two mask layers of 2009: truly unsupported
      ASSERT_FALSE(image.ok());
      EXPECT_EQ(image.problem().code, "GBR-056");
      continue;
    }
    ASSERT_TRUE(image.ok()) << format(image.problem());
    for (const Diagnostic& d : notes.list()) ADD_FAILURE() << format(d.what, "message");
    for (const Object& o : image->objects) {
      for (const Polygon& polygon : o.shape) {
        ASSERT_GT(signed_area_nm2(polygon.outer), 0) << path << " line " << o.line;
        for (const Contour& hole : polygon.holes) ASSERT_LT(signed_area_nm2(hole), 0) << path;
      }
    }
  }
  EXPECT_GE(layers, 75);
  RecordProperty("layers", layers);
}

TEST(GerberBoards, AreReadBackFromWhatIsWritten) {
  ISTHMUS_NEEDS_BOARDS(dir);
  for (const char* name : {"encoder/RotaryEncoderDebounced-F_Cu.gtl", "dmx/top_copper.GTL",
                           "many-pads/test_project_COPPER-TOP.gbr"}) {
    Diagnostics notes;
    const auto before = read_gerber(bytes_of(dir / name), name, notes);
    ASSERT_TRUE(before.ok()) << format(before.problem());
    const auto after = read_gerber(write_gerber(*before), name, notes);
    ASSERT_TRUE(after.ok()) << format(after.problem());
    double area_before = 0, area_after = 0;
    for (const Object& o : before->objects)
      area_before += o.kind == ObjectKind::stroke ? 0 : area_mm2(o);
    for (const Object& o : after->objects)
      area_after += o.kind == ObjectKind::stroke ? 0 : area_mm2(o);
    EXPECT_NEAR(area_after, area_before, 1e-4 * area_before) << name;
    EXPECT_EQ(before->extent, after->extent) << name;
  }
}

// Single odd files: read, or refused with a reason; never a crash or an empty reason.
TEST(GerberOddFiles, AreReadOrRefusedWithAReason) {
  ISTHMUS_NEEDS_BOARDS(dir);
  int read = 0, refused = 0;
  for (const fs::path& path : sorted_files(dir / "lone-gerber", false)) {
    Diagnostics notes;
    const auto image = read_gerber(bytes_of(path), path.filename().string(), notes);
    if (image.ok()) {
      ++read;
      continue;
    }
    ++refused;
    EXPECT_EQ(image.problem().code.rfind("GBR-0", 0), 0u);
    EXPECT_FALSE(image.problem().message.empty() || image.problem().hint.empty()) << path;
    EXPECT_GT(image.problem().line, 0) << path;
  }
  std::cout << "odd Gerber files: " << read << " read, " << refused << " refused\n";
  EXPECT_GE(read, 113);
}

}  // namespace
}  // namespace isthmus::formats
