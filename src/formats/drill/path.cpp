// SPDX-License-Identifier: Apache-2.0
#include "formats/drill/path.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace isthmus::formats {
namespace {

constexpr double kChordError = 2000;    // nm
constexpr double kRadiusSlack = 20000;  // nm: coordinates of few digits put the centre a little off

}  // namespace

std::optional<std::vector<Position>> arc_by_centre(const RoutedArc& arc, Position centre) {
  const double radius = distance_nm(arc.from, centre);
  if (radius < 1 || std::abs(radius - distance_nm(arc.to, centre)) > kRadiusSlack)
    return std::nullopt;
  const auto angle = [&](Position p) {
    return std::atan2(static_cast<double>(p.y - centre.y), static_cast<double>(p.x - centre.x));
  };
  const double start = angle(arc.from);
  double sweep = angle(arc.to) - start;
  constexpr double kTurn = 2 * std::numbers::pi;
  if (arc.clockwise) {
    while (sweep >= 0) sweep -= kTurn;
    while (sweep < -kTurn) sweep += kTurn;
  } else {
    while (sweep <= 0) sweep += kTurn;
    while (sweep > kTurn) sweep -= kTurn;
  }
  const double widest = 2 * std::acos(1 - std::min(kChordError / radius, 0.5));
  const int chords = std::max(1, static_cast<int>(std::ceil(std::abs(sweep) / widest)));
  std::vector<Position> out;
  for (int i = 1; i < chords; ++i) {
    const double a = start + sweep * i / chords;
    out.push_back({centre.x + std::llround(radius * std::cos(a)),
                   centre.y + std::llround(radius * std::sin(a))});
  }
  out.push_back(arc.to);
  return out;
}

std::optional<std::vector<Position>> arc_by_radius(const RoutedArc& arc, Nanometres radius) {
  const double chord = distance_nm(arc.from, arc.to);
  const double r = std::max(static_cast<double>(std::abs(radius.value)), chord / 2);
  if (chord < 1 || r - static_cast<double>(std::abs(radius.value)) > kRadiusSlack)
    return std::nullopt;
  // Up to half a turn: a clockwise arc has its centre to the right of the chord.
  const double height = std::sqrt(std::max(0.0, r * r - chord * chord / 4));
  const double ux = static_cast<double>(arc.to.x - arc.from.x) / chord;
  const double uy = static_cast<double>(arc.to.y - arc.from.y) / chord;
  const double side = arc.clockwise ? 1 : -1;
  const Position centre{arc.from.x + std::llround(ux * chord / 2 + side * uy * height),
                        arc.from.y + std::llround(uy * chord / 2 - side * ux * height)};
  return arc_by_centre(arc, centre);
}

}  // namespace isthmus::formats
