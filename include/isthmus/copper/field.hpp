// SPDX-License-Identifier: Apache-2.0
// Resistance of copper between places, from a field solution (finite volumes, sparse Cholesky).
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "isthmus/copper/islands.hpp"

namespace isthmus::copper {

struct Foil {
  Nanometres thickness{35_um};
  Nanometres undercut{15_um};  // mean lateral loss per side at half height
  Celsius temperature{20.0};
};
// IEC 60028: 17.241 nohm m at 20 degC, 0.00393 / K.
Ohms sheet_resistance(const Foil& foil);

// Conducts between islands of different layers: a barrel, wire, rivet, or a link.
struct Barrel {
  struct Foot {
    IslandId island{};
    Position at;
    Nanometres diameter{};
  };
  std::vector<Foot> feet;
  Ohms ohms{0.0005};  // from the barrel's middle to each foot
};

// Where a probe touches: current enters over a disc of this diameter, clipped to the copper.
struct Electrode {
  IslandId island{};
  Position at;
  Nanometres diameter{500_um};
};

struct Predicted {
  Ohms ohms{};
  Ohms uncertainty{};  // one standard deviation: mesh, thickness and undercut spread (20 % and 10
                       // um)
  Ohms mesh{};         // the mesh's share of it
  double per_loss{};   // ohms more for each nanometre of further loss of width per side
};

// Quick: six cells across narrow copper and 8 sectors an electrode, within 2 % of the closed forms:
// enough where a foil's 20 % decide. Exact: finer where copper has few squares; docs/resistance.md.
enum class Fidelity { quick, exact };

// The copper that hangs together through barrels, meshed lazily and solved per connected piece.
// Borrows copper. Not thread-safe; values are independent of the order of questions.
//
// Units   Ohms, with one standard deviation; `mesh` is the solution's own share of it.
// Cost    one factorisation a piece, kept until `forget`: further questions about it cost a
//         substitution each.
// Source  IEC 60028 for the resistivity; docs/resistance.md for the method and its errors.
class Field {
 public:
  // Borrows copper.
  Field(const Copper& copper, std::vector<Barrel> barrels, const Foil& foil,
        Fidelity fidelity = Fidelity::exact);
  ~Field();
  Field(Field&&) noexcept;
  Field& operator=(Field&&) noexcept;

  // Nothing where no copper and no barrel connects the two.
  std::optional<Predicted> between(const Electrode& a, const Electrode& b);
  // Volts per ampere at each place when 1 A enters at `source` and leaves at `sink`, relative to
  // the sink. All must hang together with source (else that entry is NaN).
  std::vector<double> transfer(const Electrode& source, const Electrode& sink,
                               std::span<const Electrode> places);

  // Islands with the same number hang together, through barrels too: one solution serves them.
  [[nodiscard]] std::size_t piece_of(IslandId island) const;
  // Pieces whose solution is held.
  [[nodiscard]] std::size_t held() const;
  // Frees all of them. A later question solves its piece anew, to the same answer.
  void forget();

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace isthmus::copper
