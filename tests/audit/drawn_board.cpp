// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/drawn_board.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace isthmus::audit {
namespace {

std::string at(double x, double y) {
  return fmt::format("X{}Y{}", std::llround(x * 1e6), std::llround(y * 1e6));
}

std::string lines(const DrawnBoard::Way& way) {
  std::string words;
  for (std::size_t i = 0; i < way.size(); ++i)
    words += at(way[i].first, way[i].second) + (i == 0 ? "D02*\n" : "D01*\n");
  return words;
}

// IPC-D-356A in micrometres (CUST 1): columns as docs/formats/ipc-d-356.md gives them.
std::string record_of(const char* kind, const std::string& net, const std::string& ref,
                      const std::string& pin, const std::string& hole, int access, double x,
                      double y, double d) {
  return fmt::format("{}{:<14}   {:<6}{}{:<4} {:<6}A{:02}X{:+07}Y{:+07}X{:04}Y{:04}\n", kind, net,
                     ref, pin.empty() ? ' ' : '-', pin, hole, access, std::lround(x * 1000),
                     std::lround(y * 1000), std::lround(d * 1000), std::lround(d * 1000));
}

}  // namespace

int DrawnBoard::aperture(Layer& layer, double d) {
  for (const auto& [size, code] : layer.apertures) {
    if (size == d) return code;
  }
  layer.apertures.push_back({d, 10 + static_cast<int>(layer.apertures.size())});
  return layer.apertures.back().second;
}

DrawnBoard& DrawnBoard::pad(Side side, double x, double y, double d) {
  Layer& l = layer(side);
  l.words += fmt::format("D{}*\n{}D03*\n", aperture(l, d), at(x, y));
  return *this;
}

DrawnBoard& DrawnBoard::track(Side side, const Way& way, double width) {
  Layer& l = layer(side);
  l.words += fmt::format("D{}*\n{}", aperture(l, width), lines(way));
  return *this;
}

DrawnBoard& DrawnBoard::area(Side side, const Way& corners) {
  Way closed = corners;
  closed.push_back(corners.front());
  layer(side).words += "G36*\n" + lines(closed) + "G37*\n";
  return *this;
}

DrawnBoard& DrawnBoard::surface(const std::string& net, const std::string& ref,
                                const std::string& pin, double x, double y, Side side, double d) {
  records_ += record_of("327", net, ref, pin, "", side == Side::bottom ? 2 : 1, x, y, d);
  return pad(side, x, y, d);
}

DrawnBoard& DrawnBoard::through_record(const std::string& net, const std::string& ref,
                                       const std::string& pin, double x, double y, double drill,
                                       bool plated) {
  const std::string bore = fmt::format("D{:04}{}", std::lround(drill * 1000), plated ? 'P' : 'U');
  records_ += record_of("317", net, ref, pin, bore, 0, x, y, 2 * drill);
  return *this;
}

DrawnBoard& DrawnBoard::through(const std::string& net, const std::string& ref,
                                const std::string& pin, double x, double y, double drill,
                                double d) {
  return through_record(net, ref, pin, x, y, drill, true).hole(x, y, drill, d);
}

DrawnBoard& DrawnBoard::hole(double x, double y, double drill, double d) {
  drills_.push_back({drill, fmt::format("X{:.3f}Y{:.3f}\n", x, y)});
  pad(Side::top, x, y, d);
  return two_sided_ ? pad(Side::bottom, x, y, d) : *this;
}

DrawnBoard& DrawnBoard::slot(double x0, double y0, double x1, double y1, double width) {
  drills_.push_back({width, fmt::format("X{:.3f}Y{:.3f}G85X{:.3f}Y{:.3f}\n", x0, y0, x1, y1)});
  return *this;
}

DrawnBoard& DrawnBoard::unplated() {
  plated_ = false;
  return *this;
}

DrawnBoard& DrawnBoard::netlist(const std::string& source) {
  netlist_ = source;
  return *this;
}

DrawnBoard& DrawnBoard::more(const std::string& yaml) {
  more_ += yaml;
  return *this;
}

std::string DrawnBoard::gerber(const Layer& layer) {
  std::string head = "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n";
  for (const auto& [size, code] : layer.apertures)
    head += fmt::format("%ADD{}C,{:.3f}*%\n", code, size);
  return head + "G01*\n" + layer.words + "M02*\n";
}

std::string DrawnBoard::drills() const {
  std::vector<double> sizes;
  for (const auto& [size, words] : drills_) sizes.push_back(size);
  std::ranges::sort(sizes);
  sizes.erase(std::unique(sizes.begin(), sizes.end()), sizes.end());
  std::string head = "M48\nMETRIC\n", body;
  for (std::size_t t = 0; t < sizes.size(); ++t) {
    head += fmt::format("T{}C{:.3f}\n", t + 1, sizes[t]);
    body += fmt::format("T{}\n", t + 1);
    for (const auto& [size, words] : drills_) {
      if (size == sizes[t]) body += words;
    }
  }
  return head + "%\nG05\nG90\n" + body + "M30\n";
}

std::string DrawnBoard::yaml() const {
  std::string text = "isthmus: 1\nname: drawn\nartwork: {top: top.gbr";
  text += two_sided_ ? ", bottom: bottom.gbr}\n" : "}\n";
  if (!drills_.empty()) text += fmt::format("holes: [{{file: holes.drl, plated: {}}}]\n", plated_);
  text += "netlist: " + netlist_ + "\nstage: " + stage_ + "\n";
  if (!joins_.empty()) text += "joins: " + joins_ + "\n";
  return text + more_;
}

std::unique_ptr<expect::Board> DrawnBoard::load() const {
  const test::TempDir dir;
  dir.write("top.gbr", gerber(top_));
  if (two_sided_) dir.write("bottom.gbr", gerber(bottom_));
  if (!drills_.empty()) dir.write("holes.drl", drills());
  if (netlist_ == "net.d356") dir.write("net.d356", "P  UNITS CUST 1\n" + records_ + "999\n");
  const auto path = dir.write("board.yaml", yaml());
  Diagnostics notes;
  auto file = formats::read_board_file(path);
  if (!file) throw std::runtime_error(format(file.problem()));
  auto board = expect::load_board(*file, notes);
  if (!board) throw std::runtime_error(format(board.problem()));
  return std::move(board).value();
}

}  // namespace isthmus::audit
