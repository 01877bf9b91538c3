// SPDX-License-Identifier: Apache-2.0
// Whole nets of real boards against finite elements by another program (FreeFem++, Debian's package
// of that name): triangles, quadratic, refined where the error is. It gets the outlines and the
// discs of the tips, nothing else; GEOS cuts the discs out.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <sstream>

#include "isthmus/expect/board.hpp"
#include "tests/copper/geos_witness.hpp"
#include "tests/support/board_file.hpp"
#include "tests/support/paths.hpp"
#include "tests/support/temp_dir.hpp"

namespace isthmus::expect {
namespace {

using test::Geos;

constexpr Nanometres kTip = 500_um;
constexpr copper::Foil kAsDrawn{35_um, Nanometres{0}, Celsius{20}};

struct Edge {
  double x0, y0, x1, y1;  // mm from the first electrode
  int label;              // 1, 2: the electrodes' rims; 3: the outline
};

// The rim as a polygon of the disc's own area.
Polygon disc(const copper::Electrode& e) {
  constexpr int kSides = 96;
  const double turn = 2 * M_PI / kSides;
  const double r = static_cast<double>(e.diameter.value) / 2 * std::sqrt(turn / std::sin(turn));
  Polygon p;
  for (int i = 0; i < kSides; ++i)
    p.outer.push_back({e.at.x + std::llround(r * std::cos(i * turn)),
                       e.at.y + std::llround(r * std::sin(i * turn))});
  return p;
}

bool on_rim(const copper::Electrode& e, Position a, Position b) {
  const double r = static_cast<double>(e.diameter.value) / 2;
  return std::abs(distance_nm(e.at, a) - r) < 0.01 * r &&
         std::abs(distance_nm(e.at, b) - r) < 0.01 * r;
}

class Case {
 public:
  Case(const copper::Island& island, const copper::Electrode& a, const copper::Electrode& b)
      : a_(a), b_(b) {
    const Polygon& outline = island.outline;
    auto shape = geos_.polygon(outline);
    for (const auto& e : {a, b}) {
      shape =
          geos_.own(GEOSDifference_r(geos_.handle(), shape.get(), geos_.polygon(disc(e)).get()));
    }
    // The mesher takes no points that all but coincide.
    shape = geos_.own(GEOSTopologyPreserveSimplify_r(geos_.handle(), shape.get(), 50));
    for (int i = 0; i < GEOSGetNumGeometries_r(geos_.handle(), shape.get()); ++i)
      take(GEOSGetGeometryN_r(geos_.handle(), shape.get(), i));
  }

  [[nodiscard]] const std::vector<Edge>& edges() const { return edges_; }

 private:
  // Of what the discs leave, the part that both touch.
  void take(const GEOSGeometry* part) {
    std::vector<Edge> edges;
    ring(GEOSGetExteriorRing_r(geos_.handle(), part), true, edges);
    for (int h = 0; h < GEOSGetNumInteriorRings_r(geos_.handle(), part); ++h)
      ring(GEOSGetInteriorRingN_r(geos_.handle(), part, h), false, edges);
    for (const int label : {1, 2}) {
      if (std::ranges::none_of(edges, [&](const Edge& e) { return e.label == label; })) return;
    }
    edges_.insert(edges_.end(), edges.begin(), edges.end());
  }

  void ring(const GEOSGeometry* line, bool outer, std::vector<Edge>& edges) {
    const GEOSCoordSequence* s = GEOSGeom_getCoordSeq_r(geos_.handle(), line);
    unsigned n = 0;
    GEOSCoordSeq_getSize_r(geos_.handle(), s, &n);
    Contour c;
    for (unsigned i = 0; i + 1 < n; ++i) {
      double x = 0, y = 0;
      GEOSCoordSeq_getXY_r(geos_.handle(), s, i, &x, &y);
      c.push_back({std::llround(x), std::llround(y)});
    }
    // Copper on the left.
    if ((signed_area_nm2(c) > 0) != outer) std::ranges::reverse(c);
    for (std::size_t i = 0; i < c.size(); ++i) {
      const Position p = c[i], q = c[(i + 1) % c.size()];
      if (p == q) continue;
      const int label = on_rim(a_, p, q) ? 1 : on_rim(b_, p, q) ? 2 : 3;
      const auto mm = [](std::int64_t v, std::int64_t o) {
        return static_cast<double>(v - o) * 1e-6;
      };
      edges.push_back(
          {mm(p.x, a_.at.x), mm(p.y, a_.at.y), mm(q.x, a_.at.x), mm(q.y, a_.at.y), label});
    }
  }

