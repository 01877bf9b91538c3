// SPDX-License-Identifier: Apache-2.0
#include "hostsim/copper/bench.hpp"

#include <fmt/core.h>

#include <cmath>
#include <numbers>

#include "hostsim/copper/holes.hpp"
#include "hostsim/copper/surface.hpp"
#include "hostsim/scenario/point_names.hpp"
#include "hostsim/scenario/sides.hpp"

namespace isthmus::hostsim {
namespace {

struct Meant {  // where a tip is meant to touch
  Position at;
  Side side{Side::top};
  bool clip{false};
};

// Where a probe meant for a place comes down: mirrored, turned and shifted about the board's
// middle, then missed by the tip's own aim.
class Aim {
 public:
  Aim(const FixtureError& error, const Grid& grid) : error_(error) {
    const double half = grid.cell_nm / 2;
    x_ = static_cast<double>(grid.origin.x) + half * grid.width;
    y_ = static_cast<double>(grid.origin.y) + half * grid.height;
  }
  // A clip is put on by hand, wherever the plate lies.
  [[nodiscard]] Position land(const Meant& meant, Random& random) const {
    if (meant.clip) return meant.at;
    double x = static_cast<double>(meant.at.x) - x_, y = static_cast<double>(meant.at.y) - y_;
    if (error_.mirror) x = -x;
    const double turn = error_.turn_deg * std::numbers::pi / 180;
    const double turned_x = x * std::cos(turn) - y * std::sin(turn);
    const double turned_y = x * std::sin(turn) + y * std::cos(turn);
    x = x_ + turned_x + 1e6 * (error_.shift_x_mm + error_.aim_mm * random.normal());
    y = y_ + turned_y + 1e6 * (error_.shift_y_mm + error_.aim_mm * random.normal());
    return {std::llround(x), std::llround(y)};
  }

 private:
  FixtureError error_;
  double x_{}, y_{};
};

struct Tips {  // one placement
  std::string name;
  std::map<formats::Channel, Meant> tips;
};

class CopperBench : public Bench {
 public:
  CopperBench(const Scenario& scenario, CopperBoard board, PointNames names,
              std::vector<Tips> placements, std::vector<std::string> hashes)
      : scenario_(scenario),
        board_(std::move(board)),
        surface_(board_, std::move(names)),
        aim_(scenario.fixture, board_.grid),
        placements_(std::move(placements)),
        hashes_(std::move(hashes)) {
    expect_probes();
  }

  Laid at_rest() override { return lifted(); }

  Laid lifted() override {
    Random random(scenario_.seed, "contact");
    return lay_on(board_.graph, {}, scenario_.contact, scenario_.channels, random);
  }

  Result<Laid> lay(const std::string& name) override {
    for (const Tips& tips : placements_) {
      if (tips.name == name) return lay_tips(tips);
    }
    return Problem{"", 0, 0, "SIM-020", fmt::format("no placement '{}'", name), "", ""};
  }

  [[nodiscard]] std::vector<std::string> hashes() const override { return hashes_; }
  Surface* surface() override { return &surface_; }

 private:
  // All placements at once: well-aimed probes then need one reduction of each conductor in all.
  void expect_probes() {
    FixtureError aimed = scenario_.fixture;
    aimed.aim_mm = 0;
    const Aim aim(aimed, board_.grid);
    Random unused(0, "");
    for (const Tips& tips : placements_) {
      for (const auto& [channel, meant] : tips.tips) {
        const auto node = touched_node(board_, layer_under(meant.side), aim.land(meant, unused));
        if (node) board_.graph.network.expect_terminals({*node});
      }
    }
  }

  [[nodiscard]] std::size_t layer_under(Side side) const {
    return side == Side::bottom ? board_.layers.size() - 1 : 0;
  }

  Laid lay_tips(const Tips& tips) {
    Random random(scenario_.seed, fmt::format("contact:{}:{}", tips.name, ++laid_));
    Touched touched;
    for (const auto& [channel, meant] : tips.tips) {
      const auto node = touched_node(board_, layer_under(meant.side), aim_.land(meant, random));
      if (node) touched[channel] = *node;
    }
    return lay_on(board_.graph, touched, scenario_.contact, scenario_.channels, random);
  }

  Scenario scenario_;
  CopperBoard board_;
  CopperSurface surface_;
  Aim aim_;
  std::vector<Tips> placements_;
  std::vector<std::string> hashes_;
  int laid_{0};
};

Result<std::vector<Tips>> place_probes(const formats::FixtureFile& fixture,
                                       const formats::Design& design) {
  const PointNames names(design);
  std::vector<Tips> placements;
  for (const formats::PlacementEntry& entry : fixture.placements) {
    Tips tips{entry.name, {}};
    for (const auto& [channel, probe] : entry.probes) {
      const auto place = probe.at ? probe.at : names.find(probe.point);
      if (!place) {
        return Problem{fixture.path.string(),
                       probe.line,
                       probe.column,
                       "SIM-025",
                       fmt::format("no place is known for the point '{}'", probe.point),
                       "give the probe `at: [x, y]`, or the board on the bench its netlist",
                       ""};
      }
      const Side pad = probe.point.empty() ? names.side_at(*place) : names.side_of(probe.point);
      const Meant meant{*place, touching_side(entry, probe, pad), probe.clip};
      tips.tips[channel] = meant;
      if (probe.twin) tips.tips[*probe.twin] = meant;
    }
    placements.push_back(std::move(tips));
  }
  return placements;
}

Result<std::vector<std::string>> hash_artwork(const formats::BoardFile& board) {
  std::vector<std::filesystem::path> files;
  if (board.top) files.push_back(*board.top);
  for (const auto& inner : board.inner) files.push_back(inner);
  if (board.bottom) files.push_back(*board.bottom);
  std::vector<std::string> hashes;
  for (const auto& file : files) {
    const auto bytes = formats::read_whole_file(file);
    if (!bytes) return bytes.problem();
    hashes.push_back(formats::sha256(*bytes));
  }
  return hashes;
}

}  // namespace

Result<std::unique_ptr<Bench>> make_copper_bench(const Scenario& scenario,
                                                 std::optional<formats::FixtureFile> fixture,
                                                 std::vector<std::string>& warnings) {
  const auto file = formats::read_board_file(*scenario.board);
  if (!file) return file.problem();
  Diagnostics notes;
  const auto design = formats::load_design(*file, notes);
  if (!design) return design.problem();
  std::vector<Tips> placements;
  if (fixture) {
    const auto checked = check_channels(*fixture, scenario.channels);
    if (!checked) return checked.problem();
    auto placed = place_probes(*fixture, *design);
    if (!placed) return placed.problem();
    placements = std::move(placed).value();
  }
  auto board = make_copper_board(scenario, *design);
  if (!board) return board.problem();
  warnings = board->warnings;
  auto hashes = hash_artwork(*file);
  if (!hashes) return hashes.problem();
  return std::unique_ptr<Bench>(
      std::make_unique<CopperBench>(scenario, std::move(board).value(), PointNames(*design),
                                    std::move(placements), std::move(hashes).value()));
}

}  // namespace isthmus::hostsim
