// SPDX-License-Identifier: Apache-2.0
#include "isthmus/copper/field.hpp"

#include <algorithm>
#include <cmath>
#include <polyclipping/clipper.hpp>
#include <tuple>

#include "copper/conductors/axis.hpp"
#include "copper/field/grid.hpp"
#include "copper/field/narrow.hpp"
#include "isthmus/base/ensure.hpp"
#include "isthmus/base/sets.hpp"

namespace isthmus::copper {
namespace {

constexpr double kCellsAcross = 6;  // cells across the narrow copper of an island
constexpr std::int64_t kFinest = 15'000, kCoarsest = 100'000;  // nm
constexpr std::size_t kSectors = 16, kQuickSectors = 8;        // of an electrode
constexpr double kFewestUnknowns = 12'000;                     // a piece; a finer grid below,
constexpr double kFinestShare = 0.1;                           // of the cell, at the most
constexpr double kMostUnknowns = 60'000;                       // a piece; a coarser grid above
constexpr double kMuchNarrower = 0.5;    // than "narrow": gets cells of its own
constexpr double kAtTip = 40;            // of these across it, at the tip
constexpr double kFinestAtTip = 50;      // nm
constexpr double kTouching = 1'000;      // nm: copper that only touches has no width to resolve
constexpr double kLeastGain = 0.7;       // of the cell: what such cells must be smaller than
constexpr double kAtCorner = 1.0 / 3;    // of the cell
constexpr double kMostForCorners = 1.2;  // times the rectangles of the grid without
constexpr std::size_t kMostCorners = 16;
constexpr double kThicknessSpread = 0.2;
constexpr double kUndercutSpread = 10'000;  // nm
constexpr double kOutlineStep = 2'500;      // nm
constexpr double kNarrowShare = 0.05;  // of the axis' length that may be narrower than "narrow"

struct Etched {
  std::vector<Polygon> shape;
  bool as_drawn{};  // etching would take it apart: left as it is
};

void gather(const ClipperLib::PolyNode& node, std::vector<Polygon>& out) {
  const auto contour = [](const ClipperLib::Path& path) {
    Contour c;
    for (const auto& p : path) c.push_back({p.X, p.Y});
    return c;
  };
  for (const ClipperLib::PolyNode* outer : node.Childs) {
    Polygon p{contour(outer->Contour), {}};
    for (const ClipperLib::PolyNode* hole : outer->Childs) {
      p.holes.push_back(contour(hole->Contour));
      gather(*hole, out);
    }
    out.push_back(std::move(p));
  }
}

// The outline moved inwards by what the etch takes at half height.
Etched etched(const Island& island, Nanometres undercut) {
  Etched e;
  for (std::size_t i = 0; i < island.pieces(); ++i) e.shape.push_back(island.piece(i));
  if (undercut.value == 0) return e;
  ClipperLib::ClipperOffset offset(2.0);
  const auto add = [&](const Contour& c) {
    ClipperLib::Path path;
    for (Position p : c) path.emplace_back(p.x, p.y);
    offset.AddPath(path, ClipperLib::jtMiter, ClipperLib::etClosedPolygon);
  };
  for (const Polygon& p : e.shape) {
    add(p.outer);
    for (const Contour& h : p.holes) add(h);
  }
  ClipperLib::PolyTree tree;
  offset.Execute(tree, static_cast<double>(-undercut.value));
  std::vector<Polygon> shrunk;
  gather(tree, shrunk);
  e.as_drawn = shrunk.size() != 1;
  if (!e.as_drawn) e.shape = std::move(shrunk);
  return e;
}

// The outline with fewer corners: a width that only chooses the cells need not follow every chord.
Polygon coarse_outline(const Polygon& polygon) {
  const auto fewer = [](const Contour& contour) {
    ClipperLib::Path path;
    for (const Position p : contour) path.emplace_back(p.x, p.y);
    ClipperLib::CleanPolygon(path, kOutlineStep);
    Contour out;
    for (const auto& p : path) out.push_back({p.X, p.Y});
    return out.size() < 3 ? contour : out;
  };
  Polygon out{fewer(polygon.outer), {}};
  for (const Contour& hole : polygon.holes) out.holes.push_back(fewer(hole));
  return out;
}

// The width that all but a twentieth of the island's axis exceeds.
double narrow_width(const std::vector<Polygon>& shape) {
  Island island;
  island.outline = coarse_outline(shape[0]);
  for (std::size_t i = 1; i < shape.size(); ++i) island.more.push_back(coarse_outline(shape[i]));
  const Axis axis = middle_axis(island);
  std::vector<std::pair<double, double>> width_length;
  double total = 0, widest = 0;
  for (const AxisPlace& p : axis.places) widest = std::max(widest, p.width);
  for (const AxisEdge& e : axis.edges) {
    const AxisPlace &a = axis.places[e.a], &b = axis.places[e.b];
    width_length.emplace_back(std::min(a.width, b.width), std::hypot(a.x - b.x, a.y - b.y));
    total += width_length.back().second;
  }
  std::sort(width_length.begin(), width_length.end());
  double sum = 0;
  for (auto [width, length] : width_length) {
    sum += length;
    if (sum >= kNarrowShare * total) return width;
  }
  return widest;
}

double area(const std::vector<Polygon>& shape) {
  double sum = 0;
  for (const Polygon& p : shape) sum += area_nm2(p);
  return sum;
}

}  // namespace

Ohms sheet_resistance(const Foil& foil) {
  constexpr double kResistivity20 = 1.7241e-8;  // ohm m, IEC 60028
  constexpr double kPerKelvin = 0.00393;        // IEC 60028
  ENSURE(foil.thickness.value > 0);
  const double resistivity = kResistivity20 * (1 + kPerKelvin * (foil.temperature.value - 20));
  return {resistivity / (static_cast<double>(foil.thickness.value) * 1e-9)};
}

struct Field::Impl {
  struct Piece {
    std::vector<IslandId> islands;
    std::vector<const Barrel*> barrels;
    std::unique_ptr<FieldGrid> fine, coarse;
    bool as_drawn{};
  };
  const Copper* copper;
  std::vector<Barrel> barrels;
  Foil foil;
  Fidelity fidelity;
  std::vector<std::size_t> piece_of;  // by island
  std::vector<Piece> pieces;
  std::vector<std::size_t> held;  // pieces that are meshed

