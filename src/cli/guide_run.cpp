// SPDX-License-Identifier: Apache-2.0

#include <fmt/format.h>
#include <unistd.h>

#include <cstdio>
#include <filesystem>

#include "cli/adapter_options.hpp"
#include "cli/commands.hpp"
#include "cli/guide.hpp"
#include "cli/guide_words.hpp"
#include "cli/limits.hpp"
#include "cli/person.hpp"
#include "cli/placing.hpp"
#include "cli/record_options.hpp"
#include "cli/resuming.hpp"
#include "cli/terminal.hpp"
#include "cli/zero_file.hpp"
#include "isthmus/report/guide_page.hpp"
#include "isthmus/report/report.hpp"
#include "isthmus/session/guide.hpp"

namespace isthmus::cli {
namespace {

std::string hash_of(const plan::HandPlan& plan, const expect::Board& board) {
  std::string text = "by hand\n";
  for (const plan::Round& r : plan.rounds) {
    for (const plan::Needle& n : r.needles)
      text += fmt::format("needle {} {}\n", n.channel, n.fork.value_or(0));
    for (const plan::HandClip& c : r.clips)
      text += fmt::format("clip {} {} {}\n", c.channel, board.expectation.point(c.point).id,
                          name(c.side));
  }
  return formats::sha256(text);
}

record::RunHead head_of(const GuideOptions& o, const expect::Board& board,
                        const plan::HandPlan& plan, const adapter::Instrument& instrument) {
  record::RunHead head;
  head.started_utc = now_utc();
  head.board = board.design.board.name;
  head.unit = o.unit;
  head.stage = std::string(name(board.expectation.stage));
  head.basis = board.expectation.basis;
  head.board_file = std::filesystem::absolute(o.board.file).lexically_normal();
  head.adapter_address = o.adapter;
  head.adapter_name = instrument.identity().maker + " " + instrument.identity().model;
  head.adapter_serial = instrument.identity().serial_number;
  head.design_hash = board.hash;
  head.fixture_hash = hash_of(plan, board);
  head.hashes = board.design.hashes;
  head.limits = board.design.board.limits;
  head.program_version = kVersion;
  if (o.relaxed)
    head.remarks.push_back(std::string(kRelaxedRemark) + ": this verdict was given with --relaxed");
  return head;
}

// Nothing without one.
Result<std::unique_ptr<serve::GuidePage>> page_of(const GuideOptions& o,
                                                  const expect::Board& board) {
  if (o.no_page) return std::unique_ptr<serve::GuidePage>();
  auto page = serve::GuidePage::open(report::guide_board_json(board, kSafety), o.port);
  if (page && o.open_page) open_in_browser((*page)->address());
  return page;
}

int exit_code_of(const session::Outcome& outcome) {
  if (outcome.link_failure) return exit_code(*outcome.link_failure);
  switch (outcome.result.diagnosis.verdict) {
    case diagnose::Verdict::fail:
      return kFaults;
    case diagnose::Verdict::incomplete:
      return kIncomplete;
    case diagnose::Verdict::pass:
      return kPass;
  }
  return kOurBug;
}

int report_run(const GuideOptions& o, const expect::Board& board, const record::RunHead& head,
               const session::Outcome& outcome) {
  report::RunView view{head, outcome.result};
  view.head.id = outcome.run;
  view.head.remarks = outcome.remarks;
  print(o.json ? report::run_json(view)
               : report::run_text(view, {colour_on(STDOUT_FILENO), o.inch}));
  if (!o.report.empty()) {
    if (auto written = report::write_report(o.report, view, board); !written)
      return bad_input(written.problem());
  }
  if (outcome.link_failure) complain(*outcome.link_failure);
  if (outcome.stopped) complain(*outcome.stopped);
  return exit_code_of(outcome);
}

}  // namespace

int run_guide(const GuideOptions& o, expect::Board& board, const plan::HandPlan& plan) {
  if (auto known = check_address(o.adapter); !known) return bad_input(known.problem());
  if (const auto high = unsafe(board)) return bad_input(*high);
  if (const auto lax = too_lax(board); lax && !o.relaxed) return bad_input(*lax);
  if (!o.report.empty()) {
    if (auto ready = report::ready_folder(o.report); !ready) return bad_input(ready.problem());
  }
  auto bench = open_bench(o.adapter, "");
  if (!bench) return give_up(bench.problem());
  adapter::Instrument& instrument = *bench->instrument;
  auto record = open_record(record_file(o.record));
  if (!record) return bad_input(record.problem());
  const record::RunHead head = head_of(o, board, plan, instrument);
  std::optional<record::StoredRun> broken;
  if (o.resume) {
    auto found = run_to_continue(**record, head);
    if (!found) return bad_input(found.problem());
    broken = std::move(*found);
  }
  auto page = page_of(o, board);
  if (!page) return give_up(page.problem());
  Person person(board, bench->simulator.get(), std::move(*page), o.mute);
  session::GuideHooks hooks;
  hooks.tell = [&](const session::Event& e) { person.tell(e); };
  hooks.heard = [&] { return person.heard(); };
  hooks.interrupted = watch_signals();
  hooks.left = [&](const plan::Round& round, const expect::Facts& known,
                   std::span<const PointId> cannot_reach) {
    return plan::touches_left(board, round, o.means, known, cannot_reach, {});
  };
  auto outcome = session::guide(board, {plan, o.means.contact_check, broken ? &*broken : nullptr},
                                instrument, **record, head, hooks);
  if (!outcome) return bad_input(outcome.problem());
  return report_run(o, board, head, *outcome);
}

}  // namespace isthmus::cli
