// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>

#include "isthmus/expect/capability.hpp"
#include "isthmus/report/guide_page.hpp"
#include "isthmus/report/report.hpp"
#include "report/dumped.hpp"
#include "report/holes.hpp"
#include "report/nets.hpp"

namespace isthmus::report {
namespace {

using Json = nlohmann::ordered_json;

constexpr double kOverRange = 1e37;

// Micrometre steps are finer than anything on a board; digits beyond are noise.
double mm(std::int64_t nm) { return std::round(static_cast<double>(nm) / 100) / 1e4; }

Json place(Position p) { return Json::array({mm(p.x), mm(p.y)}); }

void put_place(Json& j, Position p) {
  j["x_mm"] = mm(p.x);
  j["y_mm"] = mm(p.y);
}

Json point_json(const expect::Board& board, const expect::Point& p) {
  Json j;
  j["id"] = p.id;
  j["net"] = p.net;
  if (!p.net_full.empty() && p.net_full != p.net) j["net_full"] = p.net_full;
  put_place(j, p.at);
  j["side"] = name(p.side);
  Json islands = Json::object();
  std::optional<IslandId> only;
  for (std::size_t layer = 0; layer < p.islands.size(); ++layer) {
    if (!p.islands[layer]) continue;
    only = p.islands[layer];
    islands[layer_name(LayerId{static_cast<std::uint16_t>(layer)}, board.copper.layers)] =
        index(*only);
  }
  if (p.side == Side::both) {
    j["island"] = nullptr;
    j["islands"] = islands;
  } else {
    j["island"] = only ? Json(index(*only)) : Json(nullptr);
  }
  j["group"] = p.group ? Json(index(*p.group)) : Json(nullptr);
  j["required"] = p.required;
  if (p.waived) j["waived"] = p.waive_why;
  return j;
}

Json gaps_json(const expect::Board& board) {
  Json list = Json::array();
  for (const NetGap& gap : net_gaps(board)) {
    Json j;
    j["nets"] = {gap.first, gap.second};
    j["gap_mm"] = std::round(gap.gap->distance_nm) / 1e6;
    put_place(j, gap.gap->middle());
    j["side"] = layer_name(gap.gap->layer, board.copper.layers);
    list.push_back(std::move(j));
  }
  return list;
}

Json necks_json(const expect::Board& board) {
  struct Neck {
    std::int64_t width;
    Position at;
    LayerId layer;
  };
  std::map<std::string, Neck> narrowest;
  for (const copper::Branch& b : board.conductors.branches) {
    const IslandId island = board.conductors.nodes[b.a].island;
    const LayerId layer = board.copper.island(island).layer;
    if (b.width.value <= 0 || !is_etched(board.expectation.stage, layer, board.copper.layers))
      continue;
    const Neck neck{b.width.value, b.narrowest, layer};
    const auto [it, fresh] = narrowest.emplace(net_of(board, island), neck);
    if (!fresh && neck.width < it->second.width) it->second = neck;
  }
  std::vector<std::pair<std::string, Neck>> list(narrowest.begin(), narrowest.end());
  std::ranges::stable_sort(list, {}, [](const auto& n) { return n.second.width; });
  Json out = Json::array();
  for (const auto& [net, neck] : list) {
    Json j;
    j["net"] = net;
    j["width_mm"] = mm(neck.width);
    put_place(j, neck.at);
    j["side"] = layer_name(neck.layer, board.copper.layers);
    out.push_back(std::move(j));
  }
  return out;
}

// One a hole and net: where a burr would join the net to the side that is not etched yet.
Json burrs_json(const expect::Board& board, const expect::Sheet& sheet) {
  Json list = Json::array();
  for (const expect::Burr& b : sheet.burrs) {
    Json x{{"net", net_of(board, b.island)}, {"group", index(board.expectation.sheet_group())}};
    put_place(x, board.expectation.joins[b.join].at);
    x["diameter_mm"] = mm(board.expectation.joins[b.join].diameter.value);
    list.push_back(std::move(x));
  }
  return list;
}

Json unless_bridged_json(const expect::Board& board) {
  Json list = Json::array();
  for (const UnlessBridged& u : unless_bridged(board)) {
    Json x{{"net", u.net}, {"what", name(u.entry->kind)}};
    put_place(x, u.entry->at);
    x["side"] = u.side;
    list.push_back(std::move(x));
  }
  return list;
}

Json suspect_json(const diagnose::Suspect& s) {
  Json j;
  j["rank"] = s.rank;
  put_place(j, s.at);
  j["side"] = s.side;
  j["likelihood"] = std::round(s.likelihood * 1e4) / 1e4;
  j["path"] = Json::array();
  for (Position p : s.path) j["path"].push_back(place(p));
  if (!s.nets.empty()) j["nets"] = s.nets;
  if (s.separates) j["separates"] = *s.separates;
  j["why"] = s.why;
  return j;
}

Json finding_value(const diagnose::Finding& f) {
  Json j;
  j["kind"] = name(f.kind);
  j["nets"] = f.nets;
  j["parts"] = f.parts;
  j["measured_ohm"] = f.measured ? f.measured->value : kOverRange;
  j["limit_ohm"] = f.limit.value;
  j["uncertainty_ohm"] = f.uncertainty.value;
  j["suspects"] = Json::array();
  for (const diagnose::Suspect& s : f.suspects) j["suspects"].push_back(suspect_json(s));
  return j;
}

Json untested_json(const std::string& net, const std::vector<std::string>& points,
                   const std::string& why) {
  return {{"net", net}, {"points", points}, {"why", why}};
}

Json counts_json(const diagnose::FaultCounts& c) {
  return {{"listed", c.listed}, {"excluded", c.excluded + c.harmless}, {"harmless", c.harmless},
          {"found", c.found},   {"cannot_tell", c.cannot_tell},        {"waived", c.waived}};
}

Json limits_json(const formats::LimitKeys& l) {
  return {{"continuity_ohm", l.continuity.value},
          {"isolation_ohm", l.isolation.value},
          {"bridge_ohm", l.bridge.value},
          {"excess_ohm", l.excess.value},
          {"volt", l.voltage.value},
          {"window_mm", to_mm(l.window)}};
}

}  // namespace

std::string finding_json(const diagnose::Finding& finding) {
  return dumped(finding_value(finding));
}

std::string inspect_json(const expect::Board& board, const Foretold& foretold) {
  const expect::Expectation& e = board.expectation;
  Json j;
  j["board"] = board.design.board.name;
  j["stage"] = name(e.stage);
  j["basis"] = e.basis;
  j["points"] = Json::array();
  for (const expect::Point& p : e.points) j["points"].push_back(point_json(board, p));
  j["groups"] = Json::array();
  for (std::size_t g = 0; g < e.groups.size(); ++g) {
    Json points = Json::array();
    for (PointId p : e.groups[g].points) points.push_back(e.point(p).id);
    j["groups"].push_back({{"id", g}, {"net", e.groups[g].net}, {"points", std::move(points)}});
  }
  if (e.sheet) {
    j["groups"].push_back({{"id", index(e.sheet_group())},
                           {"net", fmt::format("#{}", name(e.sheet->side))},
                           {"points", Json::array()},
                           {"uncut", name(e.sheet->side)}});
  }
  j["disagreements"] = Json::array();
  for (const expect::Disagreement& d : e.disagreements) {
    Json x;
    x["kind"] = name(d.kind);
    x["nets"] = d.nets;
    x["points"] = d.points;
    put_place(x, d.at);
    x["side"] = d.side;
    j["disagreements"].push_back(std::move(x));
  }
  j["gaps"] = gaps_json(board);
  j["necks"] = necks_json(board);
  j["burrs"] = e.sheet ? burrs_json(board, *e.sheet) : Json::array();
  j["deferred"] = Json::array();
  for (const std::size_t join : expect::deferred_joins(e)) {
    Json x;
    put_place(x, e.joins[join].at);
    j["deferred"].push_back(std::move(x));
  }
  j["shortfalls"] = Json::array();
  for (const expect::Shortfall& s : expect::shortfalls(board)) {
    Json x{{"kind", name(s.kind)}, {"nets", s.nets}};
    put_place(x, s.at);
    x["side"] = s.side;
    x["drawn_mm"] = mm(s.drawn.value);
    x["needed_mm"] = mm(s.needed.value);
    if (s.length.value > 0) x["length_mm"] = mm(s.length.value);
    j["shortfalls"].push_back(std::move(x));
  }
  j["unless_bridged"] = unless_bridged_json(board);
  if (foretold.holes) {
    j["holes"] = Json::array();
    for (const HoleRow& r : hole_rows(board)) {
      Json x{{"group", name(r.hole.group)}, {"point", r.hole.point}, {"join", r.join}};
      put_place(x, r.hole.at);
      x["diameter_mm"] = mm(r.diameter.value);
      j["holes"].push_back(std::move(x));
    }
  }
  if (foretold.nets || foretold.between) j["tip_mm"] = mm(foretold.tip.value);
  if (foretold.nets) {
    j["resistances"] = Json::array();
    for (const expect::NetResistance& r : *foretold.nets) {
      j["resistances"].push_back({{"net", e.group(r.group).net},
                                  {"group", index(r.group)},
                                  {"from", e.point(r.from).id},
                                  {"to", e.point(r.to).id},
                                  {"ohm", r.predicted.ohms.value},
                                  {"uncertainty_ohm", r.predicted.uncertainty.value}});
    }
  }
  if (const auto& between = foretold.between) {
    Json b{{"from", between->from}, {"to", between->to}};
    b["ohm"] = between->predicted ? Json(between->predicted->ohms.value) : Json(nullptr);
    if (between->predicted) b["uncertainty_ohm"] = between->predicted->uncertainty.value;
    j["between"] = std::move(b);
  }
  return dumped(j) + "\n";
}

std::string plan_json(const expect::Board& board, const plan::Plan& plan) {
  Json j;
  j["board"] = board.design.board.name;
  j["stage"] = name(board.expectation.stage);
  j["placements"] = plan.placements.size();
  j["placements_bound"] = plan.placements_bound;
  j["bound_reason"] = plan.bound_reason;
  j["steps"] = plan.steps.size();
  j["continuity"] = {{"steps", plan.continuity.steps}, {"bound", plan.continuity.bound}};
  j["isolation"] = {{"steps", plan.isolation.steps},
                    {"bound", plan.isolation.bound},
                    {"pairs", plan.pairs},
                    {"pairs_beyond_window", plan.pairs_beyond_window}};
  j["contact"] = {{"steps", plan.contact_steps}};
  j["placement_list"] = Json::array();
  for (const plan::Placement& p : plan.placements) {
    Json probes = Json::object(), sides = Json::object(), twins = Json::object();
    Json clips = Json::array();
    for (const plan::Probe& probe : p.probes) {
      sides[std::to_string(probe.channel)] = name(probe.side);
      if (probe.clip) clips.push_back(probe.channel);
      probes[std::to_string(probe.channel)] = board.expectation.point(probe.point).id;
      if (probe.twin) twins[std::to_string(*probe.twin)] = board.expectation.point(probe.point).id;
    }
    Json x{{"name", p.name},
           {"side", name(p.side)},
           {"probes", std::move(probes)},
           {"probe_sides", std::move(sides)},
           {"clips", std::move(clips)}};
    if (!twins.empty()) x["twins"] = std::move(twins);
    if (!p.cannot_tell.empty()) x["cannot_tell"] = p.cannot_tell;
    j["placement_list"].push_back(std::move(x));
  }
  j["step_list"] = Json::array();
  for (const plan::Step& s : plan.steps) {
    Json groups = Json::array();
    for (GroupId g : s.groups) groups.push_back(index(g));
    Json x{{"id", index(s.id)},         {"placement", plan.placements[s.placement].name},
           {"kind", name(s.kind)},      {"source", s.source},
           {"return", s.ret},           {"groups", std::move(groups)},
           {"limit_ohm", s.limit.value}};
    if (s.predicted) x["predicted_ohm"] = s.predicted->ohms.value;
    j["step_list"].push_back(std::move(x));
  }
  j["untested"] = Json::array();
  for (const plan::Untested& u : plan.untested)
    j["untested"].push_back(untested_json(u.net, u.points, u.why));
  return dumped(j) + "\n";
}

std::string run_json(const RunView& run) {
  const diagnose::Diagnosis& d = run.result.diagnosis;
  Json j;
  j["verdict"] = name(d.verdict);
  j["board"] = run.head.board;
  j["unit"] = run.head.unit;
  j["stage"] = run.head.stage;
  j["simulated"] = simulated(run.head);
  j["run"] = run.head.id;
  j["placements"] = run.result.placements;
  j["measurements"] = run.result.measurements;
  j["seconds"] = run.result.seconds;
  j["findings"] = Json::array();
  for (const diagnose::Finding& f : d.findings) j["findings"].push_back(finding_value(f));
  j["untested"] = Json::array();
  for (const diagnose::Untested& u : d.untested) {
    Json x = untested_json(u.net, u.points, u.why);
    if (!u.detail.empty()) x["detail"] = u.detail;
    j["untested"].push_back(std::move(x));
  }
  Json breaks = counts_json(d.breaks);
  breaks["unless_bridged"] = d.breaks.unless_bridged;
  j["possible_faults"] = {{"breaks", std::move(breaks)},
                          {"bridges", counts_json(d.bridges)},
                          {"parallel_joins", d.parallel_joins},
                          {"likelihood_excluded", d.likelihood_excluded}};
  j["cannot_tell"] = Json::array();
  for (const diagnose::CannotTell& c : d.cannot_tell) {
    Json x{{"kind", expect::is_break(c.kind) ? "break" : "bridge"},
           {"what", name(c.kind)},
           {"nets", c.nets},
           {"points", c.points}};
    put_place(x, c.at);
    x["side"] = c.side;
    x["why"] = name(c.why);
    x["would_tell"] = c.would_tell;
    x["would_tell_sides"] = Json::array();
    for (const auto& from : c.from) x["would_tell_sides"].push_back(name(from.side));
    j["cannot_tell"].push_back(std::move(x));
  }
  j["coverage"] = {{"required", d.coverage.required},
                   {"tested", d.coverage.tested},
                   {"waived", d.coverage.waived},
                   {"pairs_required", d.coverage.pairs_required},
                   {"pairs_tested", d.coverage.pairs_tested},
                   {"pairs_beyond_window", d.coverage.pairs_beyond_window}};
  j["foil"] = nullptr;
  if (d.foil) {
    const diagnose::FoilFit& f = *d.foil;
    j["foil"] = {{"thickness_mm", mm(f.thickness.value)},
                 {"thickness_sd_mm", mm(f.thickness_sd.value)},
                 {"undercut_mm", mm(f.undercut.value)},
                 {"undercut_sd_mm", mm(f.undercut_sd.value)},
                 {"readings", f.readings},
                 {"at_bound", f.at_bound}};
  }
  j["waived"] = Json::array();
  for (const expect::Waiver& w : d.waived)
    j["waived"].push_back({{"point", w.point}, {"net", w.net}, {"why", w.why}});
  j["basis"] = run.head.basis;
  j["limits"] = limits_json(run.head.limits);
  j["remarks"] = all_remarks(run);
  j["hashes"] = Json::object();
  for (const formats::FileHash& h : run.head.hashes) j["hashes"][h.file] = h.sha256;
  j["adapter"] = {{"address", run.head.adapter_address},
                  {"name", run.head.adapter_name},
                  {"serial", run.head.adapter_serial}};
  j["state"] = run.result.state;
  if (!run.result.problem.empty()) j["problem"] = run.result.problem;
  return dumped(j) + "\n";
}

}  // namespace isthmus::report
