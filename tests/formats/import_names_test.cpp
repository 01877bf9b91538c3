// SPDX-License-Identifier: Apache-2.0
// What names and free text say of a layer: whole words, sides, what is never copper. Names and
// comments as seen in public files (common practice, no source), with words of our own.
#include <gtest/gtest.h>

#include "formats/import/file_names.hpp"
#include "formats/import/free_text.hpp"
#include "formats/import/judge.hpp"

namespace isthmus::formats {
namespace {

struct Named {
  const char* file;
  const char* is;
};
void PrintTo(const Named& n, std::ostream* out) { *out << n.file; }

class LayerName : public testing::TestWithParam<Named> {};

TEST_P(LayerName, IsReadInWholeWords) {
  const NameClaim named = claim_of_name(GetParam().file);
  EXPECT_EQ(named.contradiction.empty() ? described(named.claim) : "in doubt", GetParam().is);
}

INSTANTIATE_TEST_SUITE_P(
    Sides, LayerName,
    testing::Values(Named{"gauge-RevB_TOP.f1", "top copper"},
                    Named{"gauge-RevB.gbr", "nothing known"},
                    Named{"gauge-B_Cu.gbr", "bottom copper"}, Named{"gauge-F_Mask.gbr", "top mask"},
                    Named{"gauge_copperTop.gtl", "top copper"},
                    Named{"Bottom Copper.gbr", "bottom copper"},
                    Named{"Layer_Copper_BOTTOM.art", "bottom copper"},
                    Named{"Gerber_TopLayer.gbr", "top copper"}, Named{"PCBTop.gbr", "top copper"},
                    Named{"backplane.gbr", "nothing known"}, Named{"laptop.gbr", "nothing known"},
                    Named{"top.gbl", "in doubt"}));
INSTANTIATE_TEST_SUITE_P(
    NeverCopper, LayerName,
    testing::Values(Named{"solderpaste_top.gbr", "paste"}, Named{"PASTEMASK_TOP.art", "paste"},
                    Named{"gauge_smdmask_top.gbr", "paste"},
                    Named{"gauge-SoldP_Front.gbr", "paste"}, Named{"top_paste.gtl", "paste"},
                    Named{"gauge_TOPSILKSCREEN.s1", "a legend or a drawing"},
                    Named{"DISPLAY_BOTTOM.art", "a legend or a drawing"},
                    Named{"F_CrtYd.gbr", "a legend or a drawing"},
                    Named{"top.gto", "legend, paste or a drawing"},
                    Named{"TopDimension.gbr", "a drawing"},
                    Named{"gauge_DRILLPHOTO.d1", "a drawing of the holes"},
                    Named{"Drill Drawing.gdd", "a drawing of the holes"},
                    Named{"solder_mask.gbr", "a mask, without its side"},
                    Named{"Board Outline.gbl", "an outline"}, Named{"gauge.gm9", "an outline"},
                    Named{"gauge_brd.gbr", "an outline"}));
INSTANTIATE_TEST_SUITE_P(Masks, LayerName,
                         testing::Values(Named{"gauge_TOPSOLDERMASK.m1", "top mask"},
                                         Named{"Top Copper (Resist).gbr", "top mask"},
                                         Named{"Bottom Solder Resist.gbr", "bottom mask"},
                                         Named{"gauge_mt.gbr", "top mask"},
                                         Named{"gauge.mb", "bottom mask"},
                                         Named{"solder_stop_top.gbr", "top mask"}));

TEST(LayerNames, OfInnerLayersCountFromTheTop) {
  const auto layer = [](const char* file) {
    const Claim c = claim_of_name(file).claim;
    return c.inner ? c.layer : -1;
  };
  EXPECT_EQ(layer("gauge-In1_Cu.g2"), 2);
  EXPECT_EQ(layer("InnerLayer1.gbr"), 2);
  EXPECT_EQ(layer("Internal Plane 2.gbr"), 3);
  EXPECT_EQ(layer("copper_inner_l2.gbr"), 2);
  EXPECT_EQ(layer("Layer 3.gbr"), 3);
  EXPECT_EQ(layer("EtchLayer2.gbr"), 2);
  EXPECT_EQ(layer("gauge.ly2"), 2);
  EXPECT_EQ(layer("gauge.gp1"), 2);
  EXPECT_EQ(layer("GND.gbr"), 0);
  EXPECT_EQ(layer("EtchLayer1Top.gbr"), -1);
}

// What all names begin with belongs to the project, and would make masks and legends of all.
TEST(LayerNames, LeaveOutTheWordsOfTheProject) {
  const std::vector<std::filesystem::path> files{"paste-mask-top.gbr", "paste-mask-bottom.gbr",
                                                 "paste-mask-top-soldermask.gbr",
                                                 "paste-mask-outline.gbr"};
  const std::vector<NameWords> words = telling_words(files);
  EXPECT_EQ(described(claim_of_name(files[0], words[0]).claim), "top copper");
  EXPECT_EQ(described(claim_of_name(files[2], words[2]).claim), "top mask");
}

TEST(LayerNames, KeepThePasteOfBothSidesPaste) {
  const std::vector<std::filesystem::path> files{"paste-top.gbr", "paste-bottom.gbr"};
  const std::vector<NameWords> words = telling_words(files);
  EXPECT_EQ(described(claim_of_name(files[0], words[0]).claim), "paste");
}

Recognised judged(const char* file, const std::vector<std::string_view>& text) {
  Recognised r;
  judge(claim_of_name(file), claim_of_text(text), r);
  return r;
}

TEST(OwnText, VetoesANameThatClaimsCopper) {
  EXPECT_TRUE(judged("gauge.top", {"%INSolder Paste Top*%"}).other_known);
  EXPECT_TRUE(judged("TOP.art", {"G04 Layer:  PIN/PASTEMASK_TOP*"}).other_known);
  EXPECT_TRUE(judged("top.gbr", {"G04 Paste for the top side*"}).other_known);
  EXPECT_EQ(judged("top.gbr", {"%INSoldermask Top*%"}).role, FileRole::mask);
  EXPECT_FALSE(judged("gauge.gtl", {"%INSolder Paste Top*%"}).doubt.empty());
}

TEST(OwnText, ThatNamesTheOtherSideLeavesTheFileInDoubt) {
  const Recognised r = judged("top.gbr", {"%INBottom Copper*%"});
  EXPECT_EQ(r.role, FileRole::other);
  EXPECT_EQ(r.doubted_side, Side::top);
  EXPECT_FALSE(r.doubt.empty());
}

TEST(OwnText, FillsANameThatIsSilent) {
  const Recognised r = judged("film3", {"G04 Layer:  ETCH/TOP*", "G04 Layer:  PIN/TOP*",
                                        "G04 Layer:  BOARD GEOMETRY/OUTLINE*"});
  EXPECT_EQ(r.role, FileRole::copper);
  EXPECT_EQ(r.side, Side::top);
  EXPECT_TRUE(r.by_comment);
  EXPECT_TRUE(judged("film4", {"G04 Layer:  PACKAGE GEOMETRY/SILKSCREEN_TOP*",
                               "G04 Layer:  REF DES/SILKSCREEN_TOP*"})
                  .other_known);
  // The name of the file it was written to, with its way.
  EXPECT_EQ(judged("film5", {"%INC:\\BOARDS\\TOP\\GAUGE.BOT*%"}).side, Side::bottom);
}

TEST(OwnText, OfOtherThingsSaysNothing) {
  EXPECT_EQ(judged("top.gbr", {"G04 CONTOUR ON CENTER OF CONTOUR VECTOR*"}).role, FileRole::copper);
  EXPECT_EQ(judged("a.gtl", {"G04 Fabrication data in Gerber*"}).role, FileRole::copper);
}

TEST(Backups, AreToldByTheirNames) {
  EXPECT_EQ(backed_up("top.art,1"), "top.art");
  EXPECT_EQ(backed_up("top.gbr~"), "top.gbr");
  EXPECT_EQ(backed_up("top.gbr.bak"), "top.gbr");
  EXPECT_FALSE(backed_up("top.gbr"));
  EXPECT_FALSE(backed_up("gauge, top.gbr"));
}

}  // namespace
}  // namespace isthmus::formats
