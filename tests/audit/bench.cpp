// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/bench.hpp"

#include <algorithm>
#include <stdexcept>

namespace isthmus::audit {
namespace {

using plan::StepKind;

constexpr double kTipReach = 0.6e6;  // nm: a tip slides to the copper beside a hole or slit
constexpr std::size_t kMostCells = 60;
constexpr int kMostRounds = 50;  // as a session
constexpr double kConducts = 0.1;

}  // namespace

Bench::Bench(const Raster& raster, const std::vector<plan::Placement>& placements, int wires)
    : raster_(raster), wires_(wires) {
  for (std::size_t p = 0; p < placements.size(); ++p) {
    for (const plan::Probe& probe : placements[p].probes) {
      const auto number = static_cast<std::uint32_t>(contacts_.size());
      contact_[{p, probe.channel}] = number;
      if (probe.twin) contact_[{p, *probe.twin}] = number;
      contacts_.push_back(contact_of(probe));
      Contact& c = contacts_.back();
      if (!c.cells.empty()) c.good = raster.label_at(c.cells.front());
      if (c.metal) c.good = raster.label[raster.metal_node(*c.metal)];
    }
  }
}

// In a hole that metal fills the tip rests on the metal; else on the copper nearest to its place.
Bench::Contact Bench::contact_of(const plan::Probe& probe) const {
  const std::int32_t layer = probe.side == Side::bottom ? raster_.layers() - 1 : 0;
  Contact contact;
  double reach = kTipReach;
  for (const Drilled& hole : raster_.holes) {
    for (const Segment& axis : hole.axes) {
      const double radius = static_cast<double>(hole.diameter.value) / 2;
      if (closest(probe.at, axis).distance_nm > radius) continue;
      reach = std::max(reach, radius + kTipReach);
      contact.metal = hole.metal;
    }
  }
  if (raster_.copper[static_cast<std::size_t>(layer)].empty()) return contact;
  auto cells = cells_near(raster_.grid, layer, {probe.at, probe.at}, reach);
  std::erase_if(cells, [&](const Cell& c) { return raster_.run_at(c) == kNone; });
  const auto distance = [&](const Cell& c) {
    return distance_nm(raster_.grid.middle(c.x, c.y), probe.at);
  };
  std::ranges::sort(cells, [&](const Cell& a, const Cell& b) {
    return std::make_pair(distance(a), a) < std::make_pair(distance(b), b);
  });
  if (cells.empty()) return contact;
  const Label home = raster_.label_at(cells.front());
  std::erase_if(cells, [&](const Cell& c) { return raster_.label_at(c) != home; });
  if (cells.size() > kMostCells) cells.resize(kMostCells);
  contact.cells = std::move(cells);
  return contact;
}

Label Bench::under(const Contact& c, const Faulty& board) const {
  if (c.good == kNone || !std::ranges::binary_search(board.touched(), c.good)) return c.good;
  if (c.metal && !board.emptied(*c.metal)) return board.of_metal(*c.metal);
  for (const Cell& cell : c.cells) {
    if (const Label l = board.at(cell); l != kNone) return l;
  }
  return kNone;
}

std::uint32_t Bench::contact(std::size_t placement, plan::Channel channel) const {
  const auto it = contact_.find({placement, channel});
  return it == contact_.end() ? kNone : it->second;
}

std::vector<Label> Bench::labels(const Faulty& board) const {
  std::vector<Label> labels;
  for (const Contact& c : contacts_) labels.push_back(under(c, board));
  return labels;
}

std::vector<Label> Bench::under(const plan::Step& step, const std::vector<plan::Channel>& channels,
                                const Faulty& board) const {
  std::vector<Label> labels;
  for (const plan::Channel c : channels) {
    const std::uint32_t number = contact(step.placement, c);
    if (number != kNone) labels.push_back(under(contacts_[number], board));
  }
  std::erase(labels, kNone);
  std::ranges::sort(labels);
  return labels;
}

std::vector<Label> Bench::signature(const Faulty& board) const {
  std::vector<Label> found = labels(board);
  std::map<Label, Label> names{{kNone, kNone}};
  for (Label& l : found) {
    const auto next = static_cast<Label>(names.size());
    l = names.insert({l, next}).first->second;
  }
  return found;
}

plan::Outcome Bench::answer(const plan::Step& step, const Faulty& board) const {
  if (step.kind == StepKind::board_voltage) return plan::Measured{0.0, 1e-4};
  if (step.kind == StepKind::reference) return plan::Measured{step.limit.value, 0.1};
  const auto from = under(step, step.source, board), to = under(step, step.ret, board);
  if (step.kind == StepKind::contact && (step.source.empty() || step.ret.empty()))
    return plan::Measured{from.empty() && to.empty() ? 0.0 : 1.0, 0};
  bool conducts = false;
  for (const Label l : from) conducts = conducts || std::ranges::binary_search(to, l);
  if (!conducts) return plan::OverRange{};
  const double contacts = wires_ == 2 ? 2 * 0.05 : 0;
  const double ohms = step.predicted ? step.predicted->ohms.value + contacts : kConducts;
  if (step.kind == StepKind::isolation) return plan::Measured{10, 0.1};
  return plan::Measured{ohms, 1e-4};
}

IdealRun run_ideal(const expect::Board& board, plan::Plan plan, const Bench& bench,
                   const Faulty& copper) {
  diagnose::Knowledge knowledge(board, std::move(plan));
  std::uint32_t sequence = 0;
  for (std::size_t p = 0; p < knowledge.plan().placements.size(); ++p) {
    int rounds = 0;
    for (auto steps = knowledge.next(p); !steps.empty(); steps = knowledge.next(p)) {
      if (steps.front().wanted && ++rounds > kMostRounds)
        throw std::runtime_error("the diagnosis never has enough");
      for (const plan::Step& s : steps)
        knowledge.take({s.id, sequence++, bench.answer(s, copper), 0});
    }
  }
  return {knowledge.diagnosis(true), knowledge.plan(), knowledge.readings()};
}

}  // namespace isthmus::audit