  Impl(const Copper& c, std::vector<Barrel> b, const Foil& f, Fidelity how)
      : copper(&c), barrels(std::move(b)), foil(f), fidelity(how) {
    Sets joined(c.islands.size());
    for (const Barrel& barrel : barrels) {
      for (const Barrel::Foot& foot : barrel.feet)
        joined.unite(index(barrel.feet[0].island), index(foot.island));
    }
    piece_of.resize(c.islands.size());
    for (std::size_t i = 0; i < piece_of.size(); ++i) {
      const std::size_t root = joined.find(i);
      if (root == i) {
        piece_of[i] = pieces.size();
        pieces.emplace_back();
      } else {
        piece_of[i] = piece_of[root];
      }
      pieces[piece_of[i]].islands.push_back(static_cast<IslandId>(i));
    }
    for (const Barrel& barrel : barrels) {
      if (barrel.feet.size() > 1)
        pieces[piece_of[index(barrel.feet[0].island)]].barrels.push_back(&barrel);
    }
  }

  void mesh(Piece& piece) const {
    std::vector<FieldPart> parts;
    std::vector<double> narrow;
    double unknowns = 0;
    for (IslandId id : piece.islands) {
      Etched e = etched(copper->island(id), foil.undercut);
      piece.as_drawn = piece.as_drawn || e.as_drawn;
      narrow.push_back(narrow_width(e.shape));
      const auto cell = static_cast<std::int64_t>(narrow.back() / kCellsAcross);
      FieldPart part{id, std::move(e.shape), std::clamp(cell, kFinest, kCoarsest), {}};
      const double side = static_cast<double>(part.cell);
      unknowns += area(part.shape) / (side * side);
      parts.push_back(std::move(part));
    }
    // A net of few squares has its corners, tees and pads weigh more: it gets smaller cells.
    const bool exact = fidelity == Fidelity::exact;
    const double finer =
        exact ? std::clamp(std::sqrt(unknowns / kFewestUnknowns), kFinestShare, 1.0) : 1.0;
    const std::size_t sectors = exact ? kSectors : kQuickSectors;
    const double scale = finer * std::sqrt(std::max(unknowns / kMostUnknowns, 1.0));
    for (FieldPart& p : parts) p.cell = std::llround(static_cast<double>(p.cell) * scale);
    for (std::size_t i = 0; exact && i < parts.size(); ++i) {
      close_in(parts[i], kMuchNarrower * narrow[i]);
    }
    const Ohms sheet = sheet_resistance(foil);
    piece.fine = std::make_unique<FieldGrid>(parts, piece.barrels, sheet, foil.undercut, sectors);
    for (FieldPart& p : parts) {
      p.cell *= 2;
      for (FinePlace& f : p.fine) f.size *= 2;
    }
    piece.coarse = std::make_unique<FieldGrid>(parts, piece.barrels, sheet, foil.undercut, sectors);
  }

