// SPDX-License-Identifier: Apache-2.0
// What lies on the simulated bench. Keys: docs/simulator.md.
#pragma once

#include <array>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "hostsim/scenario/hand_draw.hpp"
#include "isthmus/base/geometry.hpp"
#include "isthmus/base/result.hpp"

namespace isthmus::hostsim {

enum class DefectKind { open, bridge, neck, leak, whisker, no_join };

struct Defect {
  DefectKind kind{DefectKind::open};
  Position at;                      // bridge, whisker: one end
  Position to;                      // bridge, whisker: the other end
  std::optional<std::string> side;  // "top", "bottom", "L2"...; no-join only: may be absent
  double diameter_mm{}, width_mm{}, length_mm{};
  double ohm{};
  double volts_exponent{1};       // current grows with this power of the voltage
  double drift_per_s{0};          // relative change of the resistance each second
  std::vector<std::string> nets;  // leak: the two nets (or network nodes)
  int line{}, column{};
};

struct CopperDraw {
  double thickness_spread{0}, gradient{0};
  double undercut_um{0}, undercut_spread_um{0};
  double temperature_c{20};
};
struct ContactDraw {
  double ohm{0.05}, spread{0.5}, miss{0};
};
struct FixtureError {
  double shift_x_mm{0}, shift_y_mm{0};
  double turn_deg{0};
  bool mirror{false};
  double aim_mm{0};
};
struct StuckSwitch {
  int row{}, channel{};
  bool closed{false};
  bool seen{false};  // the drivers' read-back shows it
};
// Two wires of the harness, or two tips, that touch.
struct TouchingWires {
  int a{}, b{};
  double ohm{};
};
struct AdapterDraw {
  int wires{4};
  double source_a{0.1}, source_v{10};
  double switch_ohm{4}, switch_leak_a{1e-10};
  double noise_v{20e-6}, offset_v{50e-6}, drift_v_per_s{1e-6}, hum_v{0};
  std::vector<StuckSwitch> stuck;
  std::vector<TouchingWires> touching;
  double settle_s{150e-6}, convert_s{400e-6};
  bool contact_check{true};
  bool mains_integration{true};  // isolation is read over a whole mains period
  bool discharge{true};          // what isolation charged is discharged
  std::vector<double> references{10.0, 1e7};
  int buffer{4096};
};
struct LinkFaults {
  double latency_s{1e-3};
  double drop{0}, garble{0}, stall{0};  // chances per reply message
  long unplug_after{0};                 // replies; 0 never
};

// A hand-written board: named points on nodes, resistors between nodes; all other pairs are open.
struct NetworkBoard {
  std::vector<std::pair<std::string, std::string>> points;  // name, node; in the order written
  struct Resistor {
    std::string a, b;
    double ohm{};
  };
  std::vector<Resistor> resistors;
};

struct Scenario {
  std::filesystem::path path;
  std::optional<std::filesystem::path> board;  // resolved against the scenario's folder
  std::optional<NetworkBoard> network;         // exactly one of the two
  int channels{64};
  std::uint64_t seed{1};
  bool real_clock{false};
  double board_volts{0};
  double cell_um{0};  // 0: chosen by the size of the board
  std::vector<Defect> defects;
  std::vector<Defect> drawn;  // already in the artwork; for a scorer only
  CopperDraw copper;
  ContactDraw contact;
  FixtureError fixture;
  AdapterDraw adapter;
  LinkFaults link;
  HandDraw hand;
};

// Errors  SIM-001..SIM-012 at file:line:column: docs/messages/sim.md.
Result<Scenario> read_scenario(const std::filesystem::path& path);
Result<Scenario> parse_scenario(const std::string& text, const std::filesystem::path& path);

}  // namespace isthmus::hostsim
