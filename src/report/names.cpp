// SPDX-License-Identifier: Apache-2.0
#include "report/names.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>

#include "report/drawing.hpp"

namespace isthmus::report {
namespace {

constexpr double kWide = 0.62;  // of a letter, by its height: common practice, no source
constexpr double kSmallest = 0.06, kSmallestPx = 7;

double fitting(const std::string& text, double width, double height) {
  return std::min(height,
                  width / (kWide * static_cast<double>(std::max<std::size_t>(text.size(), 1))));
}

std::size_t layer_of(const expect::Board& board, bool below) {
  return below ? board.copper.layers - 1 : 0;
}

// Names of places say where they lie, which the picture shows.
bool is_place(const expect::Point& p) { return p.via || p.id.starts_with('@'); }

struct Pad {
  const expect::Point* point{};
  double hole{};           // mm; 0: none
  double width{}, tall{};  // of its flash, mm; both its smaller extent where it is drawn otherwise
};

// Along the pad: name and net in one line.
NameOnBoard in_one_line(const Pad& pad, const std::string& id, double x, double y) {
  const double length = std::max(pad.width, pad.tall), across = std::min(pad.width, pad.tall);
  const std::string text = id + " " + pad.point->net;
  return {x, y, fitting(text, 0.92 * length, 0.7 * across), pad.tall > pad.width ? -90.0 : 0, text};
}

void add_pad(std::vector<NameOnBoard>& names, const Pad& pad, bool below) {
  const expect::Point& p = *pad.point;
  const double size = to_mm(p.size.value), hole = pad.hole;
  const double x = to_mm(below ? -p.at.x : p.at.x), y = -to_mm(p.at.y);
  const std::string id = p.id.substr(0, p.id.find('@', 1));
  if (is_place(p) || p.net.empty()) {
    if (hole > 0) return;  // a via's ring is too narrow to read
    const std::string& text = is_place(p) ? p.net : id;
    names.push_back({x, y, fitting(text, 0.9 * size, 0.4 * size), 0, text});
    return;
  }
  if (hole > 0) {  // on its ring: a name across the hole could not be read
    const double off = (size + hole) / 4, height = std::max(0.4 * (size - hole), 0.0);
    names.push_back({x, y - off, fitting(id, 0.55 * size, height), 0, id});
    names.push_back({x, y + off, fitting(p.net, 0.55 * size, height), 0, p.net});
    return;
  }
  if (std::max(pad.width, pad.tall) > 1.8 * std::min(pad.width, pad.tall)) {
    names.push_back(in_one_line(pad, id, x, y));
    return;
  }
  const double upper = fitting(id, 0.9 * size, 0.38 * size);
  const double lower = fitting(p.net, 0.9 * size, 0.38 * size);
  names.push_back({x, y - 0.55 * upper, upper, 0, id});
  names.push_back({x, y + 0.55 * lower, lower, 0, p.net});
}

// What the flashes of a layer measure.
std::vector<Box> flashes(const expect::Board& board, std::size_t layer) {
  std::vector<Box> boxes;
  for (const formats::Object& o : board.design.copper.at(layer).objects) {
    if (!o.dark || o.kind != formats::ObjectKind::flash || o.shape.empty()) continue;
    Box& box = boxes.emplace_back();
    for (const Polygon& polygon : o.shape) {
      for (Position corner : polygon.outer) box.add(corner);
    }
  }
  return boxes;
}

// The flash in the middle of which the point lies; a netlist's places are rounded.
Pad pad_of(const expect::Board& board, const expect::Point& p, const std::vector<Box>& flashed) {
  constexpr double kRounded = 20e3;  // nm
  const double size = to_mm(p.size.value);
  Pad pad{&p, p.join ? to_mm(board.expectation.joins[*p.join].diameter.value) : 0, size, size};
  for (const Box& box : flashed) {
    if (distance_nm(box.centre(), p.at) > kRounded) continue;
    pad.width = to_mm(box.hi.x - box.lo.x);
    pad.tall = to_mm(box.hi.y - box.lo.y);
  }
  return pad;
}

struct Straight {
  Segment line;
  double width{}, length{};
};

// Of each island the longest straight piece of a track.
std::map<std::size_t, Straight> straight_tracks(const expect::Board& board, std::size_t layer) {
  std::map<std::size_t, Straight> best;
  const copper::IslandIndex islands(board.copper);
  for (const formats::Object& o : board.design.copper.at(layer).objects) {
    if (!o.dark || o.kind != formats::ObjectKind::stroke || o.spine.size() != 2) continue;
    const double length = to_mm(1) * distance_nm(o.spine[0], o.spine[1]);
    const Position middle{(o.spine[0].x + o.spine[1].x) / 2, (o.spine[0].y + o.spine[1].y) / 2};
    const auto island = islands.at(LayerId{static_cast<std::uint16_t>(layer)}, middle);
    if (!island) continue;
    Straight& s = best[index(*island)];
    if (length > s.length) s = {{o.spine[0], o.spine[1]}, to_mm(o.width.value), length};
  }
  return best;
}

NameOnBoard along(const Straight& s, const std::string& net, bool below) {
  const double flip = below ? -1 : 1;
  const double dx = flip * to_mm(s.line.b.x - s.line.a.x), dy = -to_mm(s.line.b.y - s.line.a.y);
  double degrees = std::atan2(dy, dx) * 180 / std::numbers::pi;
  if (degrees > 90) degrees -= 180;
  if (degrees <= -90) degrees += 180;
  return {flip * to_mm(s.line.a.x + s.line.b.x) / 2, -to_mm(s.line.a.y + s.line.b.y) / 2,
          fitting(net, 0.7 * s.length, 0.8 * s.width), degrees, net};
}

double step_below(double height) {
  static constexpr std::array kSteps{1.6, 1.2, 0.8, 0.6, 0.45, 0.35, 0.25, 0.18, 0.13, 0.09, 0.06};
  for (double step : kSteps) {
    if (step <= height) return step;
  }
  return 0;
}

// Roughly: as if either were written in any direction.
bool touch(const NameOnBoard& a, const NameOnBoard& b) {
  const auto reach = [](const NameOnBoard& n) {
    return n.height * std::max(1.0, kWide * static_cast<double>(n.text.size())) / 2;
  };
  return std::hypot(a.x - b.x, a.y - b.y) < reach(a) + reach(b);
}

}  // namespace

std::vector<std::string> nets_of_islands(const expect::Board& board) {
  std::vector<std::string> nets(board.copper.islands.size());
  for (std::size_t i = 0; i < nets.size(); ++i) nets[i] = "#" + std::to_string(i);
  for (const expect::Group& g : board.expectation.groups) {
    for (IslandId island : g.islands) nets.at(index(island)) = g.net;
  }
  return nets;
}

std::vector<NameOnBoard> names_on(const expect::Board& board, bool below) {
  const std::size_t layer = layer_of(board, below);
  const std::vector<Box> flashed = flashes(board, layer);
  std::vector<NameOnBoard> names;
  for (const expect::Point& p : board.expectation.points) {
    const bool here = layer < p.islands.size() && p.islands[layer];
    if (here && p.size.value > 0) add_pad(names, pad_of(board, p, flashed), below);
  }
  const std::vector<std::string> nets = nets_of_islands(board);
  const std::size_t pads = names.size();
  for (const auto& [island, straight] : straight_tracks(board, layer)) {
    if (nets[island].starts_with('#')) continue;
    const NameOnBoard name = along(straight, nets[island], below);
    const bool free = std::none_of(names.begin(), names.begin() + static_cast<std::ptrdiff_t>(pads),
                                   [&name](const NameOnBoard& n) { return touch(n, name); });
    if (free) names.push_back(name);
  }
  std::erase_if(names, [](const NameOnBoard& n) { return n.height < kSmallest; });
  return names;
}

std::string names_svg(const std::vector<NameOnBoard>& names, bool below, double mm_per_px) {
  std::map<double, std::string, std::greater<>> groups;
  for (const NameOnBoard& n : names) {
    const double height = step_below(n.height);
    const double y = n.y + 0.35 * height;
    groups[height] +=
        n.degrees == 0
            ? fmt::format("<text x=\"{:.2f}\" y=\"{:.2f}\">{}</text>", n.x, y, escape(n.text))
            : fmt::format(
                  "<text transform=\"translate({:.2f} {:.2f}) rotate({:.0f})\" y=\"{:.2f}\">{}"
                  "</text>",
                  n.x, n.y, n.degrees, 0.35 * height, escape(n.text));
  }
  std::string out = fmt::format(
      "<g class=\"name\" transform=\"scale({} -1)\" aria-hidden=\"true\">", below ? -1 : 1);
  for (const auto& [height, texts] : groups) {
    out += fmt::format("<g class=\"names{}\" data-mm=\"{}\" font-size=\"{}\">{}</g>",
                       height / mm_per_px < kSmallestPx ? " fine" : "", height, height, texts);
  }
  return out + "</g>";
}

}  // namespace isthmus::report
