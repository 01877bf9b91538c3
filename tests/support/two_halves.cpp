// SPDX-License-Identifier: Apache-2.0
#include "tests/support/two_halves.hpp"

#include <fmt/format.h>

#include <fstream>

namespace isthmus::test {
namespace {

constexpr double kPitch = 4, kPad = 1, kTrack = 0.4, kRing = 1.6, kDrill = 0.8;

struct Pt {
  double x, y;
};

std::string at(Pt p) {
  return fmt::format("X{}Y{}", std::lround(p.x * 1e6), std::lround(p.y * 1e6));
}

// A row of parts along x: pin 1 of part i, then pin 2, which a track leads to pin 1 of the next.
struct Row {
  double y;
  [[nodiscard]] Pt pad(int part, int pin) const { return {kPitch * part + (pin - 1) * 1.6, y}; }
};

Row row(const TwoHalves& b, bool bottom) { return {bottom && !b.under ? 9.0 : 0.0}; }

Pt hole_at(int k) { return {kPitch * k + 2.8, 4.5}; }

std::string copper(const TwoHalves& b, bool bottom) {
  const Row r = row(b, bottom);
  std::string out = fmt::format(
      "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n%ADD10R,{0}X{0}*%\n%ADD11C,{1}*%\n%ADD12C,{2}*%\nG01*\nD10*"
      "\n",
      kPad, kTrack, kRing);
  for (int i = 0; i < b.parts; ++i)
    for (const int pin : {1, 2}) out += at(r.pad(i, pin)) + "D03*\n";
  out += "D12*\n";
  for (int k = 0; k < b.holes; ++k) out += at(hole_at(k)) + "D03*\n";
  out += "D11*\n";
  const auto track = [&](Pt from, Pt to) { out += at(from) + "D02*\n" + at(to) + "D01*\n"; };
  for (int i = 0; i + 1 < b.parts; ++i) track(r.pad(i, 2), r.pad(i + 1, 1));
  for (int k = 0; k < b.holes; ++k) track({hole_at(k).x, r.y}, hole_at(k));
  return out + "M02*\n";
}

std::string record(const char* code, const std::string& net, const std::string& ref, int pin,
                   const std::string& hole, int access, Pt p, double size) {
  const auto um = [](double mm) { return std::lround(mm * 1000); };
  return fmt::format("{}{:<14}   {:<6}-{:<4} {:<6}A{:02}X{:+07}Y{:+07}X{:04}Y{:04}\n", code, net,
                     ref, pin, hole, access, um(p.x), um(p.y), um(size), um(size));
}

// The net between part i and the next; what a hole joins has one name on both sides.
std::string net_after(const TwoHalves& b, bool bottom, int i) {
  if (i < 0) return bottom ? "B_IN" : "T_IN";
  if (i + 1 == b.parts) return bottom ? "B_OUT" : "T_OUT";
  if (i < b.holes) return fmt::format("X{}", i);
  return fmt::format("{}{}", bottom ? "B" : "T", i);
}

std::string netlist(const TwoHalves& b) {
  std::string out = "P  UNITS CUST 1\n";
  for (int k = 0; k < b.holes; ++k)
    out += record("317", net_after(b, false, k), b.leads ? "J1" : "VIA", k + 1,
                  fmt::format("D{:04}P", std::lround(kDrill * 1000)), 0, hole_at(k), kRing);
  for (const bool bottom : {false, true}) {
    for (int i = 0; i < b.parts; ++i) {
      for (const int pin : {1, 2})
        out += record("327", net_after(b, bottom, pin == 1 ? i - 1 : i),
                      fmt::format("{}{}", bottom ? "C" : "R", i + 1), pin, "", bottom ? 2 : 1,
                      row(b, bottom).pad(i, pin), kPad);
    }
  }
  return out + "999\n";
}

void write_text(const std::filesystem::path& file, const std::string& text) {
  std::ofstream(file, std::ios::binary) << text;
}

}  // namespace

Position TwoHalves::hole(int k) const {
  const Pt p = hole_at(k);
  return {std::llround(p.x * 1e6), std::llround(p.y * 1e6)};
}

std::filesystem::path TwoHalves::write(const std::filesystem::path& folder) const {
  std::filesystem::create_directories(folder);
  write_text(folder / "top.gbr", copper(*this, false));
  write_text(folder / "bottom.gbr", copper(*this, true));
  std::string drill = fmt::format("M48\nMETRIC\nT1C{:.3f}\n%\nG05\nG90\nT1\n", kDrill);
  for (int k = 0; k < holes; ++k)
    drill += fmt::format("X{:.3f}Y{:.3f}\n", hole_at(k).x, hole_at(k).y);
  write_text(folder / "drill.xnc", drill + "M30\n");
  write_text(folder / "net.d356", netlist(*this));
  write_text(
      folder / "board.yaml",
      fmt::format("isthmus: 1\nname: two-halves\nartwork: {{top: top.gbr, bottom: bottom.gbr}}\n"
                  "holes: [{{file: drill.xnc}}]\nnetlist: net.d356\n"
                  "stage: joined\njoins: {}\n",
                  "{all: wire}"));
  return folder / "board.yaml";
}

}  // namespace isthmus::test
