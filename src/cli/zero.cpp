// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>

#include "cli/adapter_options.hpp"
#include "cli/commands.hpp"
#include "cli/placing.hpp"
#include "cli/terminal.hpp"
#include "cli/zero_file.hpp"
#include "isthmus/formats/design.hpp"

namespace isthmus::cli {
namespace {

struct Options {
  std::string fixture, adapter, out, on_placement, on_lift;
};

std::string table(const session::Zero& zero) {
  double least = INFINITY, most = -INFINITY;
  std::size_t channels = 0;
  for (const auto& [name, map] : zero.placements) {
    channels += map.size();
    for (const auto& [a, source] : map) {
      for (const auto& [b, ret] : map) {
        if (a == b) continue;
        least = std::min(least, source.row1 + ret.row2);
        most = std::max(most, source.row1 + ret.row2);
      }
    }
  }
  std::string air;
  if (!zero.in_air.empty())
    air = fmt::format("in the air: no two channels conduct (placement {})\n",
                      fmt::join(zero.in_air, ", "));
  return air + fmt::format(
                   "{} channels in {} placements: two of them have {:.3f} to {:.3f} ohm, each "
                   "known to {:.2G} "
                   "ohm\n",
                   channels, zero.placements.size(), least, most, zero.uncertainty);
}

int take(const Options& o) {
  if (auto known = check_address(o.adapter); !known) return bad_input(known.problem());
  auto fixture = formats::read_fixture_file(o.fixture);
  if (!fixture) return bad_input(fixture.problem());
  auto bench = open_bench(o.adapter, o.fixture);
  if (!bench) return give_up(bench.problem());
  adapter::Instrument& instrument = *bench->instrument;
  if (auto limited = instrument.limit_current(fixture->tip_current); !limited)
    return give_up(limited.problem());
  std::fprintf(
      stderr,
      "Each placement first in the air, then with all its tips on one piece of bare, bright "
      "copper; no board.\n");
  ProgressLine line;
  session::Hooks hooks;
  hooks.lay = placing(instrument, o.on_placement, line, nullptr);
  hooks.lift = lifting(instrument, {o.on_placement, o.on_lift}, line);
  hooks.interrupted = watch_signals();
  auto zero = session::take_zero(*fixture, instrument, hooks);
  line.clear();
  if (!zero) return give_up(zero.problem());
  zero->adapter_serial = instrument.identity().serial_number;
  zero->fixture_hash = formats::sha256(formats::write_fixture_file(*fixture));
  zero->taken_utc = now_utc();
  if (auto written = formats::write_whole_file(o.out, write_zero(*zero)); !written)
    return bad_input(written.problem());
  print(table(*zero));
  return kPass;
}

}  // namespace

void add_zero(CLI::App& app, int& exit) {
  auto* command = app.add_subcommand("zero", "measure leads and switches on bare copper");
  auto o = std::make_shared<Options>();
  command->add_option("--fixture", o->fixture, "fixture description")->required();
  command->add_option("--adapter", o->adapter, "address of the adapter")->required();
  command->add_option("--out", o->out, "file to keep the zero in; replaced")->required();
  command->add_option("--on-placement", o->on_placement,
                      "command to run with a placement's name when its tips must be laid");
  command->add_option("--on-lift", o->on_lift,
                      "command to run with a placement's name when its tips must hang in the air");
  command->callback([o, &exit] { exit = take(*o); });
}

}  // namespace isthmus::cli
