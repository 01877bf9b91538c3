// SPDX-License-Identifier: Apache-2.0
// The faults that are made, and what harm they do. Expected values: by hand, from the drawing.
#include "tests/audit/faults.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "tests/audit/drawn_boards.hpp"
#include "tests/audit/harm.hpp"

namespace isthmus::audit {
namespace {

// A board as drawn, on the auditor's copper.
struct Bare {
  explicit Bare(const DrawnBoard& drawn)
      : board(drawn.load()),
        raster(make_raster(board->design)),
        places(find_places(board->design, raster)),
        faulty(raster) {}
  Harm of(const Fault& fault) {
    faulty.apply(fault);
    return harm_of(faulty, places);
  }
  Fault slit(Side side, double x, double y0, double y1) const {
    Fault f;
    f.removed = cells_near(raster.grid, side == Side::top ? 0 : raster.layers() - 1,
                           {position_mm(x, y0), position_mm(x, y1)}, 0.08e6);
    return f;
  }
  std::size_t metal(double x, double y) const {
    for (std::size_t m = 0; m < raster.metals.size(); ++m) {
      if (raster.metals[m].at == position_mm(x, y)) return m;
    }
    throw std::runtime_error("no metal there");
  }
  Fault splash(double x0, double y0, double x1, double y1) const {
    const auto cell = [&](double x, double y) {
      const Position p = position_mm(x, y);
      return Hold{{0, raster.grid.column(p.x), raster.grid.row(p.y)}, {}};
    };
    Fault f;
    f.joined = {{cell(x0, y0), cell(x1, y1)}};
    return f;
  }

  std::unique_ptr<expect::Board> board;
  Raster raster;
  Places places;
  Faulty faulty;
};

DrawnBoard two_tracks(double apart) {
  DrawnBoard b("etched-top", "", false);
  for (int i = 0; i < 2; ++i) {
    const double y = i * apart;
    const std::string net = i == 0 ? "N1" : "N2", pin = std::to_string(i + 1);
    b.surface(net, "A1", pin, 0, y).track(Side::top, {{0, y}, {20, y}}, 0.4);
    b.surface(net, "B1", pin, 20, y);
  }
  return b;
}

// 20 mm between pads of 1 mm: 19 mm of bare track, four slits a millimetre.
TEST(Slits, ComeEveryQuarterMillimetreAndPartTheTrack) {
  Bare b(two_tracks(3));
  std::size_t parting = 0;
  for (const Fault& f : make_slits(b.raster, {})) {
    const bool bare = f.at.y < 1'000'000 && f.at.x > 700'000 && f.at.x < 19'300'000;
    const Harm harm = b.of(f);
    EXPECT_TRUE(harm.parted || !bare) << to_mm(f.at.x) << " " << to_mm(f.at.y);
    parting += bare && harm.parted ? 1 : 0;
  }
  EXPECT_NEAR(static_cast<double>(parting), 18.6 / 0.25, 3);
}

// Tracks 0.4 mm wide, 1.5 mm apart: a gap of 1.1 mm, 20 mm long and pads 0.5 mm apart at both ends.
TEST(Splashes, CrossTheGapsWithinTheWindow) {
  Bare near(two_tracks(1.5));
  const auto splashes = make_splashes(near.raster, {});
  EXPECT_NEAR(static_cast<double>(splashes.size()), 21, 4);
  for (const Fault& f : splashes) EXPECT_TRUE(near.of(f).bridged);
  EXPECT_TRUE(make_splashes(Bare(two_tracks(2.4)).raster, {}).empty()) << "1.4 mm between pads";
}

TEST(Emptied, JoinsOfOneSetAreAlsoLostTogether) {
  Bare b(pour_on_three_wires());
  const auto faults = make_emptied(b.raster);
  ASSERT_EQ(faults.size(), 4u);
  for (std::size_t i = 0; i < 3; ++i) EXPECT_FALSE(b.of(faults[i]).any());
  EXPECT_EQ(faults[3].kind, FaultKind::ways);
  EXPECT_TRUE(b.of(faults[3]).parted);
}

TEST(Harm, ACrackInAPadIsNone) {
  Bare b(two_tracks(3));
  EXPECT_FALSE(b.of(b.slit(Side::top, 0.0, -1, 1)).any());
  EXPECT_TRUE(b.of(b.slit(Side::top, 3.0, -1, 1)).parted);
}

// The ring of J2 below leads on to U1; that of J2 above only into its hole.
TEST(Harm, ARingThatLeadsNowhereButIntoItsHoleIsNoPlace) {
  Bare b(pins_and_a_pad_below());
  Fault emptied;
  emptied.emptied = {b.metal(8, 0)};
  EXPECT_FALSE(b.of(emptied).any());
  EXPECT_TRUE(b.of(b.slit(Side::bottom, 12, -1, 1)).parted);
  EXPECT_FALSE(b.of(b.slit(Side::bottom, 12, -0.05, 0.05)).any()) << "not through";
}

TEST(Harm, ABridgeBetweenTiedNetsIsNoneAndACutTieIs) {
  Bare b(drawn_tie());
  EXPECT_TRUE(b.of(b.slit(Side::top, 10, -1, 1)).parted);
  EXPECT_TRUE(b.of(b.splash(10, 0, 10, 1.6)).bridged);
}

// Beside two nets a bar of copper without pads: one bridge to it ties nothing, two do.
TEST(Harm, DeadCopperCountsOnceItTiesTwoNets) {
  DrawnBoard drawn = two_tracks(3);
  Bare b(drawn.track(Side::top, {{4, 1.5}, {16, 1.5}}, 0.4));
  Fault both = b.splash(10, 0, 10, 1.5);
  EXPECT_FALSE(b.of(both).any());
  both.joined.push_back(b.splash(10, 1.5, 10, 3).joined.front());
  EXPECT_TRUE(b.of(both).bridged);
}

// Before they are joined, the copper above and below of one net may conduct.
TEST(Harm, PiecesOfOneNetMayConductBeforeTheyAreJoined) {
  Bare b(vias_without_records());
  const auto top = b.raster.nearest(0, position_mm(2, 0), 1e5);
  const auto bottom = b.raster.nearest(1, position_mm(15, 0), 1e5);
  const auto other = b.raster.nearest(1, position_mm(15, 1.9), 1e5);
  ASSERT_TRUE(top && bottom && other);
  Fault f;
  f.joined = {{{*top, {}}, {*bottom, {}}}};
  EXPECT_FALSE(b.of(f).any());
  f.joined = {{{*top, {}}, {*other, {}}}};
  EXPECT_TRUE(b.of(f).bridged);
}

TEST(Masked, ASlitIsHiddenByTwoSplashesToOneNeighbour) {
  Bare b(two_tracks(1.5));
  const auto splashes = make_splashes(b.raster, {});
  Fault slit = b.slit(Side::top, 10, -1, 0.6);
  slit.at = position_mm(10, 0);
  Faulty scratch(b.raster);
  const auto masked = mask(slit, b.raster, splashes, scratch);
  ASSERT_EQ(masked.size(), 1u);
  const Harm harm = b.of(masked.front());
  EXPECT_FALSE(harm.parted);
  EXPECT_TRUE(harm.bridged);
}

}  // namespace
}  // namespace isthmus::audit
