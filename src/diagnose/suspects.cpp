// SPDX-License-Identifier: Apache-2.0
#include "diagnose/suspects.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace isthmus::diagnose {
namespace {

constexpr std::size_t kMostSuspects = 16;

struct Weighted {
  Suspect suspect;
  double weight{};
};

double length_mm(const std::vector<Position>& path) {
  double nm = 0;
  for (std::size_t i = 1; i < path.size(); ++i) nm += distance_nm(path[i - 1], path[i]);
  return nm * 1e-6;
}

// Shares of the finding; ties by place so that the order does not depend on how the list was found.
std::vector<Suspect> ranked(std::vector<Weighted> list) {
  std::ranges::stable_sort(list, [](const Weighted& a, const Weighted& b) {
    if (a.weight != b.weight) return a.weight > b.weight;
    return std::tie(a.suspect.side, a.suspect.at) < std::tie(b.suspect.side, b.suspect.at);
  });
  double total = 0;
  for (const Weighted& w : list) total += w.weight;
  std::vector<Suspect> out;
  for (Weighted& w : list) {
    if (out.size() == kMostSuspects) break;
    w.suspect.rank = static_cast<int>(out.size()) + 1;
    w.suspect.likelihood = total > 0 ? w.weight / total : 1.0 / static_cast<double>(list.size());
    out.push_back(std::move(w.suspect));
  }
  return out;
}

std::string_view word(formats::JoinKind kind) {
  switch (kind) {
    case formats::JoinKind::plated:
      return "plating";
    case formats::JoinKind::wire:
      return "wire";
    case formats::JoinKind::rivet:
      return "rivet";
    case formats::JoinKind::eyelet:
      return "eyelet";
    case formats::JoinKind::lead:
      return "lead";
  }
  return "join";
}

Weighted from_break(const expect::Board& board, const expect::Break& b) {
  Weighted w;
  w.weight = b.weight;
  w.suspect.at = b.at;
  w.suspect.path = b.path.empty() ? std::vector<Position>{b.at} : b.path;
  if (b.kind == expect::Break::Kind::join) {
    w.suspect.side = "both";
    w.suspect.why = fmt::format("{} missing or not conducting in this hole",
                                word(board.expectation.joins.at(b.join).kind));
  } else {
    w.suspect.side = layer_name(b.layer, board.copper.layers);
    w.suspect.why = fmt::format("{:.2f} mm wide at the narrowest, {:.1f} mm to look along",
                                to_mm(b.width), length_mm(w.suspect.path));
  }
  return w;
}

bool same_place(const Suspect& a, const Suspect& b) {
  return a.at == b.at && a.side == b.side && a.path == b.path;
}

std::vector<PointId> others(const std::vector<std::vector<PointId>>& parts, std::size_t but) {
  std::vector<PointId> list;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (i != but) list.insert(list.end(), parts[i].begin(), parts[i].end());
  }
  return list;
}

void add_breaks(const expect::Board& board, const std::vector<expect::Break>& breaks,
                std::array<std::size_t, 2> separates, std::vector<Weighted>& into) {
  for (const expect::Break& b : breaks) {
    Weighted w = from_break(board, b);
    w.suspect.separates = separates;
    if (std::ranges::none_of(into,
                             [&](const Weighted& o) { return same_place(o.suspect, w.suspect); })) {
      into.push_back(std::move(w));
    }
  }
}

// A gap narrower than the process is declared to hold is the first place to look.
double prior(const expect::Board& board, const copper::Facing& facing) {
  const double declared = static_cast<double>(board.design.board.process.gap.value);
  return facing.distance_nm < 0.999 * declared ? 3.0 : 1.0;
}

std::string why_close(copper::GapKind kind, const copper::Facing& f) {
  const double mm = f.distance_nm * 1e-6;
  switch (kind) {
    case copper::GapKind::hole:
      return fmt::format("{:.3f} mm from the edge of a joined hole to this copper", mm);
    case copper::GapKind::wire:
      return f.distance_nm > copper::kLeastGapOfWeight
                 ? fmt::format("{:.3f} mm from a wire jumper to this copper", mm)
                 : "a wire jumper lies over this copper";
    case copper::GapKind::beside:
      break;
  }
  return fmt::format("{:.3f} mm gap at the closest, {:.1f} mm side by side", mm,
                     f.length_nm * 1e-6);
}

void add_gap(const expect::Board& board, const copper::Gap& gap,
             const std::vector<std::string>& nets, std::vector<Weighted>& into) {
  for (const copper::Facing& f : gap.facings) {
    Weighted w;
    w.weight = std::max(f.weight, 1e-9) * prior(board, f);
    w.suspect.at = {(f.on_a.x + f.on_b.x) / 2, (f.on_a.y + f.on_b.y) / 2};
    w.suspect.side = layer_name(gap.layer, board.copper.layers);
    w.suspect.path = f.path.empty() ? std::vector<Position>{w.suspect.at} : f.path;
    w.suspect.nets = nets;
    w.suspect.why = why_close(gap.kind, f);
    into.push_back(std::move(w));
  }
}

