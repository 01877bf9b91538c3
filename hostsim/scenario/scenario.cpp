// SPDX-License-Identifier: Apache-2.0
#include "hostsim/scenario/scenario.hpp"

#include <fmt/core.h>

#include <fstream>
#include <map>
#include <sstream>

#include "hostsim/scenario/hand_keys.hpp"
#include "hostsim/scenario/yaml_keys.hpp"

namespace isthmus::hostsim {
namespace {

Position place_of(const YAML::Node& node, const std::string& what) {
  if (!node.IsSequence() || node.size() != 2) {
    fail_at(node.Mark(), "SIM-004", fmt::format("{} must be [x, y] in mm", what));
  }
  const double x = number_of(node[0], what), y = number_of(node[1], what);
  if (std::abs(x) > to_mm(kMaxCoordinate) || std::abs(y) > to_mm(kMaxCoordinate)) {
    fail_at(node.Mark(), "SIM-006", fmt::format("{} lies more than 1.07 m from the origin", what));
  }
  return position_mm(x, y);
}

std::string side_of(const YAML::Node& node) {
  std::string s = text_of(node, "side");
  const bool inner = s.size() >= 2 && s.size() <= 3 && s[0] == 'L' &&
                     s.find_first_not_of("0123456789", 1) == std::string::npos;
  if (s != "top" && s != "bottom" && !inner) {
    fail_at(node.Mark(), "SIM-006", fmt::format("side must be top, bottom or L2..., not '{}'", s));
  }
  return s;
}

DefectKind kind_of(const YAML::Node& node) {
  static const std::map<std::string, DefectKind> kKinds{
      {"open", DefectKind::open},       {"bridge", DefectKind::bridge},
      {"neck", DefectKind::neck},       {"leak", DefectKind::leak},
      {"whisker", DefectKind::whisker}, {"no-join", DefectKind::no_join}};
  const std::string s = text_of(node, "kind");
  const auto found = kKinds.find(s);
  if (found == kKinds.end()) {
    fail_at(node.Mark(), "SIM-006", fmt::format("unknown kind of defect '{}'", s),
            "one of: open, bridge, neck, leak, whisker, no-join");
  }
  return found->second;
}

double positive(Keys& keys, const std::string& key) {
  const YAML::Node node = keys.need(key);
  const double v = number_of(node, key);
  if (v <= 0) fail_at(node.Mark(), "SIM-006", fmt::format("{} must be above 0", key));
  return v;
}

void read_leak(Keys& keys, bool network, Defect& d) {
  if (network) {
    keys.take("at");
  } else {
    d.at = place_of(keys.need("at"), "at");
  }
  d.ohm = positive(keys, "ohm");
  keys.number("volts-exponent", d.volts_exponent, 0.1, 10);
  keys.number("drift-per-s", d.drift_per_s, -1, 1e3);
  const YAML::Node nets = network ? keys.need("nets") : keys.take("nets");
  if (!nets.IsDefined()) return;
  if (!nets.IsSequence() || nets.size() != 2) {
    fail_at(nets.Mark(), "SIM-004", "nets must be a list of two");
  }
  for (const YAML::Node& n : nets) d.nets.push_back(text_of(n, "nets"));
}

Defect read_defect(const YAML::Node& node, bool network) {
  Keys keys(node, "a defect");
  Defect d;
  d.line = node.Mark().line + 1;
  d.column = node.Mark().column + 1;
  const YAML::Node kind = keys.need("kind");
  d.kind = kind_of(kind);
  if (network && d.kind != DefectKind::leak) {
    fail_at(kind.Mark(), "SIM-007", "a network has only leaks as defects",
            "write the fault into its resistors");
  }
  const bool needs_side = !network && d.kind != DefectKind::no_join;
  const YAML::Node side = needs_side ? keys.need("side") : keys.take("side");
  if (side.IsDefined()) d.side = side_of(side);
  switch (d.kind) {
    case DefectKind::open:
      d.at = place_of(keys.need("at"), "at");
      d.diameter_mm = positive(keys, "diameter");
      break;
    case DefectKind::bridge:
    case DefectKind::whisker:
      d.at = place_of(keys.need("from"), "from");
      d.to = place_of(keys.need("to"), "to");
      (d.kind == DefectKind::bridge ? d.width_mm : d.ohm) =
          positive(keys, d.kind == DefectKind::bridge ? "width" : "ohm");
      break;
    case DefectKind::neck:
      d.at = place_of(keys.need("at"), "at");
      d.width_mm = positive(keys, "width");
      d.length_mm = positive(keys, "length");
      break;
    case DefectKind::leak:
      read_leak(keys, network, d);
      break;
    case DefectKind::no_join:
      d.at = place_of(keys.need("at"), "at");
      break;
  }
  keys.finish();
  return d;
}

std::vector<Defect> read_defects(const YAML::Node& node, bool network) {
  std::vector<Defect> defects;
  if (!node.IsDefined() || node.IsNull()) return defects;
  if (!node.IsSequence()) fail_at(node.Mark(), "SIM-004", "defects must be a list");
  for (const YAML::Node& d : node) defects.push_back(read_defect(d, network));
  return defects;
}

NetworkBoard read_network(const YAML::Node& node) {
  Keys keys(node, "network");
  NetworkBoard net;
  const YAML::Node points = keys.need("points");
  if (!points.IsMap()) fail_at(points.Mark(), "SIM-004", "points must be a mapping of name: node");
  std::map<std::string, int> seen;
  for (const auto& p : points) {
    const std::string name = text_of(p.first, "a point's name");
    if (++seen[name] > 1) {
      fail_at(p.first.Mark(), "SIM-005", fmt::format("point '{}' is written twice", name));
    }
    net.points.emplace_back(name, text_of(p.second, "the node of " + name));
  }
  const YAML::Node resistors = keys.take("resistors");
  if (resistors.IsDefined() && !resistors.IsSequence()) {
    fail_at(resistors.Mark(), "SIM-004", "resistors must be a list of [node, node, ohm]");
  }
  for (std::size_t i = 0; resistors.IsDefined() && i < resistors.size(); ++i) {
    const YAML::Node r = resistors[i];
    if (!r.IsSequence() || r.size() != 3) {
      fail_at(r.Mark(), "SIM-004", "a resistor must be [node, node, ohm]");
    }
    net.resistors.push_back(
        {text_of(r[0], "a node"), text_of(r[1], "a node"), number_of(r[2], "ohm")});
    if (net.resistors.back().ohm <= 0) fail_at(r[2].Mark(), "SIM-006", "ohm must be above 0");
    if (net.resistors.back().a == net.resistors.back().b) {
      fail_at(r.Mark(), "SIM-006", "a resistor needs two different nodes");
    }
  }
  keys.finish();
  return net;
}

void read_copper(const YAML::Node& node, CopperDraw& c) {
  if (!node.IsDefined()) return;
  Keys keys(node, "copper");
  keys.number("thickness-spread", c.thickness_spread, 0, 0.9);
  keys.number("gradient", c.gradient, 0, 0.9);
  keys.number("undercut-um", c.undercut_um, -500, 500);
  keys.number("undercut-spread-um", c.undercut_spread_um, 0, 500);
  keys.number("temperature", c.temperature_c, -60, 200);
  keys.finish();
}

void read_contact(const YAML::Node& node, ContactDraw& c) {
  if (!node.IsDefined()) return;
  Keys keys(node, "contact");
  keys.number("ohm", c.ohm, 0, 1e6);
  keys.number("spread", c.spread, 0, 1);
  keys.number("miss", c.miss, 0, 1);
  keys.finish();
}

void read_fixture_error(const YAML::Node& node, FixtureError& f) {
  if (!node.IsDefined()) return;
  Keys keys(node, "fixture");
  const YAML::Node shift = keys.take("shift");
  if (shift.IsDefined()) {
    const Position p = place_of(shift, "shift");
    f.shift_x_mm = to_mm(p.x);
    f.shift_y_mm = to_mm(p.y);
  }
  keys.number("turn", f.turn_deg, -360, 360);
  keys.truth("mirror", f.mirror);
  keys.number("aim-mm", f.aim_mm, 0, 100);
  keys.finish();
}

StuckSwitch read_stuck(const YAML::Node& node, int wires, int channels) {
  const char* form = "a stuck switch must be [row, channel, open|closed] or [..., seen]";
  if (!node.IsSequence() || node.size() < 3 || node.size() > 4)
    fail_at(node.Mark(), "SIM-004", form);
  const long row = whole_of(node[0], "row"), channel = whole_of(node[1], "channel");
  const std::string state = text_of(node[2], "state");
  if (state != "open" && state != "closed") fail_at(node[2].Mark(), "SIM-004", form);
  if (node.size() == 4 && text_of(node[3], "seen") != "seen")
    fail_at(node[3].Mark(), "SIM-004", form);
  if (row < 1 || row > wires || channel < 1 || channel > channels) {
    fail_at(node.Mark(), "SIM-006", "no such switch on this adapter");
  }
  return {static_cast<int>(row), static_cast<int>(channel), state == "closed", node.size() == 4};
}

TouchingWires read_touching(const YAML::Node& node, int channels) {
  if (!node.IsSequence() || node.size() != 3)
    fail_at(node.Mark(), "SIM-004", "wires that touch must be [channel, channel, ohm]");
  const long a = whole_of(node[0], "channel"), b = whole_of(node[1], "channel");
  const double ohm = number_of(node[2], "ohm");
  if (a < 1 || a > channels || b < 1 || b > channels || a == b)
    fail_at(node.Mark(), "SIM-006", "two different channels of this adapter");
  if (ohm < 0) fail_at(node[2].Mark(), "SIM-006", "ohm must be 0 or more");
  return {static_cast<int>(a), static_cast<int>(b), ohm};
}

void read_adapter(const YAML::Node& node, int channels, AdapterDraw& a) {
  if (!node.IsDefined()) return;
  Keys keys(node, "adapter");
  const YAML::Node wires = keys.take("wires");
  if (wires.IsDefined()) {
    a.wires = static_cast<int>(whole_of(wires, "wires"));
    if (a.wires != 2 && a.wires != 4) fail_at(wires.Mark(), "SIM-006", "wires must be 2 or 4");
  }
  const auto scaled = [&](const char* key, double& value, double scale, double hi) {
    double raw = value / scale;
    keys.number(key, raw, 0, hi);
    value = raw * scale;
  };
  scaled("source-ma", a.source_a, 1e-3, 100);
  keys.number("source-v", a.source_v, 0.01, 30);
  keys.number("switch-ohm", a.switch_ohm, 0, 1e5);
  scaled("switch-leak-na", a.switch_leak_a, 1e-9, 1e6);
  scaled("noise-uv", a.noise_v, 1e-6, 1e7);
  double offset_uv = a.offset_v * 1e6, drift_uv = a.drift_v_per_s * 1e6;
  keys.number("offset-uv", offset_uv, -1e7, 1e7);
  keys.number("drift-uv-per-s", drift_uv, -1e6, 1e6);
  a.offset_v = offset_uv * 1e-6;
  a.drift_v_per_s = drift_uv * 1e-6;
  scaled("hum-uv", a.hum_v, 1e-6, 1e7);
  scaled("settle-us", a.settle_s, 1e-6, 1e7);
  scaled("convert-us", a.convert_s, 1e-6, 1e7);
  keys.truth("contact-check", a.contact_check);
  keys.truth("mains-integration", a.mains_integration);
  keys.truth("discharge", a.discharge);
  const YAML::Node stuck = keys.take("stuck");
  if (stuck.IsDefined() && !stuck.IsSequence())
    fail_at(stuck.Mark(), "SIM-004", "stuck must be a list");
  for (std::size_t i = 0; stuck.IsDefined() && i < stuck.size(); ++i) {
    a.stuck.push_back(read_stuck(stuck[i], a.wires, channels));
  }
  const YAML::Node touching = keys.take("touching");
  if (touching.IsDefined() && !touching.IsSequence())
    fail_at(touching.Mark(), "SIM-004", "touching must be a list");
  for (std::size_t i = 0; touching.IsDefined() && i < touching.size(); ++i)
    a.touching.push_back(read_touching(touching[i], channels));
  const YAML::Node references = keys.take("references");
  if (references.IsDefined()) {
    a.references.clear();
    if (!references.IsSequence())
      fail_at(references.Mark(), "SIM-004", "references must be a list of ohms");
    for (const YAML::Node& r : references) {
      a.references.push_back(number_of(r, "references"));
      if (a.references.back() <= 0) fail_at(r.Mark(), "SIM-006", "a reference must be above 0 ohm");
    }
  }
  double buffer = a.buffer;
  keys.number("buffer", buffer, 1024, 1e6);
  a.buffer = static_cast<int>(buffer);
  keys.finish();
  if (a.source_a <= 0) fail_at(node.Mark(), "SIM-006", "source-ma must be above 0");
}

void read_link(const YAML::Node& node, LinkFaults& l) {
  if (!node.IsDefined()) return;
  Keys keys(node, "link");
  double latency_us = l.latency_s * 1e6, unplug = 0;
  keys.number("latency-us", latency_us, 0, 1e7);
  l.latency_s = latency_us * 1e-6;
  keys.number("drop", l.drop, 0, 1);
  keys.number("garble", l.garble, 0, 1);
  keys.number("stall", l.stall, 0, 1);
  keys.number("unplug-after", unplug, 0, 1e12);
  l.unplug_after = static_cast<long>(unplug);
  keys.finish();
}

void read_bench(Keys& keys, Scenario& s) {
  const YAML::Node version = keys.need("isthmus");
  if (version.Scalar() != "1") fail_at(version.Mark(), "SIM-008", "isthmus must be 1");
  const YAML::Node board = keys.take("board"), network = keys.take("network");
  if (board.IsDefined() == network.IsDefined()) {
    fail_at(keys.mark(), "SIM-003", "a scenario has either 'board' or 'network'");
  }
  if (board.IsDefined()) {
    const std::filesystem::path file = text_of(board, "board");
    s.board = file.is_absolute() ? file : s.path.parent_path() / file;
  } else {
    s.network = read_network(network);
  }
  const YAML::Node channels = keys.take("channels");
  if (channels.IsDefined()) {
    const long n = whole_of(channels, "channels");
    if (n < 2 || n > 256) fail_at(channels.Mark(), "SIM-006", "channels must be 2 to 256");
    s.channels = static_cast<int>(n);
  }
  const YAML::Node seed = keys.take("seed");
  if (seed.IsDefined()) {
    const long n = whole_of(seed, "seed");
    if (n < 0) fail_at(seed.Mark(), "SIM-006", "seed must not be negative");
    s.seed = static_cast<std::uint64_t>(n);
  }
  const YAML::Node clock = keys.take("clock");
  if (clock.IsDefined()) {
    const std::string c = text_of(clock, "clock");
    if (c != "virtual" && c != "real")
      fail_at(clock.Mark(), "SIM-006", "clock must be virtual or real");
    s.real_clock = c == "real";
  }
  keys.number("board-volts", s.board_volts, -30, 30);
  keys.number("cell-um", s.cell_um, 1, 1000);
}

Scenario read_all(const YAML::Node& root, const std::filesystem::path& path) {
  Scenario s;
  s.path = path;
  Keys keys(root, "the scenario");
  read_bench(keys, s);
  s.defects = read_defects(keys.take("defects"), s.network.has_value());
  s.drawn = read_defects(keys.take("drawn"), s.network.has_value());
  read_copper(keys.take("copper"), s.copper);
  read_contact(keys.take("contact"), s.contact);
  read_fixture_error(keys.take("fixture"), s.fixture);
  read_adapter(keys.take("adapter"), s.channels, s.adapter);
  read_link(keys.take("link"), s.link);
  s.hand = read_hand(keys.take("hand"), s.channels);
  if (!s.hand.log.empty() && s.hand.log.is_relative())
    s.hand.log = s.path.parent_path() / s.hand.log;
  keys.finish();
  return s;
}

std::string line_of(const std::string& text, int line) {
  std::istringstream in(text);
  std::string found;
  for (int i = 0; i < line; ++i) std::getline(in, found);
  return found;
}

}  // namespace

Result<Scenario> parse_scenario(const std::string& text, const std::filesystem::path& path) {
  Problem p;
  try {
    return read_all(YAML::Load(text), path);
  } catch (const ScenarioFault& fault) {
    p = fault.problem;
  } catch (const YAML::Exception& e) {
    p.code = "SIM-001";
    p.message = "not readable as YAML: " + e.msg;
    p.line = e.mark.is_null() ? 0 : e.mark.line + 1;
    p.column = e.mark.is_null() ? 0 : e.mark.column + 1;
  }
  p.file = path.string();
  if (p.line > 0) p.source_line = line_of(text, p.line);
  return p;
}

Result<Scenario> read_scenario(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  if (std::filesystem::is_directory(path) || !in || !(text << in.rdbuf())) {
    return Problem{path.string(),    0, 0, "SIM-009", "the scenario cannot be read",
                   "check the path", ""};
  }
  return parse_scenario(text.str(), path);
}

}  // namespace isthmus::hostsim
