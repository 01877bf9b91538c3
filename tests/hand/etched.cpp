// SPDX-License-Identifier: Apache-2.0
#include "tests/hand/etched.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <stdexcept>

#include "hostsim/copper/holes.hpp"
#include "hostsim/copper/track.hpp"
#include "hostsim/random.hpp"

namespace isthmus::hand_runs {
namespace {

using hostsim::Defect;
using hostsim::DefectKind;
using hostsim::Random;

template <class T>
T or_throw(Result<T> result) {
  if (!result) throw std::runtime_error(format(result.problem()));
  return std::move(result).value();
}

formats::Design read_design(const std::filesystem::path& file) {
  Diagnostics notes;
  return or_throw(formats::load_design(or_throw(formats::read_board_file(file)), notes));
}

hostsim::CopperBoard etch(const hostsim::Scenario& scenario, const formats::Design& design) {
  return or_throw(hostsim::make_copper_board(scenario, design));
}

std::string side_name(std::size_t layer) { return layer == 0 ? "top" : "bottom"; }

// Draws defects at places where there is something to spoil.
class Drawer {
 public:
  Drawer(const formats::Design& design, const hostsim::CopperBoard& board, std::uint64_t seed)
      : design_(design), board_(board), random_(seed, "defects") {
    for (std::size_t l : {std::size_t{0}, design.copper.size() - 1}) {
      for (const formats::Object& o : design.copper[l].objects) {
        if (o.kind == formats::ObjectKind::stroke && o.dark && o.spine.size() >= 2 &&
            distance_nm(o.spine.front(), o.spine.back()) > 0.8e6)
          strokes_.emplace_back(l, &o);
      }
      if (design.copper.size() == 1) break;
    }
    for (const hostsim::BoardHole& h : board.holes) {
      if (h.conducts) holes_.push_back(h.from);
    }
  }

  std::optional<Defect> any() {
    const double kind = random_.uniform();
    if (kind < 0.2 && !holes_.empty()) return no_join();
    return kind < 0.6 ? open() : bridge();
  }
  std::size_t count() {
    if (random_.chance(0.2)) return 0;
    return 1 + below(3);
  }

 private:
  std::size_t below(std::size_t n) {
    return static_cast<std::size_t>(random_.uniform() * static_cast<double>(n));
  }

  std::optional<Defect> no_join() {
    Defect d;
    d.kind = DefectKind::no_join;
    d.at = holes_[below(holes_.size())];
    return d;
  }

  // Across a track, a little wider than it.
  std::optional<Defect> open() {
    if (strokes_.empty()) return std::nullopt;
    const auto& [layer, stroke] = strokes_[below(strokes_.size())];
    const double t = random_.between(0.2, 0.8);
    const Position a = stroke->spine[0], b = stroke->spine[1];
    Defect d;
    d.kind = DefectKind::open;
    d.side = side_name(layer);
    d.at = {a.x + std::llround(t * static_cast<double>(b.x - a.x)),
            a.y + std::llround(t * static_cast<double>(b.y - a.y))};
    d.diameter_mm = to_mm(stroke->width) * 1.2 + 0.1;
    return d;
  }

  // From the edge of copper over to other copper within a millimetre.
  std::optional<Defect> bridge() {
    if (strokes_.empty()) return std::nullopt;
    const auto& [layer, stroke] = strokes_[below(strokes_.size())];
    const Position from = stroke->spine[below(stroke->spine.size())];
    const auto here = hostsim::nearest_node(board_, layer, from, 0.1e6);
    if (!here) return std::nullopt;
    const double angle = random_.between(0, 2 * std::numbers::pi);
    for (double mm = 0.1; mm < 3; mm += 0.05) {
      const Position to{from.x + std::llround(1e6 * mm * std::cos(angle)),
                        from.y + std::llround(1e6 * mm * std::sin(angle))};
      const auto there = hostsim::nearest_node(board_, layer, to, 1);
      const auto& network = board_.graph.network;
      if (!there || network.conductor_of(*there) == network.conductor_of(*here)) continue;
      Defect d;
      d.kind = DefectKind::bridge;
      d.side = side_name(layer);
      d.at = from;
      d.to = to;
      d.width_mm = random_.between(0.05, 0.3);
      return d;
    }
    return std::nullopt;
  }

