// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/fixture_file.hpp"

#include <gtest/gtest.h>

#include "tests/support/temp_dir.hpp"

namespace isthmus::formats {
namespace {

using test::TempDir;

constexpr const char* kWhole = R"(isthmus: 1
channels: 64
contact-check: true
placements:
  - name: A
    side: top
    probes: {1: U1.3, 2: R4.1, 3: [12.700, 8.255], 4: {point: U1.7, twin: 5}}
  - name: "north edge"
    side: bottom
    probes: {1: {point: J1.1, at: [1, 2]}}
  - name: C
    side: both
    probes: {1: U1.3, 2: {point: J1.1, side: bottom}, 3: {at: [1, 2], side: top}}
  - name: D
    side: top
    probes: {1: U1.3, 4: {point: U1.7, twin: 5}}
    clips: {7: {point: J2.3, twin: 6, side: bottom}, 3: TP1}
  - name: E
    side: bottom
    clips: {1: [3, 4]}
tips: {kind: needle, diameter: 0.4 mm, current: 50 mA, contact: 30 mohm, contact-spread: 0.5}
made-for: {board: tide-gauge, stage: joined, hash: "00ff"}
)";

Result<FixtureFile> read(const std::string& text) {
  const TempDir dir;
  return read_fixture_file(dir.write("fixture.yaml", text));
}

TEST(FixtureFile, ReadsEveryKey) {
  const Result<FixtureFile> f = read(kWhole);
  ASSERT_TRUE(f.ok()) << format(f.problem());
  EXPECT_EQ(f->channels, 64);
  EXPECT_TRUE(f->contact_check);
  ASSERT_EQ(f->placements.size(), 5u);
  EXPECT_EQ(f->placements[1].name, "north edge");
  EXPECT_EQ(f->placements[1].side, Side::bottom);
  EXPECT_EQ(f->tip_diameter, 400_um);
  EXPECT_EQ(f->tip_current, Amperes{0.05});
  EXPECT_EQ(f->tip_contact, Ohms{0.03});
  EXPECT_EQ(f->tip_contact_spread, 0.5);
  EXPECT_EQ(f->made_for_hash, "00ff");
}

TEST(FixtureFile, ReadsEveryShapeOfAProbe) {
  const Result<FixtureFile> f = read(kWhole);
  ASSERT_TRUE(f.ok());
  const auto& probes = f->placements[0].probes;
  EXPECT_EQ(probes.at(1).point, "U1.3");
  EXPECT_EQ(probes.at(1).line, 7);
  EXPECT_EQ(*probes.at(3).at, position_mm(12.7, 8.255));
  EXPECT_EQ(*probes.at(4).twin, 5);
  EXPECT_EQ(*f->placements[1].probes.at(1).at, position_mm(1, 2));
}

// What kWhole says.
TEST(FixtureFile, ReadsTheSideOfEachProbe) {
  const Result<FixtureFile> f = read(kWhole);
  ASSERT_TRUE(f.ok());
  const PlacementEntry& c = f->placements[2];
  EXPECT_EQ(c.side, Side::both);
  EXPECT_EQ(c.probes.at(1).side, std::nullopt);
  EXPECT_EQ(c.probes.at(2).side, Side::bottom);
  EXPECT_EQ(c.probes.at(3).side, Side::top);
  EXPECT_EQ(*c.probes.at(3).at, position_mm(1, 2));
}

TEST(FixtureFile, KeepsClipsAmongTheProbesOfTheirPlacement) {
  const Result<FixtureFile> f = read(kWhole);
  ASSERT_TRUE(f.ok());
  const PlacementEntry& d = f->placements[3];
  ASSERT_EQ(d.probes.size(), 4u);
  EXPECT_FALSE(d.probes.at(4).clip);
  EXPECT_TRUE(d.probes.at(3).clip);
  EXPECT_EQ(d.probes.at(3).side, std::nullopt);
  EXPECT_TRUE(d.probes.at(7).clip);
  EXPECT_EQ(d.probes.at(7).side, Side::bottom);
  EXPECT_EQ(d.probes.at(7).twin, 6);
  EXPECT_EQ(d.probes.at(7).line, 17);
  EXPECT_TRUE(f->placements[4].probes.at(1).clip);
}

TEST(FixtureFile, RefusesAProbeBehindItsPlateAtThatWord) {
  const Result<FixtureFile> f = read(
      "isthmus: 1\nchannels: 8\nplacements:\n"
      "  - {name: A, side: top, probes: {1: {point: J1.1, side: bottom}}}\n");
  ASSERT_FALSE(f.ok());
  EXPECT_EQ(f.problem().code, "YML-019");
  EXPECT_EQ(f.problem().line, 4);
  EXPECT_EQ(f.problem().column, 58);  // where `bottom` begins, counted by hand
}

TEST(FixtureFile, ComesBackFromItsOwnText) {
  const TempDir dir;
  const Result<FixtureFile> first = read(kWhole);
  ASSERT_TRUE(first.ok());
  const std::string text = write_fixture_file(*first);
  const Result<FixtureFile> second = read(text);
  ASSERT_TRUE(second.ok()) << format(second.problem());
  EXPECT_EQ(write_fixture_file(*second), text);
  EXPECT_EQ(*second->placements[0].probes.at(4).twin, 5);
  ASSERT_EQ(second->placements.size(), first->placements.size());
  for (std::size_t p = 0; p < first->placements.size(); ++p) {
    const PlacementEntry &was = first->placements[p], &is = second->placements[p];
    EXPECT_EQ(is.side, was.side) << was.name;
    ASSERT_EQ(is.probes.size(), was.probes.size()) << was.name;
    for (const auto& [c, probe] : was.probes) {
      EXPECT_EQ(is.probes.at(c).side, probe.side) << was.name << c;
      EXPECT_EQ(is.probes.at(c).clip, probe.clip) << was.name << c;
      EXPECT_EQ(is.probes.at(c).twin, probe.twin) << was.name << c;
    }
  }
  EXPECT_EQ(second->made_for_hash, "00ff");
}

std::string with_probes(const std::string& probes) {
  return "isthmus: 1\nchannels: 8\nplacements:\n  - {name: A, side: top, probes: {" + probes +
         "}}\n";
}

struct Bad {
  const char* name;
  std::string text;
  const char* code;
  int line;
};
void PrintTo(const Bad& b, std::ostream* out) { *out << b.name; }
class BadFixture : public testing::TestWithParam<Bad> {};
TEST_P(BadFixture, IsRefusedAtItsPlace) {
  const Result<FixtureFile> r = read(GetParam().text);
  ASSERT_FALSE(r.ok());
  EXPECT_EQ(r.problem().code, GetParam().code) << format(r.problem());
  EXPECT_EQ(r.problem().line, GetParam().line) << format(r.problem());
}
INSTANTIATE_TEST_SUITE_P(
    All, BadFixture,
    testing::Values(
        Bad{"KeyTwice", with_probes("1: A.1, 1: A.2"), "YML-009", 4},
        Bad{"ChannelTwice", with_probes("1: A.1, 01: A.2"), "YML-015", 4},
        Bad{"TwinTwice", with_probes("1: A.1, 2: {point: A.2, twin: 1}"), "YML-015", 4},
        Bad{"TwinOfItself", with_probes("2: {point: A.2, twin: 2}"), "YML-015", 4},
        Bad{"ClipOnAProbesChannel", with_probes("1: A.1}, clips: {1: A.2"), "YML-015", 4},
        Bad{"TwinOfAClipOnAProbesChannel", with_probes("1: A.1}, clips: {2: {point: A.2, twin: 1}"),
            "YML-015", 4},
        Bad{"ClipTooHigh", with_probes("1: A.1}, clips: {9: A.2"), "YML-016", 4},
        Bad{"ClipsAsAList",
            "isthmus: 1\nchannels: 8\nplacements:\n  - {name: A, side: top, clips: [A.2]}\n",
            "YML-004", 4},
        Bad{"ProbeOnBothSides", with_probes("1: {point: A.1, side: both}"), "YML-010", 4},
        Bad{"ProbeBehindItsPlate", with_probes("1: {point: A.1, side: bottom}"), "YML-019", 4},
        Bad{"NoProbesNoClips", "isthmus: 1\nchannels: 8\nplacements:\n  - {name: A, side: top}\n",
            "YML-003", 4},
        Bad{"TooHigh", with_probes("9: A.1"), "YML-016", 4},
        Bad{"TooLow", with_probes("0: A.1"), "YML-016", 4},
        Bad{"NotANumber", with_probes("a: A.1"), "YML-016", 4},
        Bad{"Nowhere", with_probes("1: {twin: 2}"), "YML-003", 4},
        Bad{"OneChannel", "isthmus: 1\nchannels: 1\nplacements: []\n", "YML-018", 2},
        Bad{"ManyChannels", "isthmus: 1\nchannels: 257\nplacements: []\n", "YML-018", 2},
        Bad{"NoPlacement", "isthmus: 1\nchannels: 2\nplacements: []\n", "YML-012", 3},
        Bad{"SameName", with_probes("1: A.1") + "  - {name: A, side: top, probes: {1: B.1}}\n",
            "YML-017", 5},
        Bad{"Tip", with_probes("1: A.1") + "tips: {diameter: 0 mm}\n", "YML-012", 5},
        Bad{"Stage", with_probes("1: A.1") + "made-for: {stage: done}\n", "YML-010", 5}),
    [](const testing::TestParamInfo<Bad>& i) { return std::string(i.param.name); });

}  // namespace
}  // namespace isthmus::formats
