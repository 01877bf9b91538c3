// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>

#include "isthmus/formats/ipc_d_356.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

constexpr std::size_t kNetWidth = 14;
constexpr std::int64_t kMaxCounts = 999'999, kMaxSize = 9999;

std::int64_t rounded(std::int64_t nm, std::int64_t unit) {
  return nm < 0 ? -((-nm + unit / 2) / unit) : (nm + unit / 2) / unit;
}

// Columns are bytes: a name is cut before a character of several bytes that does not fit whole.
std::string padded(std::string_view text, std::size_t width) {
  std::size_t end = std::min(text.size(), width);
  const auto goes_on = [&](std::size_t i) {
    return i < text.size() && (static_cast<unsigned char>(text[i]) & 0xC0) == 0x80;
  };
  for (int back = 0; back < 3 && end > 0 && goes_on(end); ++back) --end;
  std::string out(text.substr(0, end));
  out.resize(width, ' ');
  return out;
}

bool needs_alias(const std::string& net) {
  return net.size() > kNetWidth || contains(net, " ") || net.substr(0, 5) == "NNAME";
}

class NetlistWriter {
 public:
  explicit NetlistWriter(const Netlist& netlist) : netlist_(netlist) {
    for (const NetlistRecord& r : netlist.records) {
      const Position hole = r.hole_at.value_or(r.at);
      const std::int64_t far =
          std::max({std::abs(r.at.x), std::abs(r.at.y), std::abs(hole.x), std::abs(hole.y)});
      if (rounded(far, unit_) > kMaxCounts) unit_ = 2540;
    }
  }

  std::string write() {
    for (const NetlistRecord& r : netlist_.records) {
      if (!needs_alias(r.net) || aliases_.contains(r.net)) continue;
      const std::string alias = fmt::format("NNAME{:05}", aliases_.size() + 1);
      names_ += fmt::format("P  {} {}\n", alias, r.net);
      aliases_.emplace(r.net, alias);
    }
    std::string out = "P  JOB   ISTHMUS\nP  CODE  00\n";
    out += unit_ == 1000 ? "P  UNITS CUST 1\n" : "P  UNITS CUST 0\n";
    out += "P  VER   IPC-D-356A\nP  IMAGE PRIMARY\n" + names_;
    for (const NetlistRecord& r : netlist_.records) out += record(r);
    return out + "999\n";
  }

 private:
  [[nodiscard]] std::int64_t size(Nanometres v) const {
    return std::min(rounded(v.value, unit_), kMaxSize);
  }

  [[nodiscard]] std::string place(char letter, std::int64_t nm) const {
    const std::int64_t counts = rounded(nm, unit_);
    return fmt::format("{}{}{:06}", letter, counts < 0 ? '-' : '+', std::abs(counts));
  }

  [[nodiscard]] static const char* code(FeatureKind kind) {
    switch (kind) {
      case FeatureKind::through_hole:
        return "317";
      case FeatureKind::tooling:
        return "367";
      case FeatureKind::blind_via:
        return "307";
      case FeatureKind::surface:
        break;
    }
    return "327";
  }

  [[nodiscard]] std::string hole(const NetlistRecord& r) const {
    if (!r.hole) return "      ";
    const char plating = r.plated ? (*r.plated ? 'P' : 'U') : ' ';
    return fmt::format("D{:04}{}", size(*r.hole), plating);
  }

  [[nodiscard]] std::string record(const NetlistRecord& r) const {
    const auto alias = aliases_.find(r.net);
    const std::string& net = alias == aliases_.end() ? r.net : alias->second;
    const bool hole_elsewhere = r.hole && r.hole_at;
    std::string out = code(r.kind) + padded(net, kNetWidth) + "   " + padded(r.ref, 6) +
                      (r.pin.empty() ? ' ' : '-') + padded(r.pin, 4) + (r.mid_net ? 'M' : ' ');
    out += hole_elsewhere ? "      " : hole(r);
    out += r.access < 0 ? "   " : fmt::format("A{:02}", r.access);
    out += place('X', r.at.x) + place('Y', r.at.y);
    if (r.size_x.value > 0) {
      const std::int64_t y = r.size_y == r.size_x ? 0 : size(r.size_y);
      const auto turn = (static_cast<std::int64_t>(std::llround(r.rotation_deg)) % 360 + 360) % 360;
      out += fmt::format("X{:04}Y{:04}R{:03}", size(r.size_x), y, turn);
    }
    out += std::string(72 - std::min<std::size_t>(out.size(), 72), ' ');
    out += r.mask ? fmt::format("S{}", *r.mask) : "  ";
    if (r.span) out += fmt::format("L{:02}L{:02}", r.span->first, r.span->second);
    while (out.back() == ' ') out.pop_back();
    out += '\n';
    if (hole_elsewhere) {
      out += fmt::format("017{}   {:<12}{}A00{}{}\n", padded(net, kNetWidth), "", hole(r),
                         place('X', r.hole_at->x), place('Y', r.hole_at->y));
    }
    return out;
  }

  const Netlist& netlist_;
  std::int64_t unit_{1000};
  std::map<std::string, std::string> aliases_;
  std::string names_;
};

}  // namespace

std::string write_ipc_d_356(const Netlist& netlist) { return NetlistWriter(netlist).write(); }

}  // namespace isthmus::formats