  Geos geos_;
  copper::Electrode a_, b_;
  std::vector<Edge> edges_;
};

std::string script(std::size_t edges, const std::filesystem::path& data) {
  std::ostringstream out;
  out << "ifstream f(\"" << data.string() << "\");\n"
      << "int n = " << edges << ";\n"
      << R"(real[int] X0(n), Y0(n), X1(n), Y1(n); int[int] L(n), N(n);
for (int i = 0; i < n; i++) { f >> X0[i] >> Y0[i] >> X1[i] >> Y1[i] >> L[i]; N[i] = 1; }
border C(t=0,1; i) { x = (1-t)*X0[i] + t*X1[i]; y = (1-t)*Y0[i] + t*Y1[i]; label = L[i]; }
mesh Th = buildmesh(C(N), fixedborder=true);
real before = 1, r = 0;
for (int k = 0; k < 12; k++) {
  fespace V(Th, P2); V u, v;
  solve P(u, v, solver=sparsesolver) = int2d(Th)(dx(u)*dx(v) + dy(u)*dy(v)) + on(1, u=1) + on(2, u=0);
  r = 1 / int2d(Th)(dx(u)^2 + dy(u)^2);
  if (k > 1 && abs(r / before - 1) < 2e-4) break;
  before = r;
  Th = adaptmesh(Th, u, err=0.01 / 2.0^k, nbvx=400000, hmin=1e-4, ratio=1.8);
}
cout.precision(10);
cout << "SQUARES " << r << endl;
)";
  return out.str();
}

// Squares between two tips, by finite elements.
double by_elements(const copper::Island& island, const copper::Electrode& a,
                   const copper::Electrode& b) {
  const test::TempDir dir;
  const Case c(island, a, b);
  std::ostringstream data;
  data.precision(12);
  for (const Edge& e : c.edges())
    data << e.x0 << ' ' << e.y0 << ' ' << e.x1 << ' ' << e.y1 << ' ' << e.label << '\n';
  const auto edges = dir.write("edges.txt", data.str());
  const auto file = dir.write("net.edp", script(c.edges().size(), edges));
  const auto out = dir.path() / "out.txt";
  const std::string command =
      "FreeFem++ -nw -v 0 " + file.string() + " > " + out.string() + " 2>&1";
  const int code = std::system(command.c_str());  // NOLINT: our own words
  std::istringstream text(test::read_bytes(out));
  double squares = std::nan("");
  for (std::string word; text >> word;) {
    if (word == "SQUARES") text >> squares;
  }
  EXPECT_EQ(code, 0) << text.str();
  return squares;
}

struct Net {
  const char *board, *from, *to;
  double within;  // share
};

class FieldFem : public ::testing::TestWithParam<Net> {};

TEST_P(FieldFem, AgreesOnAWholeNet) {
  ISTHMUS_NEEDS_BOARDS(boards);
  if (std::system("command -v FreeFem++ > /dev/null") != 0)
    GTEST_SKIP() << "FreeFem++ is not installed (Debian: freefem++)";
  const Net& net = GetParam();
  Diagnostics notes;
  auto file = test::board_file(boards, net.board);
  file.stage = Stage::etched;
  const auto loaded = load_board(file, notes);
  ASSERT_TRUE(loaded.ok()) << format(loaded.problem());
  const Board& board = **loaded;
  const auto tip = [&](const char* name) {
    const PointId point = find_point(board.expectation, name, std::nullopt).value();
    return electrode_at(board, point, board.expectation.point(point).side, kTip).value();
  };
  const copper::Electrode a = tip(net.from), b = tip(net.to);
  ASSERT_EQ(a.island, b.island);
  copper::Field field(board.copper, {}, kAsDrawn);
  const double ours = field.between(a, b)->ohms.value / copper::sheet_resistance(kAsDrawn).value;
  const double theirs = by_elements(board.copper.island(a.island), a, b);
  EXPECT_NEAR(ours / theirs, 1, net.within) << ours << " and " << theirs << " squares";
}

// Tracks within 1 %, pours within 2 %.
INSTANTIATE_TEST_SUITE_P(
    Nets, FieldFem,
    ::testing::Values(Net{"encoder", "J1.3@top", "U3.6", 0.01},
                      Net{"encoder", "R5.1", "R6.1", 0.01},
                      Net{"rom-programmer", "A1.13@top", "U2.12", 0.01},
                      Net{"ac-coupler", "C2.1", "J3.1@top", 0.01},
                      Net{"fx-switcher", "Bypass.5@bottom", "Loop4.4@bottom", 0.01},
                      Net{"rom-programmer", "U1.8", "VIA@159.499,-119.499@top", 0.02},
                      Net{"rom-programmer", "U3.14@top", "VIA@155.001,-65.499@top", 0.02}),
    [](const ::testing::TestParamInfo<Net>& net) {
      std::string name = net.param.board + std::to_string(net.index);
      std::erase(name, '-');
      return name;
    });

}  // namespace
}  // namespace isthmus::expect
