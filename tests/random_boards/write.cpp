// SPDX-License-Identifier: Apache-2.0
// The random board as files a CAD program would write.
#include <fmt/format.h>

#include <cmath>
#include <fstream>
#include <map>
#include <set>

#include "tests/random_boards/board.hpp"

namespace isthmus::random_boards {
namespace {

std::string place(Pt p) {
  return fmt::format("X{}Y{}", std::llround(p.x * 1e6), std::llround(p.y * 1e6));
}

class Gerber {
 public:
  Gerber(const RandomBoard& b, std::size_t layer, const std::vector<Blot>& blots)
      : b_(b), layer_(layer), blots_(blots) {}
  std::string text() {
    for (const Shape& s : b_.shapes) {
      if (s.layer == layer_ && is_pour(s)) region(s);
    }
    for (const Shape& s : b_.shapes) {
      if (s.layer == layer_ && !is_pour(s)) object(s);
    }
    for (const Blot& blot : blots_) {
      if (blot.shape.layer == layer_) add(blot);
    }
    return head() + body_ + "M02*\n";
  }

 private:
  [[nodiscard]] bool is_pour(const Shape& s) const {
    return s.kind == Shape::Kind::box && b_.nodes[s.node].kind != NodeKind::pad;
  }
  [[nodiscard]] std::string head() const {
    std::string out;
    if (b_.x2)
      out += fmt::format("%TF.FileFunction,Copper,{}*%\n%TF.SameCoordinates,random-{}*%\n",
                         layer_ == 0 ? "L1,Top" : "L2,Bot", b_.seed);
    out += "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n";
    for (const auto& [what, code] : apertures_) {
      const auto& [function, shape] = what;
      if (b_.x2) out += "%TA.AperFunction," + function + "*%\n";
      out += fmt::format("%ADD{}{}*%\n", code, shape);
      if (b_.x2) out += "%TD*%\n";
    }
    return out + "G01*\n";
  }
  void select(const std::string& function, const std::string& shape) {
    const auto [it, fresh] =
        apertures_.try_emplace({function, shape}, 10 + static_cast<int>(apertures_.size()));
    body_ += fmt::format("D{}*\n", it->second);
  }
  void of_net(std::size_t net) {
    if (b_.x2) body_ += fmt::format("%TO.N,{}*%\n", net == kNone ? "" : b_.nets[net]);
  }
  void region(const Shape& s) {
    of_net(b_.nodes[s.node].net);
    body_ += "G36*\n" + place(s.a) + "D02*\n" + place({s.b.x, s.a.y}) + "D01*\n" + place(s.b) +
             "D01*\n" + place({s.a.x, s.b.y}) + "D01*\n" + place(s.a) + "D01*\nG37*\n";
    if (b_.x2) body_ += "%TD*%\n";
    if (s.clearings.empty()) return;
    body_ += "%LPC*%\n";
    for (const Shape::Clearing& c : s.clearings) {
      select("Material", fmt::format("C,{:.6f}", 2 * c.radius));
      body_ += place(c.at) + "D03*\n";
    }
    body_ += "%LPD*%\n";
  }
  void add(const Blot& blot) {
    select("Other,Blot", fmt::format("C,{:.6f}", blot.shape.width));
    body_ += blot.dark ? "%LPD*%\n" : "%LPC*%\n";
    body_ += place(blot.shape.a) + "D02*\n" + place(blot.shape.b) + "D01*\n%LPD*%\n";
  }
  void object(const Shape& s) {
    if (s.edge != kNone) {
      of_net(b_.nodes[b_.edges[s.edge].a].net);
      select("Conductor", fmt::format("C,{:.6f}", s.width));
      body_ += place(s.a) + "D02*\n" + place(s.b) + "D01*\n";
    } else {
      flash(s, b_.nodes[s.node]);
    }
    if (b_.x2) body_ += "%TD*%\n";
  }
  void flash(const Shape& s, const Node& n) {
    of_net(n.net);
    std::string ref = n.ref, pin = n.pin, function = "SMDPad,CuDef";
    if (n.hole != kNone) {
      const Hole& h = b_.holes[n.hole];
      ref = h.ref, pin = h.pin, function = h.via ? "ViaPad" : "ComponentPad";
    }
    if (b_.x2 && !ref.empty()) body_ += fmt::format("%TO.P,{},{}*%\n", ref, pin);
    const Pt size = s.b - s.a;
    select(function, s.kind == Shape::Kind::box ? fmt::format("R,{:.6f}X{:.6f}", size.x, size.y)
                                                : fmt::format("C,{:.6f}", s.width));
    body_ += place(0.5 * (s.a + s.b)) + "D03*\n";
  }

