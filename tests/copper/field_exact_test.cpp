// SPDX-License-Identifier: Apache-2.0
// The field solution against exact values, at the resolution the program itself chooses.
// Squares in squares of side ratio 1/2, 1/3 and 2/3 (0.0977126, 0.1608869, 0.0548399) are four Ls
// with arms of 1, 1/2 and 2 widths, their ends and free sides exchanged: R(L) = 1 / (4 R). A ring
// from rim to rim is ln(ratio) / (2 pi): the dual of the quarter with current along it.
// Closed forms are those of conformal mapping (P. M. Hall, Thin Solid Films 300 (1997) 256-264, and
// 1 (1968) 277, from memory; the numbers were derived and checked against Schwarz-Christoffel
// integrals and finite differences).
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>
#include <string>

#include "copper/field/grid.hpp"
#include "isthmus/copper/field.hpp"
#include "tests/copper/copper_shapes.hpp"

namespace isthmus::copper {
namespace {

using namespace test;
using std::numbers::pi;

constexpr Foil kPlain{35_um, 0_nm, {20}};
constexpr double kRadius = 300;  // units: its rim is straight across an arm

struct End {
  double x, y, dx, dy;  // a straight electrode through (x, y); (dx, dy) points away from the copper
  double reach = kRadius;
};

struct Exact {
  std::string name;
  Mm outline;  // in units of the arm's width
  End a, b;
  double squares;
};

class ExactValue : public testing::TestWithParam<Exact> {
 protected:
  // The shape with its unit `mm` long, turned.
  static double squares(const Exact& e, double mm, double degrees) {
    const auto place = [&](double x, double y) {
      const auto [tx, ty] = turned({{x * mm, y * mm}}, degrees)[0];
      return position_mm(tx, ty);
    };
    Mm scaled;
    for (auto [x, y] : e.outline) scaled.emplace_back(x * mm, y * mm);
    const Copper copper = copper_of({polygon(turned(scaled, degrees))});
    const auto electrode = [&](const End& end) {
      const double r = end.reach * mm;
      return Electrode{IslandId{0}, place(end.x + r * end.dx / mm, end.y + r * end.dy / mm),
                       from_mm(2 * r)};
    };
    return Field(copper, {}, kPlain).between(electrode(e.a), electrode(e.b)).value().ohms.value /
           sheet_resistance(kPlain).value;
  }
};

double bend(double a, double b) {  // corner block of arms a and b wide, from the inner corner
  const double r = a / b;
  return 2 / pi * (std::atan(r) / r + r * std::atan(1 / r) - std::log(4 * r / (1 + r * r)));
}
double one_sided_step(double al) {  // narrow / wide
  return (std::log((1 + al) / (1 - al)) * (al * al + 1) / al -
          2 * std::log(4 * al / (1 - al * al))) /
         pi;
}
double tee_main(double w, double v) {  // what each main arm has more than its length / width
  const double s = 2 * w / v, c2 = 1 + s * s;
  return -(2 / s * std::asin(1 / std::sqrt(c2)) + std::log(s * s / c2)) / pi;
}
double tee_branch(double w, double v) {
  const double s = 2 * w / v;
  return -(std::log(4 / std::sqrt(1 + s * s)) - s * std::atan(1 / s)) / pi;
}

Exact elbow(const std::string& name, double arm, double value) {  // arms of width 1
  const double e = arm + 2;
  return {name,
          {{0, 0}, {e, 0}, {e, 1}, {1, 1}, {1, e}, {0, e}},
          {arm + 1, 0.5, 1, 0},
          {0.5, arm + 1, 0, 1},
          value};
}
Exact uneven_bend(double r) {             // arms 1 and r wide, 3 widths long
  const double x = 1 + 3 * r, y = r + 3;  // the arm along x is r wide, that along y is 1 wide
  return {"bend " + std::to_string(r),
          {{0, 0}, {x + 1, 0}, {x + 1, r}, {1, r}, {1, y + 1}, {0, y + 1}},
          {x, r / 2, 1, 0},
          {0.5, y, 0, 1},
          3 + 3 + bend(r, 1)};
}
Exact step(const std::string& name, double al, bool symmetric) {
  const double y = symmetric ? (1 - al) / 2 : 0;
  Mm outline{{-2.5, 0}, {0, 0}, {0, y}, {2.5, y}, {2.5, y + al}, {0, y + al}, {0, 1}, {-2.5, 1}};
  if (!symmetric) outline.erase(outline.begin() + 1);
  return {name,
          outline,
          {-2, 0.5, -1, 0},
          {2, y + al / 2, 1, 0},
          2 + 2 / al + one_sided_step(al) * (symmetric ? 0.5 : 1)};
}
Exact tee(const std::string& name, double v, bool branch) {  // main 1 wide
  const Mm outline{{-3.5, 0},      {3.5, 0},        {3.5, 1},    {v / 2, 1},
                   {v / 2, 4 + v}, {-v / 2, 4 + v}, {-v / 2, 1}, {-3.5, 1}};
  const double main = 3 + tee_main(1, v);
  if (!branch) return {name, outline, {-3, 0.5, -1, 0}, {3, 0.5, 1, 0}, 2 * main};
  return {name, outline, {-3, 0.5, -1, 0}, {0, 4, 0, 1}, main + 3 / v + tee_branch(1, v)};
}
Exact slit(const std::string& name, double depth, double added) {
  const double t = 1e-4;
  return {name,
          {{-2.5, 0}, {-t, 0}, {0, depth}, {t, 0}, {2.5, 0}, {2.5, 1}, {-2.5, 1}},
          {-2, 0.5, -1, 0},
          {2, 0.5, 1, 0},
          4 + added};
}
// A strip of width 1 that meets a stub on the part c of its end. The electrode is the stub's mouth.
Exact end_contact(const std::string& name, double c, bool centred, double added) {
  const double y = centred ? (1 - c) / 2 : 0;
  Mm outline{{0, 0}, {3, 0}, {3, 1}, {0, 1}, {0, y + c}, {-0.2, y + c}, {-0.2, y}, {0, y}};
  if (!centred) outline.pop_back(), outline.front() = {-0.2, 0}, outline.erase(outline.begin() + 6);
  return {name, outline, {0, y + c / 2, -1, 0, 100}, {2.5, 0.5, 1, 0}, 2.5 + added};
}
// Any convex shape between the whole of its side `from` and the whole of side `from` + 2.
Exact between_sides(const std::string& name, const Mm& corners, std::size_t from, double value) {
  Exact e{name, {}, {}, {}, value};
  for (std::size_t i = 0; i < corners.size(); ++i) {
    const auto [x, y] = corners[i];
    const auto [nx, ny] = corners[(i + 1) % corners.size()];
    e.outline.emplace_back(x, y);
    if (i != from && i != from + 2) continue;
    const double length = std::hypot(nx - x, ny - y), ox = (ny - y) / length,
                 oy = (x - nx) / length, t = 0.2;
    e.outline.emplace_back(x + t * ox, y + t * oy);
    e.outline.emplace_back(nx + t * ox, ny + t * oy);
    (i == from ? e.a : e.b) = {(x + nx) / 2, (y + ny) / 2, ox, oy, 1000};
  }
  return e;
}
// A quarter of a ring, current along it.
Exact quarter_ring(const std::string& name, double ratio) {
  const double r = 1 / (ratio - 1), t = 0.5;
  Mm outline;
  constexpr int kChords = 180;
  outline.emplace_back(r + 1, -t);
  for (int i = 0; i <= kChords; ++i) {
    const double a = pi / 2 * i / kChords;
    outline.emplace_back((r + 1) * std::cos(a), (r + 1) * std::sin(a));
  }
  outline.emplace_back(-t, r + 1);
  outline.emplace_back(-t, r);
  for (int i = kChords; i >= 0; --i) {
    const double a = pi / 2 * i / kChords;
    outline.emplace_back(r * std::cos(a), r * std::sin(a));
  }
  outline.emplace_back(r, -t);
  return {name, outline, {r + 0.5, 0, 0, -1}, {0, r + 0.5, -1, 0}, pi / 2 / std::log(ratio)};
}

const Exact kExact[] = {
    {"strip", rectangle(-0.5, 0, 5.5, 1), {0, 0.5, -1, 0}, {5, 0.5, 1, 0}, 5},
    elbow("L, arms 1", 1, 2.55852314234201),
    elbow("L, arms 2", 2, 4.55872841593535),
    elbow("L, arms 1/2", 0.5, 1.55388682121474),
    uneven_bend(1),
    uneven_bend(2),
    uneven_bend(3),
    uneven_bend(4),
    step("one-sided step 1/2", 0.5, false),
    step("one-sided step 1/4", 0.25, false),
    step("one-sided step 3/4", 0.75, false),
    step("one-sided step 1/10", 0.1, false),
    step("symmetric step 1/2", 0.5, true),
    step("symmetric step 1/4", 0.25, true),
    step("symmetric step 3/4", 0.75, true),
    tee("tee, through", 1, false),
    tee("tee, around", 1, true),
    tee("tee, branch half as wide, through", 0.5, false),
    tee("tee, branch half as wide, around", 0.5, true),
    tee("tee, branch twice as wide, through", 2, false),
    tee("tee, branch twice as wide, around", 2, true),
    end_contact("end contact 1/2 centred", 0.5, true, 0.110317800),
    end_contact("end contact 1/4 centred", 0.25, true, 0.305751663),
    end_contact("end contact 1/2", 0.5, false, 0.220635600153),
    end_contact("end contact 1/4", 0.25, false, 0.611503326399),
    quarter_ring("ring 1:2", 2),
    quarter_ring("ring 1:4", 4),
    // A reflection maps the electrodes to the free sides: 1 exactly.
    between_sides("square", {{0, 0}, {1, 0}, {1, 1}, {0, 1}}, 0, 1),
    between_sides("kite", {{0, 0}, {1, -1}, {3, 0}, {1, 1}}, 0, 1),
};
// (4 / pi) ln sec(pi a / 2W)
const Exact kSlits[] = {
    slit("slit 0.1", 0.1, 0.015773),   slit("slit 0.25", 0.25, 0.100807),
    slit("slit 0.5", 0.5, 0.441271),   slit("slit 0.75", 0.75, 1.223007),
    slit("slit 0.9", 0.9, 2.362010),   slit("slit 0.95", 0.95, 3.240621),
    slit("slit 0.99", 0.99, 5.288564),
};

std::string spelled(const testing::TestParamInfo<Exact>& info) {
  std::string s;
  for (const char c : info.param.name) s += std::isalnum(static_cast<unsigned char>(c)) ? c : '_';
  return s;
}

using Exactly = ExactValue;
TEST_P(Exactly, WithinTwoInAThousandHoweverItLies) {
  const Exact& e = GetParam();
  for (const double degrees : {0.0, 17.0, 45.0}) {
    EXPECT_NEAR(squares(e, 0.3, degrees) / e.squares, 1, 0.002) << degrees << " degrees";
  }
}
INSTANTIATE_TEST_SUITE_P(Sheet, Exactly, testing::ValuesIn(kExact), spelled);

using Slit = ExactValue;
TEST_P(Slit, WithinOnePercentHoweverItLies) {
  const Exact& e = GetParam();
  for (const double degrees : {0.0, 17.0, 45.0}) {
    EXPECT_NEAR(squares(e, 0.3, degrees) / e.squares, 1, 0.01) << degrees << " degrees";
  }
}
INSTANTIATE_TEST_SUITE_P(Sheet, Slit, testing::ValuesIn(kSlits), spelled);

TEST(FieldGridExact, ConvergesToTheLHexagon) {
  // Arms of one width, cells of 1/8 to 1/64 of it: the error falls by h^(4/3) at the inner corner.
  const Polygon shape = polygon({{0, 0}, {3, 0}, {3, 1}, {1, 1}, {1, 3}, {0, 3}});
  const auto end = [](double x, double y) {
    return Electrode{IslandId{0}, position_mm(x, y), 600_mm};
  };
  double last = INFINITY;
  for (const std::int64_t cells : {8, 16, 32, 64}) {
    FieldGrid grid({{IslandId{0}, {shape}, 1'000'000 / cells}}, {}, sheet_resistance(kPlain), 0_nm,
                   16);
    const double off =
        std::abs(grid.squares(end(302, 0.5), end(0.5, 302)).value() / 2.55852314234201 - 1);
    EXPECT_LT(off, 0.7 * last) << cells;
    last = off;
  }
  EXPECT_LT(last, 0.001);
}

struct Duality : ExactValue {};
TEST_F(Duality, OppositeSidesTimesTheOtherTwoIsOne) {
  // Any simply connected shape with its outline in four parts.
  const Mm corners{{0, 0}, {2, 0.3}, {1.7, 1.6}, {-0.4, 1.1}};
  const double one = squares(between_sides("", corners, 0, 0), 0.3, 0),
               other = squares(between_sides("", corners, 1, 0), 0.3, 0);
  EXPECT_GT(std::abs(one - 1), 0.2);
  EXPECT_NEAR(one * other, 1, 0.004);  // two results within 0.2 % each
}

// Current along one side of a rectangle, volts along the opposite one; tips in its corners.
double van_der_pauw(double width, double height, bool turn) {
  const Copper copper = copper_of({polygon(rectangle(0, 0, width, height))});
  Field field(copper, {}, kPlain);
  const auto tip = [](double x, double y) {
    return Electrode{IslandId{0}, position_mm(x, y), 20_um};
  };
  const double in = 0.02, x = width - in, y = height - in;
  const Electrode a = tip(in, in), b = tip(x, in), c = tip(x, y), d = tip(in, y);
  const auto v =
      turn ? field.transfer(b, c, std::array{a, d}) : field.transfer(a, b, std::array{d, c});
  return (v[0] - v[1]) / sheet_resistance(kPlain).value;
}
TEST(VanDerPauw, SquareAndOneByTwo) {
  // L. J. van der Pauw, Philips Res. Rep. 13 (1958) 1: exp(-pi R1) + exp(-pi R2) = 1.
  EXPECT_NEAR(van_der_pauw(8, 8, false), std::numbers::ln2 / pi, 0.002 * std::numbers::ln2 / pi);
  EXPECT_NEAR(van_der_pauw(5, 10, true), 1.12219970467840, 0.002 * 1.12219970467840);
  EXPECT_NEAR(
      std::exp(-pi * van_der_pauw(5, 10, true)) + std::exp(-pi * van_der_pauw(5, 10, false)), 1,
      0.002);
}

}  // namespace
}  // namespace isthmus::copper