  [[maybe_unused]] const formats::Design& design_;
  const hostsim::CopperBoard& board_;
  Random random_;
  std::vector<std::pair<std::size_t, const formats::Object*>> strokes_;
  std::vector<Position> holes_;
};

std::string in_yaml(const Defect& d) {
  const auto place = [](Position p) {
    return fmt::format("[{:.6f}, {:.6f}]", to_mm(p.x), to_mm(p.y));
  };
  switch (d.kind) {
    case DefectKind::open:
      return fmt::format("  - {{kind: open, at: {}, side: {}, diameter: {:.4f}}}\n", place(d.at),
                         *d.side, d.diameter_mm);
    case DefectKind::bridge:
      return fmt::format("  - {{kind: bridge, from: {}, to: {}, side: {}, width: {:.4f}}}\n",
                         place(d.at), place(d.to), *d.side, d.width_mm);
    default:
      return fmt::format("  - {{kind: no-join, at: {}}}\n", place(d.at));
  }
}

}  // namespace

std::string in_yaml(const std::vector<Defect>& defects) {
  std::string text;
  for (const Defect& d : defects) text += in_yaml(d);
  return text.empty() ? "" : "defects:\n" + text;
}

hostsim::Scenario EtchedBoard::scenario() const {
  hostsim::Scenario s;
  s.path = s.board.emplace(file_);
  return s;
}

EtchedBoard::EtchedBoard(const std::filesystem::path& board_yaml)
    : file_(board_yaml), design_(read_design(board_yaml)), good_(etch(scenario(), design_)) {
  if (!design_.netlist) throw std::runtime_error(board_yaml.string() + " has no netlist");
  const std::size_t last = design_.copper.size() - 1;
  std::size_t number = 0;
  for (const formats::NetlistRecord& r : design_.netlist->records) {
    if (r.kind == formats::FeatureKind::tooling || r.access < 0) continue;
    const bool lone = r.net.empty() || r.net == "N/C";
    const std::string net = lone ? fmt::format("N/C {}", ++number) : r.net;
    const bool through = r.kind == formats::FeatureKind::through_hole || r.access == 0;
    if (through || r.access == 1) places_.push_back({r.at, 0, net});
    if (last > 0 && (through || r.access > 1)) places_.push_back({r.at, last, net});
  }
  good_pieces_ = pieces(good_);
}

std::vector<int> EtchedBoard::pieces(const hostsim::CopperBoard& board) const {
  std::vector<int> found;
  for (const Place& p : places_) {
    const auto node = hostsim::touched_node(board, p.layer, p.at);
    found.push_back(node ? board.graph.network.conductor_of(*node) : -1);
  }
  return found;
}

std::vector<Defect> EtchedBoard::draw(std::uint64_t seed) const {
  Drawer drawer(design_, good_, seed);
  const std::size_t count = drawer.count();
  std::vector<Defect> defects;
  for (int tries = 0; defects.size() < count && tries < 50; ++tries) {
    if (const auto d = drawer.any()) defects.push_back(*d);
  }
  return defects;
}

Truth EtchedBoard::truth_of(const std::vector<Defect>& defects) const {
  Truth truth;
  if (defects.empty()) return truth;
  hostsim::Scenario s = scenario();
  s.defects = defects;
  const hostsim::CopperBoard board = etch(s, design_);
  const std::vector<int> now = pieces(board);
  std::map<int, std::map<int, std::set<std::string>>> of_good, of_now;  // piece: piece: nets
  for (std::size_t i = 0; i < places_.size(); ++i) {
    if (good_pieces_[i] < 0) continue;
    const int piece = now[i] < 0 ? -2 - static_cast<int>(i) : now[i];  // copper gone: a piece alone
    of_good[good_pieces_[i]][piece].insert(places_[i].net);
    of_now[piece][good_pieces_[i]].insert(places_[i].net);
  }
  for (const auto& [piece, parts] : of_good) {
    if (parts.size() < 2) continue;
    for (const auto& [part, nets] : parts) truth.open.insert(nets.begin(), nets.end());
  }
  for (const auto& [piece, parts] : of_now) {
    if (parts.size() < 2) continue;
    std::set<std::string> nets;
    for (const auto& [part, names] : parts) nets.insert(names.begin(), names.end());
    if (nets.size() > 1) truth.bridged.push_back(std::move(nets));
  }
  if (!truth.open.empty() || !truth.bridged.empty()) {
    truth.kind = Truth::Kind::bad;
  } else if (board.graph.network.conductors() != good_.graph.network.conductors()) {
    truth.kind = Truth::Kind::unclear;
  }
  return truth;
}

}  // namespace isthmus::hand_runs
