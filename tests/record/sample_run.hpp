// SPDX-License-Identifier: Apache-2.0
// A run with every field filled in, every kind used, and every text awkward; and all of a run as
// text.
#pragma once

#include <fmt/format.h>

#include <limits>
#include <string>

#include "isthmus/record/record.hpp"

namespace isthmus::test {

inline record::RunHead sample_head() {
  record::RunHead h;
  h.started_utc = "2026-05-04T10:20:30Z";
  h.board = "tide-gauge";
  h.unit = "HC-0007 \"spare\"";
  h.stage = "joined";
  h.basis = "netlist";
  h.board_file = "/home/harbour/tide gauge/board.yaml";
  h.fixture_file = "/home/harbour/tide gauge/fixture.yaml";
  h.adapter_address = "serial:@HB0042";
  h.adapter_name = "Harbour Bench Mux-64";
  h.adapter_serial = "HB0042";
  h.design_hash = "d0";
  h.fixture_hash = "f0";
  h.hashes = {{"top", "top.gbr", "aa"},
              {"bottom", "bottom.gbr", "bb"},
              {"netlist", "gezeiten-\xc3\xbc.d356", ""}};
  h.remarks = {"--relaxed", "a\nb"};
  h.limits.bridge = Ohms{123456.789};
  h.limits.window = Nanometres{1270001};
  h.program_version = "0.1.0";
  return h;
}

inline std::vector<plan::Step> sample_steps() {
  using K = plan::StepKind;
  std::vector<plan::Step> out;
  for (const K kind :
       {K::board_voltage, K::reference, K::control_open, K::control_short, K::contact,
        K::continuity, K::isolation, K::isolation_by_current, K::resistance}) {
    plan::Step s;
    const int n = static_cast<int>(out.size()) + 1;
    s.id = static_cast<StepId>(n);
    s.placement = n > 5 ? 1 : 0;
    s.kind = kind;
    s.source = {n, n + 1, 256};
    if (n != 5) s.ret = {n + 2};
    s.sense_high = n % 2 ? n : 0;
    s.sense_low = n % 3 ? 0 : n;
    s.reference = kind == K::reference ? 2 : 0;
    s.groups = {GroupId{4000000000u}, GroupId{3}};
    s.points = {PointId{7}};
    s.limit = Ohms{0.1 * n};
    s.volts = Volts{n / 3.0};
    if (n % 2)
      s.predicted = copper::Predicted{Ohms{1.0 / n}, Ohms{1e-5 / n}, Ohms{1e-6 / n}, 1e-7 / n};
    s.contact_by_row1 = n % 2 == 0;
    s.block = static_cast<std::size_t>(n * 10);
    s.closing = n % 4 == 0;
    s.wanted = n == 8;
    out.push_back(s);
  }
  return out;
}

inline plan::Plan sample_plan() {
  plan::Plan p;
  p.placements.push_back({"A",
                          Side::top,
                          {{1, PointId{0}, {1'000'001, -5}, 5}, {2, PointId{9}, {0, 0}, {}}},
                          {"turned by 180 degrees", "a\nb\\n"}});
  p.placements.push_back({"B \"under\"", Side::bottom, {}, {}});
  p.placements.push_back(
      {"C",
       Side::both,
       {{1, PointId{0}, {}, {}, Side::top, false}, {3, PointId{4}, {1, 2}, 4, Side::bottom, true}},
       {}});
  p.steps = sample_steps();
  p.placements_bound = 2;
  p.bound_reason = "64 channels, 117 points";
  p.continuity = {120, 118};
  p.isolation = {9, 8};
  p.contact_steps = 20;
  p.pairs = 412;
  p.pairs_beyond_window = 900;
  p.untested = {{"N$1", {"U1.3", "@1.000,2.000"}, "no channel left"}, {"", {}, ""}};
  p.contact_check = true;
  p.wires = 2;
  p.contact = Ohms{0.07};
  p.contact_spread = 0.3;
  return p;
}

inline std::vector<plan::Reading> sample_readings() {
  return {{StepId{1}, 0, plan::Measured{0.1 + 0.2, 1e-300}, 0},
          {StepId{6}, 1, plan::OverRange{}, 5},
          {StepId{6}, 2, plan::NoReading{"not carried out"}, 32},
          {StepId{6}, 3, plan::Measured{-0.0, 0}, 8},
          {StepId{8}, 4, plan::NoReading{""}, 0},
          {StepId{7}, 5, plan::Measured{std::numeric_limits<double>::max(), 4.9e-324}, 2}};
}

inline record::RunResult sample_result() {
  using diagnose::FindingKind;
  record::RunResult r;
  r.state = "broken off";
  r.placements = 1;
  r.measurements = 6;
  r.seconds = 12.345678901234567;
  r.problem = "the link to the adapter is gone: unplugged";
  diagnose::Diagnosis& d = r.diagnosis;
  d.verdict = diagnose::Verdict::fail;
  d.coverage = {118, 117, 1, 412, 410, 900};
  d.breaks = {413, 400, 3, 1, 8, 1, 17};
  d.bridges = {271, 269, 0, 1, 1, 0};
  d.parallel_joins = 3;
  d.likelihood_excluded = 1.0 / 7;
  d.cannot_tell = {{expect::FaultKind::join,
                    {"A", "B\nC"},
                    {"U1.3"},
                    {-5, 7},
                    "both",
                    diagnose::WhyCannotTell::reopened,
                    {"U1.3", "@1.000,2.000", "J1.1"},
                    {{Side::top, false, true}, {Side::bottom, true}, {Side::top, true, true}}},
                   {}};
  d.foil.emplace();
  d.foil->thickness = 31'200_nm;
  d.foil->thickness_sd = 700_nm;
  d.foil->undercut = 18'100_nm;
  d.foil->undercut_sd = 4'000_nm;
  d.foil->readings = 381;
  d.foil->at_bound = true;
  d.waived = {{"TP3", "GND", "under the label"}, {"J6.6", "#3", ""}};
  d.remarks = {"matches its artwork; the design was not checked", ""};
  d.untested = {{"SDA", {"U1.3"}, "no-contact", "the tip \"3\" touched nothing"},
                {"", {}, "x", ""}};
  diagnose::Finding open;
  open.kind = FindingKind::open;
  open.nets = {"GND"};
  open.parts = {{"U1.1", "U2.1"}, {"R4.1"}, {}};
  open.limit = Ohms{10};
  open.suspects.push_back(
      {1, {12'310'000, 4'520'000}, "top", 0.7, {{1, 2}, {-3, 4}}, {}, {{0, 2}}, "0.20 mm track"});
  open.suspects.push_back({2, {0, 0}, "L2", 0.1, {}, {"A", "B"}, {}, ""});
  d.findings.push_back(open);
  for (const FindingKind k :
       {FindingKind::bridge, FindingKind::high_resistance, FindingKind::leakage}) {
    diagnose::Finding f;
    f.kind = k;
    f.nets = {"A", "B\nC"};
    f.measured = Ohms{1.0 / 3};
    f.uncertainty = Ohms{0.002};
    d.findings.push_back(f);
  }
  return r;
}

// Doubles as their exact bits: "exactly as stored" means that.
inline std::string exact(double d) { return fmt::format("{:a}", d); }

inline std::string joined(const std::vector<std::string>& items) {
  std::string out = "[";
  for (const auto& i : items) out += fmt::format("<{}>", i);
  return out + "]";
}
template <class T>
std::string numbers(const std::vector<T>& items) {
  std::string out = "[";
  for (const auto& i : items) out += fmt::format(" {}", static_cast<std::int64_t>(i));
  return out + "]";
}

inline std::string text_of(const record::RunHead& h) {
  std::string out = joined({h.started_utc, h.board, h.unit, h.stage, h.basis, h.board_file,
                            h.fixture_file, h.adapter_address, h.adapter_name, h.adapter_serial,
                            h.design_hash, h.fixture_hash, h.program_version});
  for (const auto& f : h.hashes) out += fmt::format("\nhash {} {} {}", f.role, f.file, f.sha256);
  for (const double d : {h.limits.continuity.value, h.limits.isolation.value, h.limits.bridge.value,
                         h.limits.excess.value, h.limits.voltage.value}) {
    out += " " + exact(d);
  }
  return out + fmt::format(" {} {}\n", h.limits.window.value, joined(h.remarks));
}

inline std::string text_of(const plan::Plan& p) {
  std::string out =
      fmt::format("{} {} {}/{} {}/{} {} {} {} {} {} {} {}\n", p.placements_bound, p.bound_reason,
                  p.continuity.steps, p.continuity.bound, p.isolation.steps, p.isolation.bound,
                  p.contact_steps, p.pairs, p.pairs_beyond_window, p.contact_check, p.wires,
                  exact(p.contact.value), exact(p.contact_spread));
  for (const auto& l : p.placements) {
    out += fmt::format("placement {} {} {}\n", l.name, name(l.side), joined(l.cannot_tell));
    for (const auto& b : l.probes) {
      out += fmt::format(" probe {} {} {} {} {} {} {}\n", b.channel, index(b.point), b.at.x, b.at.y,
                         b.twin.value_or(-1), name(b.side), b.clip);
    }
  }
  for (const auto& u : p.untested)
    out += fmt::format("untested {} {} {}\n", u.net, joined(u.points), u.why);
  for (const auto& s : p.steps) {
    out += fmt::format(
        "step {} {} {} {} {} {} {} {} {} {} {} {} {} {} {} {} {}\n", index(s.id), s.placement,
        static_cast<int>(s.kind), numbers(s.source), numbers(s.ret), s.sense_high, s.sense_low,
        s.reference, numbers(s.groups), numbers(s.points), exact(s.limit.value),
        exact(s.volts.value),
        s.predicted ? exact(s.predicted->ohms.value) + exact(s.predicted->uncertainty.value) +
                          exact(s.predicted->mesh.value) + exact(s.predicted->per_loss)
                    : "-",
        s.contact_by_row1, s.block, s.closing, s.wanted);
  }
  return out;
}

inline std::string text_of(const record::RunResult& r) {
  const auto& d = r.diagnosis;
  std::string out = fmt::format("{} {} {} {} {} {} {} {} {} {} {} {}\n", r.state,
                                static_cast<int>(d.verdict), d.coverage.required, d.coverage.tested,
                                d.coverage.waived, d.coverage.pairs_required,
                                d.coverage.pairs_tested, d.coverage.pairs_beyond_window,
                                r.placements, r.measurements, exact(r.seconds), r.problem);
  for (const auto& f : d.findings) {
    out += fmt::format("finding {} {} {} {} {}\n", static_cast<int>(f.kind), joined(f.nets),
                       f.measured ? exact(f.measured->value) : "-", exact(f.limit.value),
                       exact(f.uncertainty.value));
    for (const auto& p : f.parts) out += " part " + joined(p) + "\n";
    for (const auto& s : f.suspects) {
      out += fmt::format(" suspect {} {} {} {} {} {} {}", s.rank, s.at.x, s.at.y, s.side,
                         exact(s.likelihood), joined(s.nets), s.why);
      for (const auto& p : s.path) out += fmt::format(" ({} {})", p.x, p.y);
      out += s.separates ? fmt::format(" {}|{}\n", (*s.separates)[0], (*s.separates)[1]) : "\n";
    }
  }
  for (const auto& c : {d.breaks, d.bridges}) {
    out += fmt::format("listed {} {} {} {} {} {} {}\n", c.listed, c.excluded, c.harmless, c.found,
                       c.cannot_tell, c.waived, c.unless_bridged);
  }
  out += fmt::format("{} {}\n", d.parallel_joins, exact(d.likelihood_excluded));
  for (const auto& c : d.cannot_tell) {
    out += fmt::format("cannot tell {} {} {} {} {} {} {} {}\n", name(c.kind), joined(c.nets),
                       joined(c.points), c.at.x, c.at.y, c.side, name(c.why), joined(c.would_tell));
    for (const auto& from : c.from)
      out += fmt::format(" from {} {} {}\n", name(from.side), from.either, from.no_contact);
  }
  for (const auto& u : d.untested) {
    out += fmt::format("untested {} {} {} {}\n", u.net, joined(u.points), u.why, u.detail);
  }
  if (d.foil) {
    const diagnose::FoilFit& f = *d.foil;
    out += fmt::format("foil {} {} {} {} {} {}\n", f.thickness.value, f.thickness_sd.value,
                       f.undercut.value, f.undercut_sd.value, f.readings, f.at_bound);
  }
  for (const auto& w : d.waived) out += fmt::format("waived {} {} {}\n", w.point, w.net, w.why);
  return out + joined(d.remarks) + "\n";
}

}  // namespace isthmus::test
