// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "cli/adapter_options.hpp"
#include "cli/check_thoroughly.hpp"
#include "cli/commands.hpp"
#include "cli/dumped.hpp"
#include "cli/terminal.hpp"

namespace isthmus::cli {
namespace {

struct Options {
  std::string check, fixture;
  bool thorough{false}, json{false};
};

int list(const Options& o) {
  const auto adapters = adapter::list_adapters();
  nlohmann::ordered_json all = nlohmann::ordered_json::array();
  for (const adapter::Listed& a : adapters) {
    if (o.json) {
      all.push_back({{"address", a.address},
                     {"maker", a.maker},
                     {"model", a.model},
                     {"serial", a.serial_number},
                     {"device", a.device},
                     {"why_not", a.why_not}});
    } else {
      std::string line = fmt::format("{:<28}", a.address);
      for (const std::string* word : {&a.maker, &a.model, &a.serial_number}) {
        if (!word->empty()) line += " " + *word;
      }
      if (!a.address.ends_with(a.device)) line += " (" + a.device + ")";
      print(line.substr(0, line.find_last_not_of(' ') + 1) + "\n");
      if (!a.why_not.empty()) print("    cannot be opened: " + a.why_not + "\n");
    }
  }
  if (o.json)
    print(dumped(all) + "\n");
  else if (adapters.empty())
    print("No adapter is plugged in. A simulated one: --adapter sim:SCENARIO.yaml\n");
  return kPass;
}

int check(const Options& o) {
  if (auto known = check_address(o.check); !known) return bad_input(known.problem());
  auto bench = open_bench(o.check, o.fixture);
  if (!bench) return give_up(bench.problem());
  const adapter::Identity& id = bench->instrument->identity();
  const adapter::Capabilities& can = bench->instrument->capabilities();
  auto self_test = bench->instrument->self_test();
  if (!self_test) {
    complain(self_test.problem());
    return kLinkFailure;
  }
  if (o.json) {
    print(dumped({{"maker", id.maker},
                  {"model", id.model},
                  {"serial", id.serial_number},
                  {"firmware", id.firmware},
                  {"channels", can.channels},
                  {"wires", can.wires},
                  {"contact_check", can.contact_check},
                  {"references_ohm", can.references},
                  {"self_test", *self_test}}) +
          "\n");
  } else {
    print(
        fmt::format("{} {}, serial number {}, firmware {}\n{} channels, {} wires, contact check: "
                    "{}, {} reference{}\nself-test: {}\n",
                    id.maker, id.model, id.serial_number, id.firmware, can.channels, can.wires,
                    can.contact_check ? "yes" : "no", can.references.size(),
                    can.references.size() == 1 ? "" : "s",
                    *self_test == 0 ? "good" : fmt::format("failed ({})", *self_test)));
  }
  return *self_test == 0 ? kPass : kFaults;
}

}  // namespace

void add_adapters(CLI::App& app, int& exit) {
  auto* command = app.add_subcommand("adapters", "what is plugged in; self-test");
  auto o = std::make_shared<Options>();
  command->add_option("--check", o->check, "identify this adapter and run its self-test");
  command
      ->add_flag("--thorough", o->thorough,
                 "try the whole contract on it; take the board off first")
      ->needs("--check");
  command->add_option("--fixture", o->fixture, "fixture, when a simulator is checked");
  command->add_flag("--json", o->json, "JSON alone on stdout");
  command->callback([o, &exit] {
    exit = o->check.empty() ? list(*o)
           : o->thorough    ? check_thoroughly(o->check, o->fixture, o->json)
                            : check(*o);
  });
}

}  // namespace isthmus::cli
