// SPDX-License-Identifier: Apache-2.0
#include "tests/hostsim/hand/rig.hpp"

#include <fmt/format.h>

#include <fstream>

namespace isthmus::hostsim::test {
namespace {

namespace fs = std::filesystem;

std::string at(double x, double y) {
  return fmt::format("X{}Y{}", std::llround(x * 1e6), std::llround(y * 1e6));
}

std::string line(double x0, double y0, double x1, double y1) {
  return at(x0, y0) + "D02*\n" + at(x1, y1) + "D01*\n";
}

std::string top_layer() {
  std::string text =
      "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n%ADD10R,0.250000X0.250000*%\n%ADD11C,0.150000*%\n"
      "%ADD12C,2.000000*%\n%ADD13C,0.400000*%\n";
  text += "D10*\n";
  for (int k = 0; k < 8; ++k) text += at(fine_x(k), 5) + "D03*\n";
  text += "D11*\n";
  for (int k = 0; k < 8; ++k) text += line(fine_x(k), 5, fine_x(k), clip_y(k));
  text += "D12*\n" + at(12, 5) + "D03*\n" + at(14, 5) + "D03*\n";
  return text + "D13*\n" + line(2, 2, 42, 2) + "M02*\n";
}

std::string bottom_layer() {
  return "%FSLAX46Y46*%\n%MOMM*%\n%LPD*%\n%ADD12C,2.000000*%\nD12*\n" + at(14, 5) + "D03*\nM02*\n";
}

std::string record(const std::string& net, const std::string& ref, double x, double y,
                   int access = 1) {
  return fmt::format("327{:<14}   {:<6}-{:<4}       A{:02}X{:+07}Y{:+07}X0250Y0250R000 S0\n", net,
                     ref, "1", access, std::llround(x * 1e3), std::llround(y * 1e3));
}

std::string netlist() {
  std::string text = "P  UNITS CUST 1\n";
  for (int k = 0; k < 8; ++k) {
    text += record(fmt::format("P{}", k), fmt::format("U{}", k), fine_x(k), 5);
    text += record(fmt::format("P{}", k), fmt::format("J{}", k), fine_x(k), clip_y(k));
  }
  text += record("Q", "Q", 12, 5) + record("R", "R", 14, 5) + record("S", "S", 14, 5, 2);
  return text + record("T", "T1", 2, 2) + record("T", "T2", 42, 2) + "999\n";
}

void write(const fs::path& file, const std::string& text) { std::ofstream(file) << text; }

}  // namespace

Rig::Rig(const std::string& hand, int seed, const std::string& more) {
  const fs::path& f = folder_.path();
  write(f / "top.gbr", top_layer());
  write(f / "bottom.gbr", bottom_layer());
  write(f / "holes.drl", "M48\nMETRIC\nT1C0.8\n%\nT1\nX14.0Y5.0\nM30\n");
  write(f / "net.d356", netlist());
  write(f / "board.yaml",
        "isthmus: 1\nartwork: {top: top.gbr, bottom: bottom.gbr}\n"
        "holes: [{file: holes.drl, plated: false}]\nnetlist: net.d356\nstage: etched\n");
  const std::string text = fmt::format(
      "isthmus: 1\nboard: board.yaml\nchannels: 32\ncell-um: 25\nseed: {}\nhand: {{{}}}\n{}", seed,
      hand, more);
  scenario_ = std::make_unique<Scenario>(parse_scenario(text, f / "sim.yaml").value());
  std::vector<std::string> warnings;
  bench_ = make_copper_bench(*scenario_, std::nullopt, warnings).value();
  device_ = std::make_unique<Device>(*scenario_, *bench_);
  hand_ = std::make_unique<Hand>(*scenario_, *bench_->surface(),
                                 [this](std::string_view word) { answers.emplace_back(word); });
  device_->hand_to(*hand_);
}

std::string clip_at(int channel, double x, double y, const std::string& side) {
  return fmt::format(R"({{"channel":{},"point":"?","net":"?","side":"{}","x_mm":{},"y_mm":{}}})",
                     channel, side, x, y);
}

void Rig::clip_all() {
  std::string clips;
  for (int k = 0; k < 8; ++k) clips += (k > 0 ? "," : "") + clip_at(11 + k, fine_x(k), clip_y(k));
  show(R"({"n":2,"event":"clips","round":1,"of":1,"clips":[)" + clips + "]}");
  for (int i = 0; i < 20; ++i) wait(10);
}

void Rig::touch(int number, double x, double y, const std::string& more) {
  show(fmt::format(
      R"({{"n":3,"event":"touch","touch":{},"left":1,"needle":0,"channel":1,"point":"?","net":"?",)"
      R"("side":"top","x_mm":{},"y_mm":{},"again":false{}}})",
      number, x, y, more));
}

double Rig::measure(int a, int b, const std::string& how) {
  const std::string reply = device_->run(fmt::format(
      ":SYST:TAG 1;:SOUR:CURR 1E-3;:SOUR:VOLT 10;:ROUT:CLOS (@1!{},2!{});{}", a, b, how));
  const std::size_t value = reply.find("),") + 2;
  return std::stod(reply.substr(value));
}

bool Rig::contact(int channel) {
  const std::string reply =
      device_->run(fmt::format(":SYST:TAG 1;:ROUT:CLOS (@1!{});:MEAS:CONT?", channel));
  return reply.find("+1.000000E+00") != std::string::npos;
}

double Rig::until_conducting(int a, int b, double most) {
  const double begin = time();
  while (time() < begin + most) {
    if (conduct(a, b)) return time() - begin;
    wait(0.002);
  }
  return -1;
}

}  // namespace isthmus::hostsim::test
