// SPDX-License-Identifier: Apache-2.0
// A board as it lies on the simulated bench: random defects, and what they truly part and join. Only
// the bench's own copper is asked; nothing here is taken from the program.
#pragma once

#include <cstdint>
#include <filesystem>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "hostsim/copper/board.hpp"
#include "isthmus/formats/design.hpp"

namespace isthmus::hand_runs {

// good: all places of the netlist hang together as on the board without defects, and so does all
// other copper. unclear: only copper without places is concerned. A fault is there, and nobody can
// be blamed for seeing it or not.
struct Truth {
  enum class Kind { good, unclear, bad } kind{};
  std::set<std::string> open;                    // nets that fell apart
  std::vector<std::set<std::string>> bridged{};  // nets that hang together, a set a piece
};

class EtchedBoard {
 public:
  // Throws std::runtime_error where it cannot be read.
  explicit EtchedBoard(const std::filesystem::path& board_yaml);
  // One to three, or none: one time in five. Always the same for a seed.
  [[nodiscard]] std::vector<hostsim::Defect> draw(std::uint64_t seed) const;
  [[nodiscard]] Truth truth_of(const std::vector<hostsim::Defect>& defects) const;
  [[nodiscard]] std::size_t places() const { return places_.size(); }

 private:
  struct Place {
    Position at;
    std::size_t layer{};
    std::string net;
  };
  [[nodiscard]] hostsim::Scenario scenario() const;
  [[nodiscard]] std::vector<int> pieces(const hostsim::CopperBoard& board) const;

  std::filesystem::path file_;
  formats::Design design_;
  hostsim::CopperBoard good_;
  std::vector<Place> places_;
  std::vector<int> good_pieces_;  // by place; -1: no copper
};

// As a list of the scenario's `defects:`.
std::string in_yaml(const std::vector<hostsim::Defect>& defects);

}  // namespace isthmus::hand_runs
