// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include "cli/adapter_options.hpp"
#include "cli/guide.hpp"
#include "cli/guide_words.hpp"
#include "cli/limits.hpp"
#include "cli/person.hpp"
#include "cli/placing.hpp"
#include "cli/record_options.hpp"
#include "cli/resuming.hpp"
#include "cli/terminal.hpp"
#include "isthmus/report/guide_page.hpp"
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
  record::RunHead head = head_of(o, board);
  head.fixture_hash = hash_of(plan, board);
  note_adapter(head, o, instrument);
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

}  // namespace

int run_guide(const GuideOptions& o, expect::Board& board, const plan::HandPlan& plan) {
  if (auto known = check_address(o.adapter); !known) return bad_input(known.problem());
  if (const auto nobody = resumes_nobody(o)) return bad_input(*nobody);
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
  hooks.offers_rework = person.is_there();
  hooks.left = [&](const plan::Round& round, const expect::Facts& known,
                   std::span<const PointId> cannot_reach) {
    return plan::touches_left(board, round, o.means, known, cannot_reach, {});
  };
  auto outcome = session::guide(board, {plan, o.means.contact_check, broken ? &*broken : nullptr},
                                instrument, **record, head, hooks);
  if (!outcome) return bad_input(outcome.problem());
  return finish_run(o, board, view_of(head, *outcome), *outcome);
}

}  // namespace isthmus::cli
