// SPDX-License-Identifier: Apache-2.0
#include "cli/test_setup.hpp"

#include <algorithm>

#include "cli/commands.hpp"
#include "cli/limits.hpp"
#include "cli/record_options.hpp"
#include "cli/terminal.hpp"
#include "cli/zero_file.hpp"

namespace isthmus::cli {
namespace {

// A simulated board whose artwork is the design's own shows what the simulator adds, never what an
// etch did.
Result<bool> simulates_the_design(adapter::Instrument& instrument, const expect::Board& board) {
  if (!instrument.capabilities().simulated) return false;
  auto hashes = instrument.simulated_hashes();
  if (!hashes) return hashes.problem();
  return std::ranges::all_of(board.design.hashes, [&](const formats::FileHash& h) {
    const bool artwork = h.role == "top" || h.role == "bottom" || h.role == "inner";
    return !artwork || std::ranges::find(*hashes, h.sha256) != hashes->end();
  });
}

Result<plan::Plan> plan_for(const TestOptions& o, const TestInputs& in,
                            const adapter::Capabilities& can) {
  Diagnostics notes;
  ProgressLine line;
  line.say("planning the measurements");
  auto plan = plan::make_plan(*in.board, in.fixture, {can.wires, can.references}, notes);
  line.clear();
  show(notes, o.board.notes);
  return plan;
}

Result<session::Zero> zero_for(const std::string& file, const record::RunHead& head) {
  auto zero = read_zero(file);
  if (!zero) return zero;
  const auto holds = check_zero(*zero, head.adapter_serial, head.fixture_hash, head.started_utc);
  if (!holds) return holds.problem();
  return zero;
}

}  // namespace

Result<TestInputs> read_inputs(const TestOptions& o) {
  if (auto known = check_address(o.adapter); !known) return known.problem();
  if (auto nobody = resumes_nobody(o)) return *nobody;
  auto fixture = formats::read_fixture_file(o.fixture);
  if (!fixture) return fixture.problem();
  auto board = open_board(o.board);
  if (!board) return board.problem();
  if (const auto high = unsafe(**board)) return *high;
  if (const auto lax = too_lax(**board); lax && !o.relaxed) return *lax;
  if (auto added = plan::add_bare_places(**board, *fixture); !added) return added.problem();
  if (auto fits = plan::check_fixture(**board, *fixture); !fits) return fits.problem();
  return TestInputs{std::move(*board), std::move(*fixture)};
}

record::RunHead head_of(const TestOptions& o, const TestInputs& in) {
  record::RunHead head = head_of(o, *in.board);
  head.fixture_file = std::filesystem::absolute(o.fixture).lexically_normal();
  head.fixture_hash = formats::sha256(formats::write_fixture_file(in.fixture));
  return head;
}

Result<TestSetup> set_up(const TestOptions& o, const TestInputs& in,
                         adapter::Instrument& instrument) {
  if (auto limited = instrument.limit_current(in.fixture.tip_current); !limited)
    return limited.problem();
  auto plan = plan_for(o, in, instrument.capabilities());
  if (!plan) return plan.problem();
  TestSetup setup;
  setup.plan = std::move(*plan);
  setup.record_file = record_file(o.record);
  auto record = open_record(setup.record_file);
  if (!record) return record.problem();
  setup.record = std::move(*record);
  record::RunHead& head = setup.head;
  head = head_of(o, in);
  note_adapter(head, o, instrument);
  const auto same = simulates_the_design(instrument, *in.board);
  if (!same) return same.problem();
  if (*same) {
    head.remarks.push_back(
        "the simulated board is the design itself: its artwork is the same, file by file");
  }
  if (o.zero.empty()) return setup;
  auto zero = zero_for(o.zero, head);
  if (!zero) return zero.problem();
  head.remarks.push_back("leads and switches are taken off, as measured at " + zero->taken_utc);
  if (!zero->in_air.empty() && !instrument.capabilities().simulated)
    head.remarks.push_back("wires and tips were tried in the air then, and not again");
  setup.zero = std::move(*zero);
  return setup;
}

}  // namespace isthmus::cli
