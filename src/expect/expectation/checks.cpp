// SPDX-License-Identifier: Apache-2.0
#include "expect/expectation/checks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "isthmus/base/edit_distance.hpp"

namespace isthmus::expect {
namespace {

constexpr double kLeastShare = 0.9;

// Pads whose side the stage has; all of the others would say nothing about it.
bool concerns(const Ground& ground, const Pad& pad) {
  if (pad.access == Side::top) return ground.counts(0);
  if (pad.access == Side::bottom) return ground.counts(ground.last());
  return true;
}

// Pads of nets with several of them, and those of them that share their copper with another
// net's: few even on a bad board, most under a netlist that was brought to wrong pads.
struct Mixing {
  std::size_t all{}, mixed{};
};
Mixing mixing(const std::vector<Pad>& pads) {
  std::map<IslandId, std::set<std::string>> nets_of;
  std::map<std::string, std::size_t> members;
  for (const Pad& pad : pads) {
    if (pad.own_net) continue;
    ++members[pad.net];
    for (const auto& island : pad.islands) {
      if (island) nets_of[*island].insert(pad.net);
    }
  }
  Mixing m;
  for (const Pad& pad : pads) {
    if (pad.own_net || members[pad.net] < 2) continue;
    ++m.all;
    m.mixed += std::any_of(pad.islands.begin(), pad.islands.end(), [&](const auto& island) {
      return island && nets_of.at(*island).size() > 1;
    });
  }
  return m;
}

std::string without_side(const std::string& id) {
  for (const char* side : {"@top", "@bottom"}) {
    const std::string s(side);
    if (id.size() > s.size() && id.compare(id.size() - s.size(), s.size(), s) == 0) {
      return id.substr(0, id.size() - s.size());
    }
  }
  return id;
}

bool named(const std::string& id, const std::vector<std::string>& aliases,
           const std::string& name) {
  return id == name || std::find(aliases.begin(), aliases.end(), name) != aliases.end();
}

// Waives every point of that name: both sides of a hole that nothing joins, when the plain name is
// given.
bool waive(std::vector<Point>& points, const formats::WaiveEntry& entry) {
  bool any = false;
  for (Point& point : points) {
    std::vector<std::string> plain;
    for (const auto& alias : point.aliases) plain.push_back(without_side(alias));
    if (!named(point.id, point.aliases, entry.point) &&
        !named(without_side(point.id), plain, entry.point)) {
      continue;
    }
    point.waived = true;
    point.waive_why = entry.why;
    any = true;
  }
  return any;
}

}  // namespace

Problem no_points(const Ground& ground) {
  switch (ground.design.board.netlist_source) {
    case formats::NetlistSource::file:
      return problem(ground.design, "EXP-008", "the netlist holds no record a probe could touch",
                     "check that the right file is named under netlist");
    case formats::NetlistSource::gerber_x2:
      return problem(
          ground.design, "EXP-008",
          "the artwork carries no X2 pad attributes (.P, .N), so it cannot be its own netlist",
          "export with X2 attributes, name an IPC-D-356A file, or use netlist: artwork");
    case formats::NetlistSource::artwork:
      break;
  }
  return problem(ground.design, "EXP-008",
                 "the artwork has neither flashed pads nor holes in copper",
                 "name the drill files under holes, or a netlist");
}

Result<Done> check_origin(const Ground& ground, const std::vector<Pad>& pads) {
  if (ground.design.board.netlist_source != formats::NetlistSource::file) return Done{};
  std::size_t all = 0;
  std::size_t on_copper = 0;
  for (const Pad& pad : pads) {
    if (!concerns(ground, pad)) continue;
    ++all;
    on_copper += pad.has_copper();
  }
  if (static_cast<double>(on_copper) < kLeastShare * static_cast<double>(all)) {
    Problem p = problem(
        ground.design, "EXP-001",
        fmt::format(
            "only {} of {} netlist points ({:.0f} %) lie on copper: the netlist belongs to another "
            "board or has another origin",
            on_copper, all, 100.0 * static_cast<double>(on_copper) / static_cast<double>(all)),
        "export netlist and artwork together, with one origin");
    p.file = ground.design.netlist->file;
    return p;
  }
  const Mixing m = mixing(pads);
  if (!ground.design.netlist->moved || 2 * m.mixed <= m.all) return Done{};
  Problem p = problem(
      ground.design, "EXP-009",
      fmt::format("the netlist fits the artwork only when moved, and then {} of {} points share "
                  "their copper with another net: it is the netlist of another board",
                  m.mixed, m.all),
      "export netlist and artwork together, with one origin");
  p.file = ground.design.netlist->file;
  return p;
}

Result<Done> waive_points(const Ground& ground, const std::vector<Pad>& pads,
                          const std::set<std::string>& unlisted, std::vector<Point>& points,
                          Diagnostics& notes) {
  for (const auto& entry : ground.design.board.waive) {
    if (entry.kind != formats::WaiveKind::point) continue;
    if (waive(points, entry) || unlisted.contains(entry.point)) continue;
    const bool elsewhere = std::any_of(pads.begin(), pads.end(), [&](const Pad& pad) {
      return named(pad.id, pad.aliases, without_side(entry.point));
    });
    if (elsewhere) {
      notes.warn(
          problem(ground.design, entry, "EXP-022",
                  fmt::format("waive names {}, which is no point of its own at stage {}; nothing "
                              "is waived by it",
                              entry.point, name(ground.stage()))));
      continue;
    }
    std::vector<std::string> names;
    for (const Pad& pad : pads) names.push_back(pad.id);
    const auto near = names_near(names, entry.point);
    return problem(ground.design, entry, "EXP-002",
                   fmt::format("waive names {}, which no pad of the board has", entry.point),
                   near.empty() ? "isthmus inspect BOARD --json lists the points"
                                : fmt::format("did you mean {}?", fmt::join(near, ", ")));
  }
  return Done{};
}

void note_unknown_ties(const Ground& ground, const std::vector<Point>& points, Diagnostics& notes) {
  std::set<std::string> nets;
  for (const Point& point : points) nets.insert(point.net);
  for (const auto& tie : ground.design.board.net_ties) {
    for (const std::string& net : tie) {
      if (nets.count(net)) continue;
      notes.warn(problem(
          ground.design, "EXP-023",
          fmt::format("net-ties names {}, but no point at this stage is on such a net", net),
          "write the name as the netlist does"));
    }
  }
}

std::vector<std::string> names_near(const std::vector<std::string>& names, const std::string& id) {
  std::set<std::tuple<std::size_t, std::string>> ranked;
  for (const std::string& candidate : names) {
    const std::size_t d = edit_distance(candidate, id);
    if (d <= 2 && d < id.size()) ranked.insert({d, candidate});
  }
  std::vector<std::string> near;
  for (const auto& [d, candidate] : ranked) {
    if (near.size() < 3) near.push_back(candidate);
  }
  return near;
}

}  // namespace isthmus::expect
