// SPDX-License-Identifier: Apache-2.0
// Islands of a generated layer beside unions of the same shapes by the clipping library and GEOS,
// gaps beside a Voronoi diagram of the same edges, resistances of a board of 200 nets: in one run.
// Numbers and how to read them: docs/benchmarks.md.
#include <benchmark/benchmark.h>

#include <boost/polygon/segment_data.hpp>
#include <boost/polygon/voronoi.hpp>
#include <cmath>
#include <cstdio>
#include <map>
#include <polyclipping/clipper.hpp>
#include <random>
#include <string>

#include "isthmus/copper/field.hpp"
#include "isthmus/copper/gaps.hpp"
#include "isthmus/copper/islands.hpp"
#include "isthmus/formats/gerber.hpp"
#include "tests/copper/geos_witness.hpp"

namespace {

using namespace isthmus;

// Round pads of 0.8 mm and tracks of 0.3 mm at random places, a fifth of the area: the board's side
// grows as the root of their number. `crowded`: in a sixth of that, so that they lie many deep.
formats::Design layer_of(std::int64_t objects, bool crowded) {
  std::mt19937_64 random{7};
  const auto side = static_cast<std::uint64_t>(
      std::sqrt(static_cast<double>(objects) / (crowded ? 6 : 1)) * 1.5e6);
  const auto place = [&] { return static_cast<long>(random() % side); };
  const auto step = [&] { return static_cast<long>(random() % 2'000'000) - 1'000'000; };
  std::string text = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.3*%\n%ADD11C,0.8*%\nG01*\n";
  char line[160];
  for (std::int64_t i = 0; i < objects / 2; ++i) {
    const long px = place(), py = place(), x = place(), y = place();
    const int length =
        std::snprintf(line, sizeof line, "D11*\nX%ldY%ldD03*\nD10*\nX%ldY%ldD02*\nX%ldY%ldD01*\n",
                      px, py, x, y, x + step(), y + step());
    text.append(line, static_cast<std::size_t>(length));
  }
  Diagnostics notes;
  formats::Design design;
  design.copper.push_back(
      std::move(formats::read_gerber(text + "M02*\n", "layer.gbr", notes).value()));
  return design;
}

const formats::Design& layer(std::int64_t objects, bool crowded = false) {
  static std::map<std::pair<std::int64_t, bool>, formats::Design> made;
  const auto [it, fresh] = made.try_emplace({objects, crowded});
  if (fresh) it->second = layer_of(objects, crowded);
  return it->second;
}

void islands(benchmark::State& state) {
  const formats::Design& design = layer(state.range(0), state.range(1) != 0);
  std::size_t count = 0;
  for (auto _ : state) count = copper::extract_copper(design).value().islands.size();
  state.counters["islands"] = static_cast<double>(count);
  state.SetComplexityN(state.range(0));
}

void clipping_union(benchmark::State& state) {
  ClipperLib::Paths paths;
  for (const formats::Object& object :
       layer(state.range(0), state.range(1) != 0).copper[0].objects) {
    for (const Polygon& polygon : object.shape) {
      ClipperLib::Path path;
      for (const Position p : polygon.outer) path.emplace_back(p.x, p.y);
      paths.push_back(std::move(path));
    }
  }
  std::size_t count = 0;
  for (auto _ : state) {
    ClipperLib::Clipper clipper;
    clipper.AddPaths(paths, ClipperLib::ptSubject, true);
    ClipperLib::PolyTree tree;
    clipper.Execute(ClipperLib::ctUnion, tree, ClipperLib::pftNonZero, ClipperLib::pftNonZero);
    count = static_cast<std::size_t>(tree.Total());
  }
  state.counters["contours"] = static_cast<double>(count);
}

void geos_union(benchmark::State& state) {
  std::vector<const Polygon*> shapes;
  for (const formats::Object& object : layer(state.range(0)).copper[0].objects) {
    for (const Polygon& polygon : object.shape) shapes.push_back(&polygon);
  }
  int parts = 0;
  for (auto _ : state) {
    const test::Geos geos;
    parts = GEOSGetNumGeometries_r(geos.handle(), geos.unite(shapes).get());
  }
  state.counters["parts"] = parts;
}

const copper::Copper& copper_of(std::int64_t objects) {
  static std::map<std::int64_t, copper::Copper> made;
  const auto [it, fresh] = made.try_emplace(objects);
  if (fresh) it->second = copper::extract_copper(layer(objects)).value();
  return it->second;
}

void gaps(benchmark::State& state) {
  const copper::Copper& copper = copper_of(state.range(0));
  std::size_t count = 0;
  for (auto _ : state) count = copper::find_gaps(copper, 1270_um).size();
  state.counters["gaps"] = static_cast<double>(count);
}

// What would have to be walked next to find the same: the diagram alone.
void voronoi_of_all_edges(benchmark::State& state) {
  std::vector<boost::polygon::segment_data<int>> edges;
  const auto add = [&](const Contour& c) {
    for (std::size_t i = 0; i < c.size(); ++i) {
      const Position p = c[i], q = c[(i + 1) % c.size()];
      edges.push_back({{static_cast<int>(p.x), static_cast<int>(p.y)},
                       {static_cast<int>(q.x), static_cast<int>(q.y)}});
    }
  };
  for (const copper::Island& island : copper_of(state.range(0)).islands) {
    for (std::size_t i = 0; i < island.pieces(); ++i) {
      add(island.piece(i).outer);
      for (const Contour& hole : island.piece(i).holes) add(hole);
    }
  }
  std::size_t count = 0;
  for (auto _ : state) {
    boost::polygon::voronoi_diagram<double> diagram;
    boost::polygon::construct_voronoi(edges.begin(), edges.end(), &diagram);
    count = diagram.num_edges();
  }
  state.counters["segments"] = static_cast<double>(edges.size());
  state.counters["diagram edges"] = static_cast<double>(count);
}

// Nets of five pads of 1.5 mm, 10 mm apart along a zigzag of 0.3 mm track.
constexpr int kPads = 5;
Position pad_of(int net, int pad) {
  return position_mm(pad * 10.0, net * 4.0 + (pad % 2 == 0 ? 0.0 : 1.5));
}

formats::Design board_of(int nets) {
  std::string text = "%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.3*%\n%ADD11C,1.5*%\nG01*\n";
  const auto at = [](Position p) { return "X" + std::to_string(p.x) + "Y" + std::to_string(p.y); };
  for (int net = 0; net < nets; ++net) {
    for (int pad = 0; pad < kPads; ++pad) {
      text += "D11*\n" + at(pad_of(net, pad)) + "D03*\n";
      if (pad == 0) continue;
      text += "D10*\n" + at(pad_of(net, pad - 1)) + "D02*\n" + at(pad_of(net, pad)) + "D01*\n";
    }
  }
  Diagnostics notes;
  formats::Design design;
  design.copper.push_back(
      std::move(formats::read_gerber(text + "M02*\n", "board.gbr", notes).value()));
  return design;
}

void resistances(benchmark::State& state, copper::Fidelity fidelity) {
  const auto nets = static_cast<int>(state.range(0));
  const formats::Design design = board_of(nets);
  const copper::Copper copper = copper::extract_copper(design).value();
  const copper::IslandIndex index(copper);
  std::size_t count = 0;
  for (auto _ : state) {
    count = 0;
    copper::Field field(copper, {}, copper::Foil{}, fidelity);
    for (int net = 0; net < nets; ++net) {
      const auto tip = [&](int pad) {
        const Position p = pad_of(net, pad);
        return copper::Electrode{index.at(LayerId{0}, p).value(), p, 500_um};
      };
      for (int a = 0; a < kPads; ++a) {
        for (int b = a + 1; b < kPads; ++b) count += field.between(tip(a), tip(b)).has_value();
      }
    }
  }
  state.counters["resistances"] = static_cast<double>(count);
}

BENCHMARK(islands)
    ->Args({12'500, 0})
    ->Args({50'000, 0})
    ->Args({200'000, 0})
    ->Unit(benchmark::kMillisecond)
    ->Complexity();
BENCHMARK(clipping_union)->Args({12'500, 0})->Args({50'000, 0})->Unit(benchmark::kMillisecond);
BENCHMARK(islands)->Name("crowded_islands")->Args({12'500, 1})->Unit(benchmark::kMillisecond);
BENCHMARK(clipping_union)->Name("crowded_union")->Args({12'500, 1})->Unit(benchmark::kMillisecond);
BENCHMARK(geos_union)->Arg(12'500)->Arg(50'000)->Unit(benchmark::kMillisecond);
BENCHMARK(gaps)->Arg(12'500)->Arg(50'000)->Unit(benchmark::kMillisecond);
BENCHMARK(voronoi_of_all_edges)->Arg(12'500)->Arg(50'000)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(resistances, quick, copper::Fidelity::quick)
    ->Arg(200)
    ->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(resistances, exact, copper::Fidelity::exact)
    ->Arg(200)
    ->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