std::size_t other_with_burrs(const std::vector<std::vector<const expect::Burr*>>& of_group,
                             std::size_t but) {
  std::size_t k = 0;
  while (k == but || of_group[k].empty()) ++k;
  return k;
}

// Two burrs at once, by way of the uncut copper: every hole of either piece is a place.
void add_burrs(const expect::Board& board, const std::vector<GroupId>& groups,
               std::vector<Weighted>& into) {
  constexpr double kBurrWeight = 1e-3;  // less likely than a gap; our judgement, no source
  const expect::Expectation& e = board.expectation;
  if (!e.sheet) return;
  std::vector<std::vector<const expect::Burr*>> of_group;
  for (const GroupId g : groups) {
    auto& here = of_group.emplace_back();
    for (const expect::Burr& b : e.sheet->burrs) {
      if (std::ranges::binary_search(e.group(g).islands, b.island)) here.push_back(&b);
    }
  }
  const auto reached = std::ranges::count_if(of_group, [](const auto& l) { return !l.empty(); });
  if (reached < 2) return;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    for (const expect::Burr* b : of_group[g]) {
      Weighted w;
      w.weight = kBurrWeight;
      w.suspect.at = e.joins[b->join].at;
      w.suspect.side = layer_name(board.copper.island(b->island).layer, board.copper.layers);
      w.suspect.path = {w.suspect.at};
      const std::size_t with = other_with_burrs(of_group, g);
      w.suspect.nets = {e.group(groups[g]).net, e.group(groups[with]).net};
      std::ranges::sort(w.suspect.nets);
      w.suspect.why =
          fmt::format("burr in this hole to the copper of the {}, which is not etched yet",
                      name(e.sheet->side));
      into.push_back(std::move(w));
    }
  }
}

// Copper of two nets drawn as one: the artwork itself is the bridge.
void add_shared_copper(const expect::Board& board, const std::vector<std::string>& nets,
                       std::vector<Weighted>& into) {
  for (const expect::Disagreement& d : board.expectation.disagreements) {
    if (d.kind != expect::DisagreementKind::bridge || d.nets != nets) continue;
    Weighted w;
    w.weight = 1e6;
    w.suspect.at = d.at;
    w.suspect.side = d.side;
    w.suspect.path = {d.at};
    w.suspect.nets = nets;
    w.suspect.why = "joined in the artwork itself";
    into.push_back(std::move(w));
  }
}

}  // namespace

std::vector<Suspect> open_suspects(const expect::Board& board,
                                   const std::vector<std::vector<PointId>>& parts) {
  std::vector<Weighted> list;
  for (std::size_t k = 0; k < parts.size(); ++k) {
    if (parts.size() == 2 && k == 1) break;
    const std::size_t other = k == 0 ? 1 : 0;
    add_breaks(board, expect::breaks_between(board, parts[k], others(parts, k)),
               {std::min(k, other), std::max(k, other)}, list);
  }
  if (list.empty()) {
    for (std::size_t k = 1; k < parts.size(); ++k) {
      add_breaks(board, expect::breaks_between(board, {parts[0][0]}, {parts[k][0]}), {0, k}, list);
    }
  }
  return ranked(std::move(list));
}

std::vector<Suspect> bridge_suspects(const expect::Board& board,
                                     const std::vector<GroupId>& groups) {
  std::vector<Weighted> list;
  for (const expect::Pair& pair : board.expectation.pairs) {
    if (std::ranges::find(groups, pair.a) == groups.end() ||
        std::ranges::find(groups, pair.b) == groups.end())
      continue;
    std::vector<std::string> nets{board.expectation.group(pair.a).net,
                                  board.expectation.group(pair.b).net};
    std::ranges::sort(nets);
    if (pair.distance_nm <= 0) add_shared_copper(board, nets, list);
    for (std::size_t g : pair.gaps) add_gap(board, board.gaps.at(g), nets, list);
  }
  add_burrs(board, groups, list);
  return ranked(std::move(list));
}

std::vector<Suspect> neck_suspects(const expect::Board& board, const std::vector<PointId>& near,
                                   const std::vector<PointId>& far) {
  std::vector<Weighted> list;
  for (const expect::Break& b : expect::breaks_between(board, near, far))
    list.push_back(from_break(board, b));
  if (list.empty()) {
    for (const expect::Way& way : expect::way_between(board, near[0], far[0])) {
      Weighted w;
      w.weight = length_mm(way.path);
      w.suspect.at = way.narrowest_at;
      w.suspect.side = layer_name(way.layer, board.copper.layers);
      w.suspect.path = way.path;
      w.suspect.why = fmt::format("{:.2f} mm wide at the narrowest", to_mm(way.narrowest));
      list.push_back(std::move(w));
    }
  }
  return ranked(std::move(list));
}

}  // namespace isthmus::diagnose
