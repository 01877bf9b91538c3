// SPDX-License-Identifier: Apache-2.0
#include "tests/formats/gerber_support.hpp"

namespace isthmus::formats {
namespace {

double perimeter_mm(const std::vector<Polygon>& shape) {
  double nm = 0;
  const auto add = [&nm](const Contour& c) {
    for (std::size_t i = 0; i < c.size(); ++i) nm += distance_nm(c[i], c[(i + 1) % c.size()]);
  };
  for (const Polygon& polygon : shape) {
    add(polygon.outer);
    for (const Contour& hole : polygon.holes) add(hole);
  }
  return nm * 1e-6;
}

// Areas in one and not in the other: a band of 1 um along the edges at most.
void expect_same_shape(const Object& a, const Object& b) {
  const double allowed = kMicron * perimeter_mm(a.shape) + 1e-9;
  EXPECT_LE(area_mm2(gerber::subtract(a.shape, b.shape)), allowed) << "line " << a.line;
  EXPECT_LE(area_mm2(gerber::subtract(b.shape, a.shape)), allowed) << "line " << a.line;
}

const char* const kEverything =
    "%TF.FileFunction,Copper,L1,Top*%%TF.Part,Single*%"
    "%TA.AperFunction,Conductor*%%ADD10C,0.25*%%TA.AperFunction,ViaPad*%%ADD11C,1.2*%%TD*%"
    "%ADD12R,2X1*%%ADD13P,2X6X10X0.5*%"
    "%TO.N,TIDE\\u002CRAW*%%TO.P,U1,3,SDA*%D11*X0Y0D03*"
    "%TD.P*%D10*X0Y0D02*X5000000Y3000000D01*%TD*%"
    "D12*X20000000Y0D03*%LPC*%D13*X20000000Y10000000D03*%LPD*%"
    "%TO.C,R7*%%TO.N,*%D13*X30000000Y10000000D03*%TD*%"
    "%TO.N,GND*%G36*X-5000000Y-5000000D02*X5000000D01*Y5000000D01*X-5000000D01*Y0D01*"
    "X-2000000D01*Y2000000D01*X2000000Y1000000D01*Y-2000000D01*X-2000000D01*Y0D01*X-5000000D01*"
    "Y-5000000D01*G37*%TD*%"
    "D12*X0Y20000000D02*X9000000Y25000000D01*";

TEST(GerberWriter, IsReadBackObjectByObject) {
  const LayerImage before = image_of(mm_file(kEverything));
  const LayerImage after = image_of(write_gerber(before));
  ASSERT_EQ(before.objects.size(), after.objects.size());
  for (std::size_t i = 0; i < before.objects.size(); ++i) {
    const Object& a = before.objects[i];
    const Object& b = after.objects[i];
    expect_same_shape(a, b);
    EXPECT_EQ(a.dark, b.dark);
    EXPECT_EQ(before.attributes.at(a.attributes), after.attributes.at(b.attributes)) << i;
    if (a.round) {
      EXPECT_EQ(std::tie(a.kind, a.spine, a.width), std::tie(b.kind, b.spine, b.width));
    }
  }
  EXPECT_EQ(before.file_attributes, after.file_attributes);
  EXPECT_EQ(before.extent, after.extent);
}

TEST(GerberWriter, OfWhatItWroteWritesTheSameBytes) {
  const std::string first = write_gerber(image_of(mm_file(kEverything)));
  EXPECT_EQ(write_gerber(image_of(first)), first);
}

TEST(GerberWriter, WritesArcsAsTheirChords) {
  const LayerImage before =
      image_of(mm_file("%ADD10C,0.25*%G75*D10*X3000000Y0D02*G03X0Y3000000I-3000000J0D01*"));
  const LayerImage after = image_of(write_gerber(before));
  EXPECT_EQ(after.objects.size() + 1, before.objects[0].spine.size());
  Object all;
  all.shape = painted(after);
  expect_same_shape(before.objects[0], all);
}

TEST(GerberWriter, CutsInManyHoles) {
  std::string body = "%AMGRID*21,1,20,20,0,0,0*";
  for (int x = -4; x <= 4; ++x) {
    for (int y = -4; y <= 4; ++y) {
      body += "1,0,1.5," + std::to_string(2 * x) + "," + std::to_string(2 * y) + "*";
    }
  }
  const LayerImage before = image_of(mm_file(body + "%%ADD10GRID*%D10*X0Y0D03*"));
  ASSERT_EQ(before.objects[0].shape[0].holes.size(), 81u);
  const LayerImage after = image_of(write_gerber(before));
  ASSERT_EQ(after.objects.size(), 1u);
  EXPECT_EQ(after.objects[0].shape[0].holes.size(), 81u);
  expect_same_shape(before.objects[0], after.objects[0]);
}

TEST(GerberWriter, KeepsZeroWidthLines) {
  const LayerImage before = image_of(mm_file("%ADD10C,0*%D10*X0Y0D02*X1000000D01*"));
  const LayerImage after = image_of(write_gerber(before));
  ASSERT_EQ(after.objects.size(), 1u);
  EXPECT_EQ(after.objects[0].spine, before.objects[0].spine);
}

TEST(GerberWriter, OfAnEmptyImageIsAnEmptyLayer) {
  EXPECT_EQ(write_gerber(LayerImage{}), "%FSLAX46Y46*%\n%MOMM*%\nG01*\nG75*\nM02*\n");
  EXPECT_TRUE(image_of(write_gerber(LayerImage{})).objects.empty());
}

}  // namespace
}  // namespace isthmus::formats
