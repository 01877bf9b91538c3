// SPDX-License-Identifier: Apache-2.0
// The linear system of one connected piece of copper at one cell size, in squares.
#pragma once

#include <Eigen/SparseCholesky>
#include <cstdint>
#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "copper/field/mesh/mesh.hpp"
#include "isthmus/copper/field.hpp"

namespace isthmus::copper {

struct FieldPart {  // one island of the piece
  IslandId island{};
  std::vector<Polygon> shape;  // after etching
  std::int64_t cell{};         // nm
  std::vector<FinePlace> fine{};
};

class FieldGrid {
 public:
  struct Answer {
    double squares{};
    double per_offset{};  // d(squares)/d(outline moved outwards), 1/nm; not positive
  };

  // Barrel resistances are taken in squares: ohms / sheet.
  FieldGrid(const std::vector<FieldPart>& parts, const std::vector<const Barrel*>& barrels,
            Ohms sheet, Nanometres slack, std::size_t sectors);

  [[nodiscard]] std::size_t unknowns() const { return static_cast<std::size_t>(matrix_.rows()); }
  // Nothing when an electrode touches no copper of this piece.
  std::optional<Answer> between(const Electrode& a, const Electrode& b);
  std::optional<double> squares(const Electrode& a, const Electrode& b);  // of `between`, cheaper
  // Potential at each place for 1 A from source to sink through 1 ohm/square, against the sink.
  std::optional<std::vector<double>> transfer(const Electrode& source, const Electrode& sink,
                                              std::span<const Electrode> places);

 private:
  using Sparse =
      std::vector<std::pair<std::uint32_t, double>>;  // unknown, weight; the weights sum to 1
  using Shares = std::vector<std::pair<std::size_t, double>>;  // the same by cell of a part
  struct Spot {
    double x{}, y{};
  };
  struct Sector {
    Sparse shares;
    double excess{};  // squares by which the grid reads the sector's own potential too low
  };
  // Sources for which half the system is solved: with A = L D L' (rows permuted by P), the columns
  // of D^-1/2 L^-1 P sources. Their products with each other are the potentials of one source
  // under 1 A into another; only rows on the way from the sources to the elimination tree's root
  // are not zero.
  struct HalfSolved {
    std::vector<std::uint32_t> rows;  // ascending
    Eigen::MatrixXd values;           // a row each of `rows`, a column each source
  };
  struct Contact {
    std::vector<Sector> sectors;  // the current through each is found from equal potentials
    HalfSolved half;
    std::uint64_t used{};
  };
  struct Key {
    std::size_t island;
    Position at;
    std::int64_t diameter;
    auto operator<=>(const Key&) const = default;
  };
  struct Solved {
    Eigen::VectorXd half;  // of all sectors with their shares of 1 A; see HalfSolved
    double at_a{}, at_b{};
  };

  void tie(const std::vector<FieldPart>& parts, const std::vector<const Barrel*>& barrels);
  void assemble(const std::vector<const Barrel*>& barrels, Ohms sheet);
  void hold_together();
  [[nodiscard]] std::optional<std::size_t> part_of(IslandId island) const;
  [[nodiscard]] std::vector<std::size_t> disc(std::size_t part, Position at, double radius) const;
  [[nodiscard]] std::optional<std::size_t> cell_at(std::size_t part, double x, double y) const;
  [[nodiscard]] std::size_t nearest_cell(std::size_t part, double x, double y) const;
  [[nodiscard]] Shares spread(std::size_t part, double x, double y, std::size_t cell) const;
  [[nodiscard]] std::vector<Sector> rim(std::size_t part, Spot middle, double radius) const;
  [[nodiscard]] Sector sector(std::size_t part, const Shares& cells, Spot middle,
                              double length) const;
  [[nodiscard]] std::vector<Sector> sectors_of(const Electrode& e) const;
  Contact* contact(const Electrode& e);
  [[nodiscard]] HalfSolved half_solve(const std::vector<Sector>& sectors);
  [[nodiscard]] static Eigen::MatrixXd products(const HalfSolved& a, const HalfSolved& b);
  [[nodiscard]] Eigen::VectorXd whole(const Eigen::VectorXd& half) const;
  std::optional<Solved> solve(const Electrode& a, const Electrode& b);
  static double read(const Sparse& s, const Eigen::VectorXd& v);

  struct Part {
    IslandId island{};
    Mesh mesh;
    std::vector<Polygon> shape;
    std::size_t first{};                           // of its cells in `unknown_`
    std::vector<std::size_t> link_start, at_cell;  // links by cell
  };
  struct Foot {
    std::size_t barrel{}, part{};
    double x{}, y{}, radius{};
    std::size_t unknown{};
  };
  struct Conductor {
    std::uint32_t a{}, b{};
    double g{}, growth{};  // squares^-1; per nm of outline offset
  };
  std::vector<Part> parts_;
  std::vector<Foot> feet_;
  std::vector<std::uint32_t> unknown_;  // by cell of all parts; cells under a foot share one
  std::vector<Conductor> conductors_;
  double slack_{};
  std::size_t sectors_{};  // of an electrode's rim, about
  Eigen::SparseMatrix<double> matrix_;
  Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>> solver_;
  std::map<Key, Contact> contacts_;
  std::vector<std::int32_t> place_;  // by row: where half_solve keeps it, else -1
  std::uint64_t clock_{};
};

}  // namespace isthmus::copper
