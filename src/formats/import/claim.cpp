// SPDX-License-Identifier: Apache-2.0
#include "formats/import/claim.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

bool paste(const NameWords& w) {
  return any_of(w, {"paste", "cream", "soldp", "stencil"}) || pair_of(w, {"smd"}, {"mask"}) ||
         pair_of(w, {"sold"}, {"p"});
}

bool hole_drawing(const NameWords& w) {
  return any_of(w, {"drill", "drills", "hole", "holes"}) &&
         any_of(w, {"drawing", "draw", "photo", "map", "guide", "ident", "symbol", "symbols",
                    "table", "chart", "plot", "report"});
}

bool legend_or_drawing(const NameWords& w) {
  return any_of(w, {"silk",     "silks",         "silkscreen",   "screen",    "legend",
                    "overlay",  "ident",         "nomenclature", "glue",      "adhes",
                    "adhesive", "fab",           "fabrication",  "courtyard", "crtyd",
                    "assembly", "assy",          "plc",          "drawing",   "display",
                    "document", "documentation", "doc",          "docu",      "chart",
                    "package",  "manufacturing", "keepout",      "refdes",    "placement",
                    "dwgs",     "cmts",          "eco",          "eco1",      "eco2",
                    "comments", "notes",         "schematic",    "schematics"}) ||
         pair_of(w, {"ref"}, {"des"}) || pair_of(w, {"crt"}, {"yd"}) || hole_drawing(w);
}

bool outline(const NameWords& w) {
  return any_of(w, {"outline", "outlines", "edge", "edges", "profile", "border", "contour",
                    "dimension", "perimeter"}) ||
         (!w.empty() && w.back() == "brd");
}

bool mask(const NameWords& w) {
  return any_of(w, {"mask", "soldermask", "resist", "stopmask"}) ||
         pair_of(w, {"stop"}, {"top", "bottom", "bot", "mask"}) ||
         pair_of(w, {"top", "bottom", "bot", "solder", "mask"}, {"stop"}) ||
         (!w.empty() && (w.back() == "mt" || w.back() == "mb"));
}

// One letter is a side only before what it is the side of: "F_Cu", not "RevB".
bool letter_side(const NameWords& w, std::string_view letter) {
  for (std::size_t i = 0; i + 1 < w.size(); ++i) {
    const std::string& next = w[i + 1];
    static constexpr std::array<std::string_view, 7> kOf{"cu",    "copper", "mask",      "paste",
                                                         "silks", "silk",   "soldermask"};
    if (w[i] == letter && std::ranges::find(kOf, next) != kOf.end()) return true;
  }
  return false;
}

Side side_of(const NameWords& w) {
  const bool top = any_of(w, {"top", "front", "component", "comp", "componentside"}) ||
                   letter_side(w, "f") || (!w.empty() && w.back() == "mt");
  const bool bottom = any_of(w, {"bottom", "bot", "back", "solderside"}) ||
                      pair_of(w, {"solder"}, {"side"}) || letter_side(w, "b") ||
                      (!w.empty() && w.back() == "mb");
  if (top == bottom) return Side::both;
  return top ? Side::top : Side::bottom;
}

bool copper(const NameWords& w) {
  return any_of(w, {"copper", "cu", "etch", "conductor", "signal"});
}

// Numbers that count the layers of the board ("layer 2", "L3"), and those that count the layers
// between the sides ("inner 1"); 0 for none.
struct Numbers {
  int board{}, inner{};
};

Numbers numbers_of(const NameWords& w) {
  Numbers n;
  for (std::size_t i = 0; i < w.size(); ++i) {
    const auto next = i + 1 < w.size() ? to_int(w[i + 1]) : std::nullopt;
    const int after = next && *next > 0 && *next < 100 ? static_cast<int>(*next) : 0;
    for (const std::string_view start : {"layer", "l", "ly"}) {
      const int here = number_after(w[i], start);
      if (here > 0) n.board = here;
      if (w[i] == start && after > 0) n.board = after;
    }
    for (const std::string_view start : {"in", "inner", "int", "internal", "mid", "plane"}) {
      const int here = number_after(w[i], start);
      if (here > 0) n.inner = here;
      if (w[i] == start && start != "in" && after > 0) n.inner = after;
    }
  }
  return n;
}

// Nothing but what a layer between the sides is called: "GND", "Power Plane".
bool named_plane(const NameWords& w) {
  static constexpr std::array<std::string_view, 13> kPlane{
      "gnd", "ground", "vcc",    "vdd",  "pwr",   "power", "plane",
      "cu",  "copper", "signal", "etch", "layer", "inner"};
  return !w.empty() && any_of(w, {"gnd", "ground", "vcc", "vdd", "pwr", "power"}) &&
         std::ranges::all_of(w, [](const std::string& word) {
           return std::ranges::find(kPlane, word) != kPlane.end();
         });
}

Claim copper_claim(const NameWords& w, Side side) {
  Claim c;
  const Numbers n = numbers_of(w);
  const bool between = any_of(w, {"inner", "internal", "mid"}) || n.inner > 0;
  if (side != Side::both && !between) {
    c.role = FileRole::copper;
    c.side = side;
    c.bare = !copper(w) && !any_of(w, {"layer", "side"});
  } else if (between && (n.inner > 0 || n.board > 0)) {
    // "Inner layer 2" may be counted either way; as "l2" it counts the board's layers.
    c.role = FileRole::copper;
    c.inner = true;
    const bool l = std::ranges::any_of(w, [](const std::string& word) {
      return number_after(word, "l") > 0 || number_after(word, "ly") > 0;
    });
    c.layer = n.board > 0 && l ? n.board : std::max(n.inner, n.board) + 1;
  } else if (n.board > 0) {
    c.role = FileRole::copper;
    c.inner = true;
    c.layer = n.board;
  } else if (named_plane(w) || (between && copper(w))) {
    c.role = FileRole::copper;
    c.inner = true;
  }
  return c;
}

}  // namespace

Claim claim_of(const NameWords& words) {
  Claim c;
  const Side side = side_of(words);
  const bool drawn_outline = outline(words);
  if (paste(words) || legend_or_drawing(words) || (drawn_outline && side != Side::both)) {
    c.not_ours = true;
    c.kind = paste(words)          ? "paste"
             : hole_drawing(words) ? "a drawing of the holes"
             : drawn_outline       ? "a drawing"
                                   : "a legend or a drawing";
  } else if (mask(words)) {
    c.kind = "a mask, without its side";
    c.not_ours = side == Side::both;
    c.role = side == Side::both ? FileRole::other : FileRole::mask;
    c.side = side;
  } else if (drawn_outline) {
    c.role = FileRole::outline;
  } else if (any_of(words, {"drill", "drills", "hole", "holes", "pth", "npth"})) {
    c.role = FileRole::drill;
  } else {
    c = copper_claim(words, side);
  }
  return c;
}

std::string described(const Claim& c) {
  switch (c.role) {
    case FileRole::copper:
      return c.inner ? "inner copper" : fmt::format("{} copper", name(c.side));
    case FileRole::mask:
      return fmt::format("{} mask", name(c.side));
    case FileRole::outline:
      return "an outline";
    case FileRole::drill:
      return "a drill file";
    case FileRole::netlist:
    case FileRole::other:
      break;
  }
  return c.not_ours ? c.kind : "nothing known";
}

}  // namespace isthmus::formats
