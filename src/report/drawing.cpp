// SPDX-License-Identifier: Apache-2.0
#include "report/drawing.hpp"

#include <fmt/format.h>

namespace isthmus::report {
namespace {

std::string mm(std::int64_t nm) {
  std::string text = fmt::format("{:.3f}", to_mm(nm));
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

// Whole micrometres, each place from the one before: a third of the bytes of millimetres.
std::string path_data(const Contour& c) {
  const auto um = [](std::int64_t nm) { return (nm >= 0 ? nm + 500 : nm - 500) / 1000; };
  const auto second = [](std::int64_t v) { return (v < 0 ? "" : " ") + std::to_string(v); };
  std::string d;
  std::int64_t x = 0, y = 0;
  bool first_line = true;
  for (std::size_t i = 0; i < c.size(); ++i) {
    const std::int64_t dx = um(c[i].x) - x, dy = um(c[i].y) - y;
    if (i > 0 && dx == 0 && dy == 0) continue;
    if (i == 0) {
      d += "M" + std::to_string(dx) + second(dy);
    } else {
      d += (first_line ? "l" + std::to_string(dx) : second(dx)) + second(dy);
      first_line = false;
    }
    x += dx;
    y += dy;
  }
  return d + "Z";
}

std::string path_data(const Polygon& p) {
  std::string d = path_data(p.outer);
  for (const Contour& hole : p.holes) d += path_data(hole);
  return d;
}

std::string layer_group(const expect::Board& board, LayerId layer) {
  std::string out = fmt::format("<g id=\"copper-{}\" transform=\"scale(.001)\">",
                                layer_name(layer, board.copper.layers));
  for (std::size_t i = 0; i < board.copper.islands.size(); ++i) {
    const copper::Island& island = board.copper.islands[i];
    if (island.layer != layer) continue;
    out +=
        fmt::format("<path id=\"i{}\" fill-rule=\"evenodd\" d=\"{}", i, path_data(island.outline));
    for (const Polygon& more : island.more) out += path_data(more);
    out += "\"/>";
  }
  return out + "</g>";
}

std::string holes_group(const expect::Board& board) {
  std::string out = "<g id=\"holes\">";
  for (const formats::Hole& h : board.design.holes) {
    if (h.from == h.to) {
      out += fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"{}\"/>", mm(h.from.x), mm(h.from.y),
                         mm(h.diameter.value / 2));
    } else {
      out += fmt::format(
          "<path d=\"M{} {}L{} {}\" stroke-width=\"{}\" stroke-linecap=\"round\" class=\"slot\"/>",
          mm(h.from.x), mm(h.from.y), mm(h.to.x), mm(h.to.y), mm(h.diameter.value));
    }
  }
  return out + "</g>";
}

std::string outline_group(const expect::Board& board) {
  std::string out = "<g id=\"outline\">";
  if (board.design.outline) {
    for (const formats::Object& o : board.design.outline->objects) {
      if (o.spine.size() < 2) continue;
      std::string d;
      for (Position p : o.spine) d += (d.empty() ? "M" : "L") + mm(p.x) + " " + mm(p.y);
      out += "<path d=\"" + d + "\"/>";
    }
  }
  return out + "</g>";
}

}  // namespace

std::string escape(const std::string& text) {
  std::string out;
  for (char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += static_cast<unsigned char>(c) < 0x20 && c != '\n' && c != '\t' ? ' ' : c;
    }
  }
  return out;
}

Box board_box(const expect::Board& board) {
  Box box;
  if (board.design.outline) box = board.design.outline->extent;
  if (box.empty()) {
    for (const copper::Island& island : board.copper.islands) box.add(island.box);
  }
  if (box.empty()) box = {{0, 0}, {1'000'000, 1'000'000}};
  return box;
}

Box drawn_area(const expect::Board& board) { return board_box(board).grown(1_mm); }

std::string shapes(const expect::Board& board) {
  std::string out = "<defs>";
  for (std::size_t l = 0; l < board.copper.layers; ++l)
    out += layer_group(board, LayerId{static_cast<std::uint16_t>(l)});
  return out + holes_group(board) + outline_group(board) + "</defs>";
}

std::string definitions(const expect::Board& board) {
  return "<svg width=\"0\" height=\"0\" style=\"position:absolute\" aria-hidden=\"true\">" +
         shapes(board) + "</svg>\n";
}

std::string draw(const expect::Board& board, const View& v) {
  const double w = to_mm(v.area.hi.x - v.area.lo.x), h = to_mm(v.area.hi.y - v.area.lo.y);
  const double left = v.from_below ? -to_mm(v.area.hi.x) : to_mm(v.area.lo.x);
  const std::string size =
      v.width_px > 0
          ? fmt::format("width=\"{:.0f}\" height=\"{:.0f}\"", v.width_px, v.width_px * h / w)
          : fmt::format("width=\"{:.3f}mm\" height=\"{:.3f}mm\"", w, h);
  std::string out = fmt::format(
      "<svg class=\"board\" role=\"img\" aria-label=\"{}\" {} {}"
      "viewBox=\"{:.3f} {:.3f} {:.3f} {:.3f}\">"
      "<g transform=\"scale({},-1)\">",
      escape(v.label), size, v.attributes.empty() ? "" : v.attributes + " ", left,
      -to_mm(v.area.hi.y), w, h, v.from_below ? -1 : 1);
  out += fmt::format(
      "<rect class=\"laminate\" x=\"{:.3f}\" y=\"{:.3f}\" width=\"{:.3f}\" height=\"{:.3f}\"/>",
      to_mm(v.area.lo.x), to_mm(v.area.lo.y), w, h);
  for (std::size_t l = 0; l < board.copper.layers; ++l) {
    const std::string layer =
        layer_name(LayerId{static_cast<std::uint16_t>(l)}, board.copper.layers);
    if (layer != v.layer) out += fmt::format("<use href=\"#copper-{}\" class=\"behind\"/>", layer);
  }
  out += fmt::format(
      "<use href=\"#copper-{}\" class=\"copper\"/><use href=\"#holes\" class=\"holes\"/><use "
      "href=\"#outline\" class=\"edge\"/>",
      v.layer);
  return out + v.marks + "</g></svg>";
}

}  // namespace isthmus::report
