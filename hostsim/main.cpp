// SPDX-License-Identifier: Apache-2.0
// isthmus-sim: the adapter and the board under test, simulated.
#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "hostsim/copper/bench.hpp"
#include "hostsim/device/device.hpp"
#include "hostsim/hand/event_input.hpp"
#include "hostsim/hand/hand.hpp"
#include "hostsim/link/link.hpp"
#include "hostsim/network/bench.hpp"
#include "hostsim/scenario/scenario.hpp"
#include "isthmus/formats/fixture_file.hpp"

namespace {

using namespace isthmus;

struct Options {
  std::string scenario, fixture, events;
  hostsim::LinkOptions link;
};

int refuse(const Problem& p) {
  std::fprintf(stderr, "%s\n", format(p).c_str());
  return 2;
}

Result<std::unique_ptr<hostsim::Bench>> make_bench(const hostsim::Scenario& scenario,
                                                   std::optional<formats::FixtureFile> fixture) {
  if (scenario.network) return hostsim::make_network_bench(scenario, std::move(fixture));
  std::vector<std::string> warnings;
  auto bench = hostsim::make_copper_bench(scenario, std::move(fixture), warnings);
  for (const std::string& w : warnings)
    std::fprintf(stderr, "isthmus-sim: warning: %s\n", w.c_str());
  return bench;
}

// What the person at the bench reads: a file, or what the program that started this one writes.
Result<std::optional<hostsim::EventInput>> open_events(const Options& options) {
  if (options.events.empty()) {
    if (!options.link.with_parent) return std::optional<hostsim::EventInput>();
    return std::optional(hostsim::EventInput::from_stdin());
  }
  auto opened = hostsim::EventInput::open(options.events);
  if (!opened) return opened.problem();
  return std::optional(std::move(opened).value());
}

void answer(std::string_view word) {
  std::printf("answer %.*s\n", static_cast<int>(word.size()), word.data());
  std::fflush(stdout);
}

int run(Options options) {
  const auto scenario = hostsim::read_scenario(options.scenario);
  if (!scenario) return refuse(scenario.problem());
  std::optional<formats::FixtureFile> fixture;
  if (!options.fixture.empty()) {
    auto read = formats::read_fixture_file(options.fixture);
    if (!read) return refuse(read.problem());
    fixture = std::move(read).value();
  }
  auto bench = make_bench(*scenario, std::move(fixture));
  if (!bench) return refuse(bench.problem());
  hostsim::Device device(*scenario, **bench);
  auto events = open_events(options);
  if (!events) return refuse(events.problem());
  std::optional<hostsim::Hand> hand;
  if (*events && (*bench)->surface()) {
    device.hand_to(hand.emplace(*scenario, *(*bench)->surface(), answer));
    options.link.events = &**events;
  }
  const auto end = hostsim::serve(device, *scenario, options.link);
  if (!end) return refuse(end.problem());
  if (*end == hostsim::LinkEnd::unplugged) {
    std::fprintf(stderr, "isthmus-sim: unplugged after %ld replies\n", scenario->link.unplug_after);
    return 3;
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{
      "A probe multiplexer and the board under it, simulated. Its address is the first line "
      "printed."};
  Options options;
  app.add_option("scenario", options.scenario, "what lies on the bench (YAML)")->required();
  app.add_option("--fixture", options.fixture, "where the probes land (YAML)");
  auto* pty = app.add_flag("--pty", options.link.pty, "answer on a pseudo-terminal");
  auto* tcp = app.add_option("--tcp", options.link.port,
                             "answer on this TCP port of 127.0.0.1; 0 picks one")
                  ->check(CLI::Range(0, 65535));
  auto* gadget =
      app.add_flag("--gadget", options.link.gadget,
                   "be a USB device: a serial port and USBTMC (needs root and a USB device "
                   "controller)");
  app.add_option("--udc", options.link.udc, "which USB device controller (default: the first)")
      ->needs(gadget);
  pty->excludes(tcp)->excludes(gadget);
  tcp->excludes(gadget);
  app.add_option("--events", options.events,
                 "what the person at the bench reads: a FIFO, or a file that grows (default: with "
                 "--with-parent standard input)");
  app.add_flag("--with-parent", options.link.with_parent, "end when standard input closes");
  try {
    app.parse(argc, argv);
    if (pty->count() + tcp->count() + gadget->count() == 0)
      throw CLI::RequiredError("--pty, --tcp or --gadget");
  } catch (const CLI::ParseError& e) {
    return app.exit(e) == 0 ? 0 : 2;
  }
  try {
    return run(options);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "isthmus-sim: a bug of ours: %s\n", e.what());
    return 70;
  }
}
