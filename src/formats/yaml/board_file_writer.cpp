// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include "formats/paths.hpp"
#include "isthmus/formats/board_file.hpp"
#include "isthmus/formats/quantity.hpp"

namespace isthmus::formats {
namespace {

using Path = std::filesystem::path;

// A file named absolutely stays so, unless it lies below the description and moves with it.
std::string relative(const Path& file, const BoardFile& board) {
  const Path way = seen_from(folder_of(board.path), file);
  const bool outside = !way.empty() && *way.begin() == "..";
  return yaml_text((file.is_absolute() && outside ? file.lexically_normal() : way).string());
}

std::string entries(const std::vector<std::pair<std::string, std::optional<Path>>>& named,
                    const BoardFile& board) {
  std::string out;
  for (const auto& [key, file] : named) {
    if (file) out += (out.empty() ? "" : ", ") + key + ": " + relative(*file, board);
  }
  return out;
}

std::string artwork(const BoardFile& b) {
  std::string out = entries({{"top", b.top}, {"bottom", b.bottom}, {"outline", b.outline}}, b);
  if (!b.inner.empty()) {
    std::string files;
    for (const Path& file : b.inner) files += (files.empty() ? "" : ", ") + relative(file, b);
    out += ", inner: [" + files + "]";
  }
  return out;
}

std::string netlist(const BoardFile& b) {
  if (b.netlist_source == NetlistSource::gerber_x2) return "gerber-x2";
  if (b.netlist_source == NetlistSource::artwork) return "artwork";
  const std::string file = relative(b.netlist, b);
  return file == "artwork" || file == "gerber-x2" ? "./" + file : file;
}

std::string holes(const BoardFile& b) {
  std::string out;
  for (const HoleFileEntry& h : b.holes) {
    out += "  - {file: " + relative(h.file, b);
    if (h.plated) out += *h.plated ? ", plated: true" : ", plated: false";
    if (h.span) out += fmt::format(", span: [{}, {}]", h.span->first, h.span->second);
    out += "}\n";
  }
  return out.empty() ? "" : "holes:\n" + out;
}

constexpr std::array kJoinNames{"plated", "wire", "rivet", "eyelet", "lead"};

std::string join_groups(const BoardFile& b) {
  static constexpr std::array kGroups{"vias", "components", "leads"};
  std::string out;
  for (std::size_t i = 0; i < kGroups.size(); ++i) {
    const auto& group = b.join_groups[i];
    if (!group) continue;
    out += fmt::format(
        "{}{}: {}", out.empty() ? "" : ", ", kGroups[i],
        group->deferred ? "deferred" : kJoinNames[static_cast<std::size_t>(group->kind)]);
  }
  return out;
}

std::string joins(const BoardFile& b) {
  if (const std::string groups = join_groups(b); !groups.empty()) {
    return "joins: {" + groups + "}\n";
  }
  switch (b.joins_mode) {
    case JoinsMode::all:
      return "joins: all\n";
    case JoinsMode::none:
      return "joins: none\n";
    case JoinsMode::plated:
      return "joins: plated\n";
    case JoinsMode::listed:
      break;
  }
  if (b.joins.empty()) return "joins: []\n";
  std::string out = "joins:\n";
  for (const JoinEntry& j : b.joins) {
    out += fmt::format("  - {{at: {}, kind: {}{}}}\n", place_text(j.at),
                       kJoinNames[static_cast<std::size_t>(j.kind)],
                       j.deferred ? ", deferred: true" : "");
  }
  return out;
}

std::string waived(const WaiveEntry& w) {
  switch (w.kind) {
    case WaiveKind::point:
      return "point: " + yaml_text(w.point);
    case WaiveKind::join:
      return "join: " + place_text(w.at);
    case WaiveKind::copper:
      return "copper: " + place_text(w.at) +
             ", side: " + (w.layer > 0 ? fmt::format("L{}", w.layer) : std::string(name(w.side)));
    case WaiveKind::pair:
      return "pair: [" + yaml_text(w.nets[0]) + ", " + yaml_text(w.nets[1]) + "]";
  }
  return "";
}

std::string declarations(const BoardFile& b) {
  std::string out;
  if (!b.net_ties.empty()) out += "net-ties:\n";
  for (const auto& tie : b.net_ties) {
    std::string nets;
    for (const std::string& net : tie) nets += (nets.empty() ? "" : ", ") + yaml_text(net);
    out += "  - [" + nets + "]\n";
  }
  if (!b.links.empty()) out += "links:\n";
  for (const LinkEntry& l : b.links) {
    out += fmt::format("  - {{from: {}, to: {}, side: {}}}\n", place_text(l.from), place_text(l.to),
                       name(l.side));
  }
  if (!b.waive.empty()) out += "waive:\n";
  for (const WaiveEntry& w : b.waive) {
    out += fmt::format("  - {{{}, why: {}}}\n", waived(w), yaml_text(w.why));
  }
  if (!b.placed_top.empty() || !b.placed_bottom.empty()) out += "placed:\n";
  for (const auto& [side, marks] :
       {std::pair{"top", &b.placed_top}, std::pair{"bottom", &b.placed_bottom}}) {
    if (!marks->empty()) out += fmt::format("  {}:\n", side);
    for (const auto& m : *marks) {
      out += fmt::format("    - [{}, {}, {}, {}]\n", mm_text(m[0].x), mm_text(m[0].y),
                         mm_text(m[1].x), mm_text(m[1].y));
    }
  }
  return out;
}

}  // namespace

std::string write_board_file(const BoardFile& b) {
  std::string out = "isthmus: 1\nname: " + yaml_text(b.name) + "\n";
  out += "artwork: {" + artwork(b) + "}\n";
  const std::string masks = entries({{"top", b.mask_top}, {"bottom", b.mask_bottom}}, b);
  if (!masks.empty()) out += "mask: {" + masks + "}\n";
  out += holes(b);
  out += "netlist: " + netlist(b) + "\n";
  out += "stage: " + std::string(name(b.stage)) +
         "      # etched-top | etched-bottom | etched | joined | finished\n";
  out += joins(b) + declarations(b);
  out += fmt::format("copper: {{thickness: {}, temperature: {}}}\n", text_of(b.copper.thickness),
                     text_of(b.copper.temperature));
  out += fmt::format(
      "process: {{gap: {}, track: {}, undercut: {}, registration: {}, drill-wander: {}}}\n",
      text_of(b.process.gap), text_of(b.process.track), text_of(b.process.undercut),
      text_of(b.process.registration), text_of(b.process.drill_wander));
  if (b.limits.excess < LimitKeys{}.excess) {
    out +=
        "# excess: finds necks that the default of 1 ohm would let pass (on four wires, or "
        "zeroed)\n";
  }
  out += fmt::format(
      "limits: {{continuity: {}, isolation: {}, bridge: {}, excess: {}, voltage: {}, window: "
      "{}}}\n",
      text_of(b.limits.continuity), text_of(b.limits.isolation), text_of(b.limits.bridge),
      text_of(b.limits.excess), text_of(b.limits.voltage), text_of(b.limits.window));
  return out;
}

}  // namespace isthmus::formats
