// SPDX-License-Identifier: Apache-2.0
// Real copper layers, read a second time with chords of 0.01 um and painted by GEOS, against our
// reader and our islands: the copper's area, and which places hang together.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <map>
#include <optional>

#include "isthmus/copper/islands.hpp"
#include "isthmus/formats/gerber.hpp"
#include "tests/copper/fine_gerber.hpp"
#include "tests/copper/geos_witness.hpp"
#include "tests/support/layer_shapes.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/random_layer.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::copper {
namespace {

constexpr LayerId kLayer{0};
constexpr double kSagitta = 1000;  // nm: the reader's chords keep within this of the curve

// A chord of length c that lies s off its arc cuts off 2/3 c s, for small s (the parabola's
// segment, Archimedes): over the whole outline at most 2/3 s times its curved length.
double curved_nm(const test::GeosLayer& layer, double longest_chord) {
  double sum = 0;
  layer.for_each_edge([&](double length) { sum += length <= longest_chord ? length : 0; });
  return sum;
}

struct Sighting {
  Position at;
  std::optional<std::size_t> theirs;
  std::optional<IslandId> ours;
};

// A place in every part of the witness, and places drawn by lot.
std::vector<Sighting> look_around(const Copper& copper, const test::GeosLayer& witness) {
  const IslandIndex index(copper);
  Box box;
  for (const Island& island : copper.islands) box.add(island.box);
  std::vector<Position> places;
  for (std::size_t i = 0; i < witness.parts().size(); ++i) places.push_back(witness.inner_point(i));
  test::Lot lot(11);
  for (int i = 0; i < 2000; ++i) {
    places.push_back(
        {std::llround(lot.between(static_cast<double>(box.lo.x), static_cast<double>(box.hi.x))),
         std::llround(lot.between(static_cast<double>(box.lo.y), static_cast<double>(box.hi.y)))});
  }
  std::vector<Sighting> seen;
  for (const Position p : places) seen.push_back({p, witness.island_at(p), index.at(kLayer, p)});
  return seen;
}

// Each of our islands is one of theirs and each of theirs one of ours, by the places seen; copper
// on one side alone only where both may draw the edge.
void expect_same_partition(const std::vector<Sighting>& seen, const test::GeosLayer& witness) {
  std::map<std::size_t, IslandId> ours_of;
  std::map<IslandId, std::size_t> theirs_of;
  for (const auto& [at, theirs, ours] : seen) {
    if (theirs.has_value() != ours.has_value()) {
      EXPECT_TRUE(witness.near_edge(at, kSagitta + 10)) << at.x << " " << at.y;
    } else if (theirs) {
      EXPECT_EQ(ours_of.try_emplace(*theirs, *ours).first->second, *ours) << at.x << " " << at.y;
      EXPECT_EQ(theirs_of.try_emplace(*ours, *theirs).first->second, *theirs)
          << at.x << " " << at.y;
    }
  }
}

struct RealLayer {
  const char* file;
  bool slow{false};
};
void PrintTo(const RealLayer& layer, std::ostream* out) { *out << layer.file; }
std::string name_of(const ::testing::TestParamInfo<RealLayer>& layer) {
  std::string name = layer.param.file;
  std::replace_if(
      name.begin(), name.end(), [](unsigned char c) { return std::isalnum(c) == 0; }, '_');
  return name;
}

class FineLayer : public ::testing::TestWithParam<RealLayer> {};

TEST_P(FineLayer, HasTheAreaAndThePiecesOfASecondReading) {
  ISTHMUS_NEEDS_BOARDS(boards);
  ISTHMUS_SKIP_IF_SLOW(GetParam().slow);
  const std::string bytes = test::read_bytes(boards / GetParam().file);
  const test::FineGerber fine(bytes);
  const test::GeosLayer witness(fine.image());
  Diagnostics notes;
  const auto image = formats::read_gerber(bytes, GetParam().file, notes);
  ASSERT_TRUE(image.ok()) << format(image.problem());
  const Copper copper = extract_copper(test::design_of(std::vector{*image})).value();
  double area = 0;
  for (const Island& island : copper.islands) area += island.area_nm2;
  // 1e-6 for the rounding of vertices to nanometres and the chords of the witness.
  const double curved = curved_nm(witness, fine.longest_chord() + 2);
  EXPECT_NEAR(area, witness.area(), 2.0 / 3 * kSagitta * curved + 1e-6 * witness.area());
  RecordProperty("area_mm2", fmt::format("{:.3f}", witness.area() * 1e-12));
  RecordProperty("difference_mm2", fmt::format("{:.6f}", (area - witness.area()) * 1e-12));
  EXPECT_EQ(copper.islands.size(), witness.islands());
  expect_same_partition(look_around(copper, witness), witness);
}

INSTANTIATE_TEST_SUITE_P(
    RealBoards, FineLayer,
    ::testing::Values(
        RealLayer{"ac-coupler/hantek-6022-pcb-B_Cu.gbl"},
        RealLayer{"ac-coupler/hantek-6022-pcb-F_Cu.gtl"}, RealLayer{"debug-header/bt-debug-v1.GBL"},
        RealLayer{"debug-header/bt-debug-v1.GTL"}, RealLayer{"dmx/bottom_copper.GBL"},
        RealLayer{"dmx/top_copper.GTL"}, RealLayer{"encoder/RotaryEncoderDebounced-B_Cu.gbl"},
        RealLayer{"encoder/RotaryEncoderDebounced-F_Cu.gtl"},
        RealLayer{"fx-switcher/EfxSelector_v2-B_Cu.gbr"},
        RealLayer{"fx-switcher/EfxSelector_v2-F_Cu.gbr"},
        RealLayer{"gyro-panel/combined.gbl", true}, RealLayer{"gyro-panel/combined.gtl"},
        RealLayer{"iot-bank/IRNASIoTbank1.2.Bot", true},
        RealLayer{"iot-bank/IRNASIoTbank1.2.Top", true},
        RealLayer{"many-pads/test_project_COPPER-BOTTOM.gbr"},
        RealLayer{"many-pads/test_project_COPPER-TOP.gbr"},
        RealLayer{"mcu-clone/freeduino.cmp", true}, RealLayer{"mcu-clone/freeduino.sol", true},
        RealLayer{"melody/OndraMelodik-B_Cu.gbr"}, RealLayer{"melody/OndraMelodik-F_Cu.gbr"},
        RealLayer{"motion-light-4l/open-motion-light-B_Cu.gbl"},
        RealLayer{"motion-light-4l/open-motion-light-F_Cu.gtl"},
        RealLayer{"motion-light-4l/open-motion-light-In1_Cu.g1"},
        RealLayer{"motion-light-4l/open-motion-light-In2_Cu.g2"},
        RealLayer{"numpres/numpres.pcb.output_group1.grb"},
        RealLayer{"numpres/numpres.pcb.output_group2.grb"}, RealLayer{"panel-mm/panel_Bottom.gbr"},
        RealLayer{"prom-burner/prompcb-B_Cu.gbr"}, RealLayer{"prom-burner/prompcb-F_Cu.gbr", true},
        RealLayer{"rfid-reader/design_export.gbl"}, RealLayer{"rfid-reader/design_export.gtl"},
        RealLayer{"rom-programmer/rom-programmer-B_Cu.gbl"},
        RealLayer{"rom-programmer/rom-programmer-F_Cu.gtl"}, RealLayer{"school/copper_bottom.gbr"},
        RealLayer{"school/copper_top.gbr"}, RealLayer{"stepper/driver.bottom.gbr"},
        RealLayer{"stepper/driver.top.gbr"}, RealLayer{"usb-fpga-4l-blind/tomu-fpga-B.Cu.gbl"},
        RealLayer{"usb-fpga-4l-blind/tomu-fpga-F.Cu.gtl"},
        RealLayer{"usb-fpga-4l-blind/tomu-fpga-In1.Cu.g2"},
        RealLayer{"usb-fpga-4l-blind/tomu-fpga-In2.Cu.g3"}),
    name_of);

}  // namespace
}  // namespace isthmus::copper
