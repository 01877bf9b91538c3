// SPDX-License-Identifier: Apache-2.0
// How fast the readers are, on generated files. Numbers and how to read them: docs/benchmarks.md.
#include <benchmark/benchmark.h>

#include <cstdio>
#include <cstdlib>
#include <random>
#include <string>

#include "isthmus/formats/drill.hpp"
#include "isthmus/formats/gerber.hpp"
#include "isthmus/formats/ipc_d_356.hpp"

namespace {

using namespace isthmus;

class Page {
 public:
  void text(const char* written) { text_.append(written); }
  template <class... Args>
  void line(const char* pattern, Args... args) {
    char buffer[160];
    const int length = std::snprintf(buffer, sizeof buffer, pattern, args...);
    text_.append(buffer, static_cast<std::size_t>(length));
  }
  [[nodiscard]] std::size_t size() const { return text_.size(); }
  std::string take() { return std::move(text_); }
  // Within 400 mm, in nanometres.
  int place() { return static_cast<int>(random_() % 400'000'000); }

 private:
  std::string text_;
  std::mt19937_64 random_{7};
};

void add_track(Page& page) {
  int x = page.place(), y = page.place();
  page.line("X%dY%dD02*\n", x, y);
  for (int i = 0; i < 6; ++i) page.line("X%dY%dD01*\n", x += 1'250'000, y += i * 130'000);
}

void add_area(Page& page) {
  const int x = page.place(), y = page.place();
  page.line("G36*\nX%dY%dD02*\n", x, y);
  for (int i = 1; i <= 60; ++i) {
    page.line("X%dY%dD01*\n", x + i * 100'000, y + (i % 2) * 70'000);
  }
  page.line("X%dY%dD01*\nX%dY%dD01*\nX%dY%dD01*\nG37*\n", x + 6'000'000, y - 900'000, x,
            y - 900'000, x, y);
}

// A layer of tracks, round, square and oblong pads, arcs and areas, as many bytes of areas as of
// tracks.
std::string gerber_of(std::size_t megabytes) {
  Page page;
  page.text("%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,0.2*%\n%ADD11C,1.6X0.8*%\n");
  page.text("%ADD12R,1.5X0.9*%\n%ADD13O,1.2X0.8*%\nG75*\nG01*\n");
  for (std::size_t i = 0; page.size() < megabytes * 1'000'000; ++i) {
    page.text("D10*\n");
    for (int n = 0; n < 9; ++n) add_track(page);
    for (int n = 0; n < 12; ++n) {
      page.line("D%d*\nX%dY%dD03*\n", 11 + n % 3, page.place(), page.place());
    }
    const int x = page.place(), y = page.place();
    page.line("D10*\nX%dY%dD02*\nG03*\nX%dY%dI-500000J0D01*\nG01*\n", x, y, x - 500'000,
              y + 500'000);
    add_area(page);
  }
  page.text("M02*\n");
  return page.take();
}

std::string drill_of(std::size_t holes) {
  Page page;
  page.text("M48\nMETRIC\n");
  for (int tool = 1; tool <= 20; ++tool) page.line("T%02dC%.3f\n", tool, 0.2 + 0.1 * tool);
  page.text("%\nG90\nG05\n");
  for (std::size_t i = 0; i < holes; ++i) {
    if (i % 1000 == 0) page.line("T%02d\n", static_cast<int>(1 + i / 1000 % 20));
    page.line("X%.3fY%.3f\n", page.place() / 1e6, page.place() / 1e6);
  }
  page.text("M30\n");
  return page.take();
}

std::string netlist_of(std::size_t records) {
  Page page;
  page.text("P  UNITS CUST 1\n");
  for (std::size_t i = 0; i < records; ++i) {
    page.line("317NET%-11d   U%-5d-%-4dD0800PA00X+%06dY+%06dX1500Y0000R000 S0\n",
              static_cast<int>(i / 4), static_cast<int>(i / 64), static_cast<int>(i % 64),
              page.place() / 1000, page.place() / 1000);
  }
  page.text("999\n");
  return page.take();
}

// Reads `bytes` over and over; a refusal ends the run with its message.
template <class Read>
void measure(benchmark::State& state, const std::string& bytes, Read read) {
  std::size_t things = 0;
  for (auto _ : state) {
    Diagnostics notes;
    const auto result = read(bytes, notes);
    if (!result.ok()) {
      state.SkipWithError(format(result.problem()).c_str());
      break;
    }
    things = result->size();
  }
  state.SetBytesProcessed(state.iterations() * static_cast<std::int64_t>(bytes.size()));
  state.counters["things"] = static_cast<double>(things);
  state.SetComplexityN(static_cast<std::int64_t>(bytes.size()));
}

// A reader's whole value, told to the loop by how much it holds.
template <class T, class List>
Result<List> list_of(Result<T> read, List T::*list) {
  if (!read) return read.problem();
  return std::move((*read).*list);
}

void gerber(benchmark::State& state) {
  measure(state, gerber_of(static_cast<std::size_t>(state.range(0))),
          [](const std::string& bytes, Diagnostics& notes) {
            return list_of(formats::read_gerber(bytes, "layer.gbr", notes),
                           &formats::LayerImage::objects);
          });
}
BENCHMARK(gerber)
    ->Arg(10)
    ->Arg(25)
    ->Arg(50)
    ->Arg(100)
    ->Unit(benchmark::kMillisecond)
    ->Complexity(benchmark::oN);

void drill(benchmark::State& state) {
  measure(state, drill_of(static_cast<std::size_t>(state.range(0))),
          [](const std::string& bytes, Diagnostics& notes) {
            return list_of(formats::read_drill(bytes, "holes.drl", notes),
                           &formats::DrillFile::holes);
          });
}
BENCHMARK(drill)
    ->Arg(25'000)
    ->Arg(50'000)
    ->Arg(100'000)
    ->Arg(200'000)
    ->Unit(benchmark::kMillisecond)
    ->Complexity(benchmark::oN);

void netlist(benchmark::State& state) {
  measure(state, netlist_of(static_cast<std::size_t>(state.range(0))),
          [](const std::string& bytes, Diagnostics& notes) {
            return list_of(formats::read_ipc_d_356(bytes, "nets.d356", notes),
                           &formats::Netlist::records);
          });
}
BENCHMARK(netlist)
    ->Arg(25'000)
    ->Arg(50'000)
    ->Arg(100'000)
    ->Arg(200'000)
    ->Unit(benchmark::kMillisecond)
    ->Complexity(benchmark::oN);

}  // namespace

BENCHMARK_MAIN();
