// SPDX-License-Identifier: Apache-2.0
// Copper as runs of cells: nodes are runs and the metal in holes, edges are overlaps of neighbouring
// rows. Small enough that a fault needs only the runs it touches, and a flood from there.
#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "tests/audit/grid.hpp"

namespace isthmus::audit {

using Node = std::uint32_t;
using Label = std::uint32_t;
inline constexpr std::uint32_t kNone = 0xffffffff;

struct Run {
  std::int32_t layer{}, y{}, x0{}, x1{};  // x1 included
};
// Cells of one run.
struct Span {
  std::uint32_t run{};
  std::int32_t x0{}, x1{};
  bool operator==(const Span&) const = default;
};
// What ties copper through the board or over it: a wire, rivet, barrel or lead in a hole, a jumper.
struct Metal {
  Position at;
  bool link{false};
  bool by_hand{true};  // not plated
  Nanometres diameter{};
  std::vector<Span> feet;  // copper at its rim, on every layer it reaches
};
// A hole of the design, whether anything is in it or not.
struct Drilled {
  std::vector<Segment> axes;  // one, or the legs of a slot
  Position at;
  Nanometres diameter{};
  bool unplated{false};                     // never joins anything
  std::optional<std::pair<int, int>> span;  // copper layers it goes through, counted from 1
  std::optional<std::size_t> metal;         // what conducts in it at this stage
  std::vector<std::vector<Span>> rims;      // by layer
};

struct Raster {
  Grid grid;
  Stage stage{};
  std::vector<Bitmap> copper;  // by layer, holes drilled; empty where not etched at this stage
  std::vector<Run> runs;
  std::vector<std::vector<std::uint32_t>> first_run;  // by layer and row; one more row at the end
  std::vector<std::uint32_t> neighbour_begin, neighbours;  // of runs, by run
  std::vector<Metal> metals;                               // node = runs.size() + index
  std::vector<std::uint32_t> metal_begin, metals_of;  // metals whose feet stand on a run, by run
  std::vector<Drilled> holes;
  std::vector<Label> label;   // by node: conductors
  std::vector<Label> island;  // by run: conductors as if no metal were there
  std::size_t labels{}, islands{};

  [[nodiscard]] std::size_t nodes() const { return runs.size() + metals.size(); }
  [[nodiscard]] Node metal_node(std::size_t metal) const {
    return static_cast<Node>(runs.size() + metal);
  }
  // The run that holds the cell; kNone where there is no copper.
  [[nodiscard]] std::uint32_t run_at(Cell c) const;
  [[nodiscard]] Label label_at(Cell c) const;
  [[nodiscard]] std::int32_t layers() const { return static_cast<std::int32_t>(copper.size()); }
  // Nearest copper of a layer within reach.
  [[nodiscard]] std::optional<Cell> nearest(std::int32_t layer, Position p, double reach_nm) const;
};

// The board at its stage, as drawn.
Raster make_raster(const formats::Design& design, Nanometres cell = {});

// Cells, any order, as spans of runs.
std::vector<Span> spans_of(const Raster& raster, std::vector<Cell> cells);

}  // namespace isthmus::audit
