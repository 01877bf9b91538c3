// SPDX-License-Identifier: Apache-2.0
// Numbers, units, modal state, polarity, transformations, repeats, blocks, attributes, old
// commands.
#include "tests/formats/gerber_support.hpp"

namespace isthmus::formats {
namespace {

constexpr double kPi = std::numbers::pi;

// Places of all flashes.
std::vector<Position> places(const LayerImage& image) {
  std::vector<Position> all;
  for (const Object& o : image.objects) all.push_back(o.spine.at(0));
  return all;
}

struct NumberCase {
  const char* what;
  const char* format;
  const char* units;
  const char* coordinate;
  Position expected;
};

class GerberNumbers : public testing::TestWithParam<NumberCase> {};

// 1 in = 25.4 mm exactly; GLF 2023.08, 4.2.2 and 8.2.1.3 for omitted zeros.
TEST_P(GerberNumbers, AreRead) {
  const NumberCase& c = GetParam();
  const LayerImage image = image_of(std::string("%") + c.format + "*%\n%" + c.units +
                                    "*%\n%ADD10C,0.1*%D10*" + c.coordinate + "D03*M02*");
  EXPECT_EQ(places(image), std::vector{c.expected});
}

INSTANTIATE_TEST_SUITE_P(
    Formats, GerberNumbers,
    testing::Values(NumberCase{"mm46", "FSLAX46Y46", "MOMM", "X1234567Y-1", {1234567, -1}},
                    NumberCase{"mm45", "FSLAX45Y45", "MOMM", "X1234567Y+10", {12345670, 100}},
                    NumberCase{"mm33", "FSLAX33Y33", "MOMM", "X1500Y2", {1500000, 2000}},
                    NumberCase{"mm30", "FSLAX30Y30", "MOMM", "X15Y2", {15000000, 2000000}},
                    NumberCase{"inch24", "FSLAX24Y24", "MOIN", "X10000Y1", {25400000, 2540}},
                    NumberCase{"inch26", "FSLAX26Y26", "MOIN", "X1Y3", {25, 76}},
                    NumberCase{"inch26negative", "FSLAX26Y26", "MOIN", "X-1Y-3", {-25, -76}},
                    NumberCase{"inch26half", "FSLAX26Y26", "MOIN", "X5Y-5", {127, -127}},
                    NumberCase{"inch23", "FSLAX23Y23", "MOIN", "X1000Y500", {25400000, 12700000}},
                    NumberCase{"trailing", "FSTAX24Y24", "MOIN", "X01Y-001", {25400000, -2540000}},
                    NumberCase{"trailing46", "FSTAX33Y33", "MOMM", "X0015Y1", {1500000, 100000000}},
                    NumberCase{
                        "differing", "FSLAX34Y43", "MOMM", "X10000Y1000", {1000000, 1000000}},
                    NumberCase{"codes", "FSLAN2X24Y24", "MOIN", "X10000Y0", {25400000, 0}}),
    [](const testing::TestParamInfo<NumberCase>& tested) { return tested.param.what; });

TEST(GerberUnits, MayComeFromG70AndG71EvenAfterApertures) {
  const LayerImage inch = image_of("%FSLAX24Y24*%%ADD10C,0.1*%G70*D10*X10000Y0D03*M02*");
  EXPECT_EQ(places(inch), std::vector{position_mm(25.4, 0)});
  EXPECT_EQ(inch.objects[0].width, 2540_um);
  const LayerImage metric = image_of("G71*%FSLAX24Y24*%%ADD10C,0.1*%D10*X10000Y0D03*M02*");
  EXPECT_EQ(places(metric), std::vector{position_mm(1, 0)});
}

TEST(GerberModes, KeepTheCoordinateThatIsLeftOut) {
  const LayerImage image =
      image_of(mm_file("%ADD10C,0.1*%D10*X1000000Y2000000D03*X3000000D03*Y4000000D03*D03*"));
  EXPECT_EQ(places(image), (std::vector{position_mm(1, 2), position_mm(3, 2), position_mm(3, 4),
                                        position_mm(3, 4)}));
}

TEST(GerberModes, RepeatD01WithoutItsCode) {
  const LayerImage image = image_of(mm_file("%ADD10C,0.1*%D10*X0Y0D02*X1000000D01*Y1000000*X0*"));
  EXPECT_EQ(image.objects.size(), 3u);
}

TEST(GerberModes, RepeatOtherCodesWithAWarning) {
  const Noted n = noted(mm_file("%ADD10C,0.1*%D10*X0Y0D03*X1000000*"));
  EXPECT_EQ(n.codes, std::vector<std::string>{"GBR-019"});
  EXPECT_EQ(n.image.objects.size(), 2u);
}

TEST(GerberModes, TakeSeveralCommandsInOneBlock) {
  const LayerImage image = image_of(
      mm_file("%ADD10C,0.1*%G54D10G01X0Y0D02X1000000Y0D01X1000000Y1000000D03*D02X5000000Y5000000*"
              "G55D03X6000000Y6000000*"));
  ASSERT_EQ(image.objects.size(), 3u);
  EXPECT_EQ(image.objects[0].kind, ObjectKind::stroke);
  EXPECT_EQ(image.objects[1].spine, std::vector{position_mm(1, 1)});
  EXPECT_EQ(image.objects[2].spine, std::vector{position_mm(6, 6)});
}

TEST(GerberModes, AllowBlanksLineEndsAndShortCodes) {
  const LayerImage image = image_of(
      "\xEF\xBB\xBF%FSLAX46Y46*%\r\n%MOMM*%\r\n%ADD10C,\r\n0.1*\r\nADD11C,0.2*%\r\nD10*\r\n"
      "G1 X0\r\nY0 D2*\r\nX1000000 D1*\r\nG4 note*N12X0D3*\r\nM02*\r\n");
  ASSERT_EQ(image.objects.size(), 2u);
  EXPECT_EQ(image.objects[1].line, 10);
}

TEST(GerberModes, ReadIncrementalCoordinates) {
  const LayerImage image =
      image_of(mm_file("%ADD10C,0.1*%D10*G91*X1000000Y0D03*X1000000D03*"
                       "G90*X0Y0D03*"));
  EXPECT_EQ(places(image), (std::vector{position_mm(1, 0), position_mm(2, 0), position_mm(0, 0)}));
}

TEST(GerberModes, CountLinesThatEndWithACarriageReturnAlone) {
  const LayerImage image = image_of("%FSLAX46Y46*%\r%MOMM*%\r%ADD10C,1*%\rD10*\rX0Y0D03*\rM02*\r");
  EXPECT_EQ(image.objects[0].line, 5);
}

TEST(GerberModes, EndAtM00AndPassOverM01) {
  const Noted n = noted("%FSLAX46Y46*%%MOMM*%%ADD10C,1*%D10*M01*X0Y0D03*M00*X9Y9D03*");
  EXPECT_EQ(n.image.objects.size(), 1u);
  EXPECT_EQ(n.codes, std::vector<std::string>{"GBR-003"});
}

TEST(GerberPolarity, MarksObjectsAndClearsInOrder) {
  const LayerImage image = image_of(
      mm_file("%ADD10R,4X4*%%ADD11R,2X2*%%ADD12R,1X1*%D10*X0Y0D03*%LPC*%D11*D03*%LPD*%D12*D03*"));
  EXPECT_FALSE(image.objects[1].dark);
  EXPECT_TRUE(image.objects[2].dark);
  EXPECT_NEAR(area_mm2(painted(image)), 16 - 4 + 1, 1e-9);
}

// Mirror before rotation, about the aperture's origin, absolute: GLF 2023.08, 4.9.
TEST(GerberTransform, MirrorsThenRotatesThenScales) {
  const LayerImage image = image_of(
      mm_file("%AMCORNER*21,1,2,1,1,0.5,0*%%ADD10CORNER*%D10*X0Y0D03*"
              "%LMX*%D03*%LMY*%D03*%LMXY*%D03*%LMN*%%LR90*%D03*%LMX*%D03*%LMN*%%LR0*%%LS0.5*%D03*"
              "%LS1*%D03*"));
  const auto box = [&](std::size_t i) { return box_of(image.objects.at(i).shape.at(0).outer); };
  EXPECT_EQ(box(0), (Box{position_mm(0, 0), position_mm(2, 1)}));
  EXPECT_EQ(box(1), (Box{position_mm(-2, 0), position_mm(0, 1)}));
  EXPECT_EQ(box(2), (Box{position_mm(0, -1), position_mm(2, 0)}));
  EXPECT_EQ(box(3), (Box{position_mm(-2, -1), position_mm(0, 0)}));
  EXPECT_EQ(box(4), (Box{position_mm(-1, 0), position_mm(0, 2)}));
  EXPECT_EQ(box(5), (Box{position_mm(-1, -2), position_mm(0, 0)}));
  EXPECT_EQ(box(6), (Box{position_mm(0, 0), position_mm(1, 0.5)}));
  EXPECT_EQ(box(7), box(0));
  for (const Object& o : image.objects) EXPECT_GT(signed_area_nm2(o.shape[0].outer), 0);
}

TEST(GerberTransform, ScalesTheWidthOfStrokesButNoRegion) {
  const LayerImage image = image_of(mm_file(
      "%ADD10C,0.2*%D10*%LS3*%X0Y0D02*X1000000D01*G36*X0Y0D02*X1000000D01*Y1000000D01*X0Y0D01*"
      "G37*"));
  EXPECT_EQ(image.objects[0].width, 600_um);
  EXPECT_NEAR(area_mm2(image.objects[1]), 0.5, 1e-9);
}

TEST(GerberTransform, KeepsLargeScalesRound) {
  const LayerImage image = image_of(mm_file("%ADD10C,0.2*%D10*%LS100*%X0Y0D03*"));
  EXPECT_NEAR(area_mm2(image.objects[0]), disc_mm2(20), slack(20 * kPi));
}

TEST(GerberRepeat, CopiesAlongYFirst) {
  const LayerImage image =
      image_of(mm_file("%ADD10C,0.1*%D10*%SRX2Y3I10.0J1.0*%X0Y0D03*%SR*%X50000000Y0D03*"));
  EXPECT_EQ(places(image), (std::vector{position_mm(0, 0), position_mm(0, 1), position_mm(0, 2),
                                        position_mm(10, 0), position_mm(10, 1), position_mm(10, 2),
                                        position_mm(50, 0)}));
  EXPECT_EQ(image.extent.hi.x, 50'050'000);
}

TEST(GerberRepeat, ClearsWhatItsOwnCopiesPainted) {
  // Strips 2 wide every 1, each begun by clearing a strip of 3 around its left half.
  const LayerImage image = image_of(mm_file(
      "%ADD10R,2X1*%%ADD11R,1X1*%%SRX2Y1I1.0J0*%%LPD*%D10*X0Y0D03*%LPC*%D11*X-500000Y0D03*%SR*%"));
  // First copy leaves 0..1; the second paints 0..2 and clears 0..1.
  EXPECT_NEAR(area_mm2(painted(image)), 1, 1e-9);
}

// A whole copy after the other, not object by object: GLF 2023.08, 4.12.
TEST(GerberRepeat, PaintsACopyOverWhatTheOneBeforeCleared) {
  // Copy k paints k-1..k+1 and clears k..k+1; all but the last's upper half is painted again.
  const LayerImage image = image_of(mm_file(
      "%ADD10R,1X2*%%ADD11R,1X1*%%SRX1Y3I0J1.0*%%LPD*%D10*X0Y0D03*%LPC*%D11*X0Y500000D03*%SR*%"));
  EXPECT_NEAR(area_mm2(painted(image)), 3, 1e-9);
}

TEST(GerberRepeat, IsClosedByTheNextOrByOneByOne) {
  const LayerImage image = image_of(
      mm_file("%ADD10C,0.1*%D10*%SRX1Y1I0J0*%%SRX2Y1I1J0*%X0Y0D03*%SRX3Y1I1J0*%X0Y5000000D03*"
              "%SRX1Y1I0J0*%"));
  EXPECT_EQ(image.objects.size(), 5u);
}

TEST(GerberRepeat, OpenAtTheEndIsCarriedOutWithANote) {
  const Noted n = noted(mm_file("%ADD10C,0.1*%D10*%SRX2Y1I1J0*%X0Y0D03*"));
  EXPECT_EQ(n.image.objects.size(), 2u);
  EXPECT_EQ(n.codes, std::vector<std::string>{"GBR-052"});
}

// GLF 2023.08, 4.11: a clear flash of a block turns the polarity of its objects around.
TEST(GerberBlock, IsFlashedTransformedAndNested) {
  const LayerImage image =
      image_of(mm_file("%ADD10R,2X1*%%ABD20*%D10*X1000000Y0D03*%LPC*%X0Y1000000D03*%LPD*%%AB*%"
                       "%ABD21*%D20*X0Y0D03*X10000000Y0D03*%AB*%"
                       "D21*%LR90*%X100000000Y0D03*%LR0*%%LPC*%D20*X0Y0D03*"));
  ASSERT_EQ(image.objects.size(), 6u);
  EXPECT_EQ(places(image),
            (std::vector{position_mm(100, 1), position_mm(99, 0), position_mm(100, 11),
                         position_mm(99, 10), position_mm(1, 0), position_mm(0, 1)}));
  EXPECT_EQ(box_of(image.objects[0].shape[0].outer),
            (Box{position_mm(99.5, 0), position_mm(100.5, 2)}));
  const std::vector<bool> dark{image.objects[0].dark, image.objects[1].dark, image.objects[4].dark,
                               image.objects[5].dark};
  EXPECT_EQ(dark, (std::vector<bool>{true, false, false, true}));
}

// Mirrored first, then turned (GLF 2023.08, 4.9): (2, 1) becomes (-2, 1), then (-1, -2). The place
// a flash is known by must move as its copper does.
TEST(GerberBlock, IsMirroredThenTurned) {
  const LayerImage image = image_of(
      mm_file("%ADD10C,1*%%ABD20*%D10*X2000000Y1000000D03*%AB*%%LMX*%%LR90*%D20*X0Y0D03*"));
  EXPECT_EQ(places(image), std::vector{position_mm(-1, -2)});
  EXPECT_EQ(box_of(image.objects[0].shape[0].outer).centre(), position_mm(-1, -2));
}

TEST(GerberAttributes, AreAttachedAsInForce) {
  const LayerImage image = image_of(
      mm_file("%TF.FileFunction,Copper,L1,Top*%%TA.AperFunction,SMDPad,CuDef*%%ADD10R,1X1*%"
              "%TA.AperFunction,Conductor*%%ADD11C,0.2*%%TD*%"
              "%TO.P,U1,3,SDA*%%TO.N,Net-(U1-\\u0041)*%D10*X0Y0D03*%TD.P*%D11*X0Y0D02*X1000000D01*"
              "%TD*%%TO.C,R1*%D10*D03*%TO.N,*%D03*%TO.N,A,B*%D03*"));
  ASSERT_EQ(image.objects.size(), 5u);
  const auto of = [&](std::size_t i) { return image.attributes.at(image.objects[i].attributes); };
  using Nets = std::vector<std::string>;
  EXPECT_EQ(of(0), (Attributes{Nets{"Net-(U1-A)"}, "U1", "3", "SDA", "SMDPad"}));
  EXPECT_EQ(of(1), (Attributes{Nets{"Net-(U1-A)"}, "", "", "", "Conductor"}));
  EXPECT_EQ(of(2), (Attributes{std::nullopt, "R1", "", "", "SMDPad"}));
  EXPECT_EQ(of(3), (Attributes{Nets{""}, "R1", "", "", "SMDPad"}));
  EXPECT_EQ(of(4), (Attributes{Nets{"A", "B"}, "R1", "", "", "SMDPad"}));
  EXPECT_EQ(image.file_attribute(".FileFunction"), (Nets{"Copper", "L1", "Top"}));
  EXPECT_EQ(image.file_attribute(".Part"), std::nullopt);
}

TEST(GerberAttributes, MayStandInComments) {
  const LayerImage image = image_of(mm_file(
      "G04 #@! TF.FileFunction,Copper,L2,Bot*\nG04 #@! TA.AperFunction,ViaPad*\n%ADD10C,1*%\n"
      "G04 #@! TD*\nG04 #@! TO.N,GND*\nD10*X0Y0D03*"));
  EXPECT_EQ(image.file_attribute(".FileFunction")->at(1), "L2");
  EXPECT_EQ(image.attributes.at(image.objects[0].attributes).aperture_function, "ViaPad");
  EXPECT_EQ(image.attributes.at(image.objects[0].attributes).nets->at(0), "GND");
}

// GLF 2023.08, 5.3: regions take the dictionary at G36, not the aperture's attributes.
TEST(GerberAttributes, OfRegionsComeFromTheDictionary) {
  const LayerImage image = image_of(
      mm_file("%TA.AperFunction,ViaPad*%%ADD10C,1*%%TA.AperFunction,Conductor*%D10*%TO.N,GND*%"
              "G36*X0Y0D02*X1000000D01*Y1000000D01*X0Y0D01*G37*"));
  EXPECT_EQ(image.attributes.at(image.objects[0].attributes),
            (Attributes{std::vector<std::string>{"GND"}, "", "", "", "Conductor"}));
}

TEST(GerberAttributes, OfABlockFillWhatItsObjectsLeaveOpen) {
  const LayerImage image = image_of(mm_file(
      "%ADD10C,1*%%ABD20*%D10*X0Y0D03*%TO.N,A*%X5000000D03*%TD*%%AB*%%TO.N,B*%D20*X0Y0D03*"));
  EXPECT_EQ(image.attributes.at(image.objects[0].attributes).nets->at(0), "B");
  EXPECT_EQ(image.attributes.at(image.objects[1].attributes).nets->at(0), "A");
}

TEST(GerberAttributes, OthersAreLeftOut) {
  const LayerImage image = image_of(
      mm_file("%TAsea_level,2*%%TA.DrillTolerance,0.1,0.1*%%ADD10C,1*%%TO.CVal,10k*%D10*X0Y0D03*"));
  EXPECT_EQ(image.attributes.at(image.objects[0].attributes), Attributes{});
}

// A name may hold any character by its escape (GLF 2023.08, chapter 3): two names are not one name
// with a NUL between, and a pin not the component's name with one.
TEST(GerberAttributes, TellNamesWithAnyCharacterApart) {
  const LayerImage image = image_of(
      mm_file("%ADD10C,1*%D10*%TO.N,A\\u0000B*%X0Y0D03*%TO.N,A,B*%D03*%TO.N,A\\u0000\\u0001*%D03*"
              "%TO.N,A*%%TO.P,\\u0001,1*%D03*%TO.P,U\\u00001,*%D03*%TO.P,U,1*%D03*"));
  const auto nets = [&](std::size_t i) {
    return *image.attributes.at(image.objects.at(i).attributes).nets;
  };
  using Nets = std::vector<std::string>;
  EXPECT_EQ(nets(0), Nets{std::string("A\0B", 3)});
  EXPECT_EQ(nets(1), (Nets{"A", "B"}));
  EXPECT_EQ(nets(2), Nets{std::string("A\0\1", 3)});
  const auto pin = [&](std::size_t i) {
    const Attributes& a = image.attributes.at(image.objects.at(i).attributes);
    return std::pair(a.component, a.pin);
  };
  EXPECT_EQ(pin(4), std::pair(std::string("U\0"
                                          "1",
                                          3),
                              std::string()));
  EXPECT_EQ(pin(5), std::pair(std::string("U"), std::string("1")));
}

TEST(GerberDeprecated, CommandsAtTheirDefaultsChangeNothing) {
  const LayerImage image = image_of(mm_file(
      "%INsea level*%%LNtop*%%IPPOS*%%ASAXBY*%%IR0*%%MIA0B0*%%OFA0.0B0.0*%%SFA1.0B1.0*%%ICAS*%"
      "G90*%ADD10C,1*%D10*X0Y0D03*"));
  EXPECT_EQ(image.objects.size(), 1u);
}

TEST(GerberDeprecated, UnknownCommandsAreTold) {
  const Noted n = noted(mm_file("%ZZTOP*%%ADD10C,1*%D10*X0Y0D03*M99*"));
  EXPECT_EQ(n.codes, (std::vector<std::string>{"GBR-057", "GBR-018"}));
}

TEST(GerberMessages, AreToldThreeTimesAndThenCounted) {
  std::string body = "%ADD10C,1*%D10*X0Y0D03*";
  for (int i = 0; i < 10; ++i) body += "X0Y0*";
  Diagnostics notes;
  ASSERT_TRUE(read_gerber(mm_file(body), "layer.gbr", notes).ok());
  ASSERT_EQ(notes.list().size(), 4u);
  EXPECT_EQ(notes.list().back().what.message, "the same at 7 further places");
}

}  // namespace
}  // namespace isthmus::formats
