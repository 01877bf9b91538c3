// SPDX-License-Identifier: Apache-2.0
// Islands of a generated layer beside a union of the same shapes by the clipping library, in one
// run. Numbers and how to read them: docs/benchmarks.md.
#include <benchmark/benchmark.h>

#include <cmath>
#include <cstdio>
#include <map>
#include <polyclipping/clipper.hpp>
#include <random>
#include <string>

#include "isthmus/copper/islands.hpp"
#include "isthmus/formats/gerber.hpp"

namespace {

using namespace isthmus;

// Round pads of 0.8 mm and tracks of 0.3 mm at random places, a fifth of the area: the board's side
// grows as the root of their number.
formats::Design layer_of(std::int64_t objects) {
  std::mt19937_64 random{7};
  const auto side = static_cast<std::uint64_t>(std::sqrt(static_cast<double>(objects)) * 1.5e6);
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

const formats::Design& layer(std::int64_t objects) {
  static std::map<std::int64_t, formats::Design> made;
  const auto [it, fresh] = made.try_emplace(objects);
  if (fresh) it->second = layer_of(objects);
  return it->second;
}

void islands(benchmark::State& state) {
  const formats::Design& design = layer(state.range(0));
  std::size_t count = 0;
  for (auto _ : state) count = copper::extract_copper(design).value().islands.size();
  state.counters["islands"] = static_cast<double>(count);
  state.SetComplexityN(state.range(0));
}

void clipping_union(benchmark::State& state) {
  ClipperLib::Paths paths;
  for (const formats::Object& object : layer(state.range(0)).copper[0].objects) {
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

BENCHMARK(islands)
    ->Arg(12'500)
    ->Arg(50'000)
    ->Arg(200'000)
    ->Unit(benchmark::kMillisecond)
    ->Complexity();
BENCHMARK(clipping_union)->Arg(12'500)->Arg(50'000)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