  const RandomBoard& b_;
  std::size_t layer_;
  const std::vector<Blot>& blots_;
  std::map<std::pair<std::string, std::string>, int> apertures_;
  std::string body_;
};

std::string drill(const RandomBoard& b) {
  std::map<long, std::string> hits;  // by diameter in um
  for (const Hole& h : b.holes)
    hits[std::lround(h.drill * 1000)] += fmt::format("X{:.3f}Y{:.3f}\n", h.at.x, h.at.y);
  std::string head = "M48\nMETRIC\n", body;
  int tool = 0;
  for (const auto& [um, places] : hits) {
    head += fmt::format("T{}C{:.3f}\n", ++tool, static_cast<double>(um) / 1000);
    body += fmt::format("T{}\n", tool) + places;
  }
  return head + "%\nG05\nG90\n" + body + "M30\n";
}

std::string slots(const RandomBoard& b) {
  std::string out = fmt::format("M48\nMETRIC\nT1C{:.3f}\n%\nG05\nG90\nT1\n", b.slots[0].width);
  for (const Slot& s : b.slots)
    out += fmt::format("X{:.3f}Y{:.3f}G85X{:.3f}Y{:.3f}\n", s.from.x, s.from.y, s.to.x, s.to.y);
  return out + "M30\n";
}

struct Record {
  std::string code, net, ref, pin, hole;
  int access{};
  Pt at;
  double x{}, y{};
};

std::string line_of(const Record& r) {
  const auto um = [](double mm) { return std::lround(mm * 1000); };
  return fmt::format("{}{:<14}   {:<6}{}{:<4} {:<6}A{:02}X{:+07}Y{:+07}X{:04}Y{:04}\n", r.code,
                     r.net, r.ref, r.pin.empty() ? ' ' : '-', r.pin, r.hole, r.access, um(r.at.x),
                     um(r.at.y), um(r.x), um(r.y));
}

std::string netlist(const RandomBoard& b) {
  std::string out = "P  UNITS CUST 1\n";
  for (const Hole& h : b.holes) {
    if (!h.listed) continue;
    const std::string hole =
        fmt::format("D{:04}{}", std::lround(h.drill * 1000), b.plated ? 'P' : 'U');
    out += line_of(
        {"317", b.nets[h.net], h.via ? "VIA" : h.ref, h.pin, hole, 0, h.at, h.ring, h.ring});
  }
  for (const Node& n : b.nodes) {
    if (n.kind == NodeKind::pad && n.listed)
      out += line_of(
          {"327", b.nets[n.net], n.ref, n.pin, "", n.layer == 0 ? 1 : 2, n.at, n.size_x, n.size_y});
  }
  return out + "999\n";
}

std::string joins(const RandomBoard& b) {
  if (!joins_count(b.stage)) return "";
  if (b.joins != "list" || b.holes.empty())
    return "joins: " + (b.holes.empty() ? "none" : b.joins) + "\n";
  std::string out = "joins:\n";
  for (const Hole& h : b.holes)
    out += fmt::format("  - {{at: [{:.3f}, {:.3f}], kind: {}{}}}\n", h.at.x, h.at.y, h.kind,
                       h.deferred ? ", deferred: true" : "");
  return out;
}

std::string description(const RandomBoard& b) {
  std::string out = fmt::format(
      "isthmus: 1\nname: random-{}\nartwork: {{top: top.gbr, bottom: bottom.gbr}}\n", b.seed);
  std::string holes;
  if (!b.holes.empty())
    holes += fmt::format("{{file: drill.xnc, plated: {}}}", b.plated ? "true" : "false");
  if (!b.slots.empty())
    holes += (holes.empty() ? "" : ", ") + std::string("{file: slots.xnc, plated: false}");
  if (!holes.empty()) out += "holes: [" + holes + "]\n";
  out += "netlist: net.d356\n";
  for (const auto& [a, c] : b.ties)
    out += fmt::format("net-ties: [[{}, {}]]\n", b.nets[a], b.nets[c]);
  return out + "stage: " + std::string(name(b.stage)) + "\n" + joins(b);
}

void write(const std::filesystem::path& file, const std::string& text) {
  std::ofstream(file, std::ios::binary) << text;
}

}  // namespace

void write_board(const RandomBoard& b, const std::filesystem::path& folder,
                 const std::vector<Blot>& blots) {
  std::filesystem::create_directories(folder);
  write(folder / "top.gbr", Gerber(b, 0, blots).text());
  write(folder / "bottom.gbr", Gerber(b, 1, blots).text());
  if (!b.holes.empty()) write(folder / "drill.xnc", drill(b));
  if (!b.slots.empty()) write(folder / "slots.xnc", slots(b));
  write(folder / "net.d356", netlist(b));
  write(folder / "board.yaml", description(b));
}

}  // namespace isthmus::random_boards