  // Smaller cells at the tips of places narrower than `width`, and at sharp corners where these are
  // few enough to cost little.
  static void close_in(FieldPart& part, double width) {
    const double cell = static_cast<double>(part.cell);
    for (const NarrowPlace& n : narrow_places(part.shape, width)) {
      if (n.width < kTouching) continue;
      const double size = std::max(n.width / kAtTip, kFinestAtTip);
      if (size < kLeastGain * cell) part.fine.push_back({n.tip, size});
    }
    std::vector<FinePlace> more = part.fine;
    for (const Position corner : inner_corners(part.shape))
      more.push_back({corner, kAtCorner * cell});
    if (more.size() > part.fine.size() && more.size() < part.fine.size() + kMostCorners &&
        rectangles(part.shape, part.cell, more) <
            kMostForCorners * rectangles(part.shape, part.cell, part.fine)) {
      part.fine = std::move(more);
    }
  }

  // Nothing when they belong to different pieces.
  Piece* common(const Electrode& a, const Electrode& b) {
    ENSURE(index(a.island) < piece_of.size() && index(b.island) < piece_of.size());
    if (piece_of[index(a.island)] != piece_of[index(b.island)]) return nullptr;
    Piece& piece = pieces[piece_of[index(a.island)]];
    if (!piece.fine) {
      mesh(piece);
      held.push_back(piece_of[index(a.island)]);
    }
    return &piece;
  }

  void forget() {
    for (const std::size_t p : held) {
      pieces[p].fine.reset();
      pieces[p].coarse.reset();
      pieces[p].as_drawn = false;
    }
    held.clear();
  }
};

Field::Field(const Copper& copper, std::vector<Barrel> barrels, const Foil& foil, Fidelity fidelity)
    : impl_(std::make_unique<Impl>(copper, std::move(barrels), foil, fidelity)) {}
Field::~Field() = default;
Field::Field(Field&&) noexcept = default;
Field& Field::operator=(Field&&) noexcept = default;

std::optional<Predicted> Field::between(const Electrode& a, const Electrode& b) {
  const auto key = [](const Electrode& e) {
    return std::tuple(index(e.island), e.at, e.diameter.value);
  };
  if (key(b) < key(a)) return between(b, a);
  Impl::Piece* piece = impl_->common(a, b);
  if (piece == nullptr) return std::nullopt;
  const auto fine = piece->fine->between(a, b);
  const auto coarse = piece->coarse->squares(a, b);
  if (!fine || !coarse) return std::nullopt;
  if (key(a) == key(b)) return Predicted{};
  const double sheet = sheet_resistance(impl_->foil).value;
  const double step = fine->squares - *coarse;
  const double spread =
      kUndercutSpread + (piece->as_drawn ? static_cast<double>(impl_->foil.undercut.value) : 0);
  const double parts[] = {step, kThicknessSpread * fine->squares, spread * fine->per_offset};
  return Predicted{{fine->squares * sheet},
                   {sheet * std::hypot(parts[0], parts[1], parts[2])},
                   {sheet * std::abs(step)},
                   -sheet * fine->per_offset};
}

std::vector<double> Field::transfer(const Electrode& source, const Electrode& sink,
                                    std::span<const Electrode> places) {
  std::vector<double> volts(places.size(), std::nan(""));
  Impl::Piece* piece = impl_->common(source, sink);
  if (piece == nullptr) return volts;
  std::vector<Electrode> here;
  std::vector<std::size_t> slot;
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (impl_->piece_of.at(index(places[i].island)) != impl_->piece_of[index(source.island)])
      continue;
    here.push_back(places[i]);
    slot.push_back(i);
  }
  const auto solved = piece->fine->transfer(source, sink, here);
  if (!solved) return volts;
  const double sheet = sheet_resistance(impl_->foil).value;
  for (std::size_t k = 0; k < slot.size(); ++k) volts[slot[k]] = (*solved)[k] * sheet;
  return volts;
}

std::size_t Field::piece_of(IslandId island) const { return impl_->piece_of.at(index(island)); }

std::size_t Field::held() const { return impl_->held.size(); }

void Field::forget() { impl_->forget(); }

}  // namespace isthmus::copper
