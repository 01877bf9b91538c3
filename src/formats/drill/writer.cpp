// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "isthmus/formats/drill.hpp"
#include "isthmus/formats/yaml.hpp"

namespace isthmus::formats {
namespace {

using ToolKey = std::pair<Nanometres, std::optional<bool>>;

std::string decimal(std::int64_t nm) {
  std::string text = mm_text(nm);
  return text.find('.') == std::string::npos ? text + ".0" : text;
}

std::string place(Position p) { return "X" + decimal(p.x) + "Y" + decimal(p.y); }

std::string file_function(const DrillFile& drill, int layers) {
  std::optional<bool> plated = drill.holes.empty() ? std::nullopt : drill.holes[0].plated;
  bool mixed = false;
  std::optional<std::pair<int, int>> span;
  for (const Hole& h : drill.holes) {
    mixed |= h.plated != plated;
    if (h.span) span = h.span;
  }
  const auto [from, to] = span.value_or(std::pair{1, layers});
  if (mixed) return fmt::format("; #@! TF.FileFunction,MixedPlating,{},{}\n", from, to);
  if (!plated) return "";
  const bool through = from == 1 && to == layers;
  const char* depth = !through  ? (from == 1 || to == layers ? "Blind" : "Buried")
                      : *plated ? "PTH"
                                : "NPTH";
  return fmt::format("; #@! TF.FileFunction,{},{},{},{}\n", *plated ? "Plated" : "NonPlated", from,
                     to, depth);
}

}  // namespace

std::string write_drill(const DrillFile& drill, int layers) {
  std::map<ToolKey, int> tools;
  for (const Hole& h : drill.holes) tools.emplace(ToolKey{h.diameter, h.plated}, 0);
  std::string out = "M48\n" + file_function(drill, layers) + "METRIC\n";
  int number = 0;
  for (auto& [key, tool] : tools) {
    tool = ++number;
    if (key.second) {
      out +=
          fmt::format("; #@! TA.AperFunction,{}\n", *key.second ? "Plated,PTH" : "NonPlated,NPTH");
    }
    out += fmt::format("T{}C{}\n", tool, decimal(key.first.value));
  }
  out += "%\nG90\nG05\n";
  for (const auto& [key, tool] : tools) {
    out += fmt::format("T{}\n", tool);
    std::int32_t open = -1;
    for (std::size_t i = 0; i < drill.holes.size(); ++i) {
      const Hole& h = drill.holes[i];
      if (ToolKey{h.diameter, h.plated} != key) continue;
      if (!h.is_slot()) {
        out += place(h.from) + "\n";
        continue;
      }
      if (h.slot < 0 || h.slot != open) out += "G00" + place(h.from) + "\nM15\n";
      out += "G01" + place(h.to) + "\n";
      open = h.slot;
      const bool goes_on = h.slot >= 0 && i + 1 < drill.holes.size() &&
                           drill.holes[i + 1].slot == h.slot && drill.holes[i + 1].from == h.to;
      if (!goes_on) {
        out += "M16\nG05\n";
        open = -1;
      }
    }
  }
  return out + "M30\n";
}

}  // namespace isthmus::formats
