// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/auditor.hpp"

#include <algorithm>

#include "tests/audit/list.hpp"

namespace isthmus::audit {
namespace {

const Faulty& as_drawn(Faulty& faulty) {
  faulty.apply({});
  return faulty;
}

Wish with_window(Wish wish, const expect::Board& board) {
  wish.window = board.design.board.limits.window;
  return wish;
}

}  // namespace

Auditor::Auditor(const expect::Board& board, plan::Plan plan, const AuditWish& wish)
    : board_(board),
      plan_(std::move(plan)),
      wish_(wish),
      raster_(make_raster(board.design, wish.faults.cell)),
      places_(find_places(board.design, raster_)),
      faulty_(raster_),
      scratch_(raster_),
      bench_(raster_, plan_.placements, plan_.wires),
      circuits_(bench_, plan_, as_drawn(faulty_)) {
  wish_.faults = with_window(wish.faults, board);
}

void Auditor::good_run() {
  good_ = run_ideal(board_, plan_, bench_, as_drawn(faulty_)).diagnosis;
  out_.good = good_.verdict;
  for (const diagnose::Finding& f : good_.findings) {
    std::string text(name(f.kind));
    for (const std::string& n : f.nets) text += " " + n;
    out_.good_troubles.push_back(text);
  }
  for (const diagnose::Untested& u : good_.untested) {
    untested_nets_.insert(u.net);
    out_.good_troubles.push_back(u.net + ": " + u.why + " " + u.detail);
  }
}

bool Auditor::passes() {
  const std::vector<Label> signature = bench_.signature(faulty_);
  const auto known = passed_.find(signature);
  if (known != passed_.end()) return known->second;
  const auto run = run_ideal(board_, plan_, bench_, faulty_);
  return passed_[signature] = run.diagnosis.verdict == diagnose::Verdict::pass;
}

// Places cut off from every probe, or bridged and touched by none: a probe there would have told.
std::vector<std::string> Auditor::would_tell(const Harm& harm) const {
  std::vector<Label> probed = bench_.labels(faulty_);
  std::ranges::sort(probed);
  std::vector<std::string> names;
  std::vector<Label> labels;
  for (const Label conductor : harm.conductors) {
    for (const std::uint32_t i : places_.of_conductor[conductor]) {
      const Place& place = places_.all[i];
      labels.clear();
      for (const Span& s : place.spans) faulty_.labels_of(s, labels);
      const bool outer = place.layer == 0 || place.layer + 1 == raster_.layers();
      if (!outer || labels.empty() || std::ranges::binary_search(probed, labels.front())) continue;
      names.push_back(place.name + " on " + (place.layer == 0 ? "top" : "bottom"));
    }
  }
  return names;
}

Escape Auditor::described(const Fault& fault, const Harm& harm) const {
  Escape e;
  e.kind = fault.kind, e.at = fault.at, e.side = fault.side;
  e.parts = harm.parted, e.bridges = harm.bridged;
  for (const Label l : harm.conductors) {
    e.nets.push_back(places_.nets_in_words(l));
    for (const std::string& n : places_.nets[l])
      e.on_untested = e.on_untested || untested_nets_.contains(n);
  }
  e.would_tell = would_tell(harm);
  return e;
}

void Auditor::judge(const Fault& fault) {
  Counts& counts = out_.counts[fault.kind];
  ++counts.made;
  faulty_.apply(fault);
  const Harm harm = harm_of(faulty_, places_);
  if (!harm.any()) return;
  ++counts.harmful;
  const auto entries = entries_at(board_, raster_, places_, fault, harm);
  const bool unlisted = entries.empty(), differs = !circuits_.changed(faulty_, 1).empty();
  const bool caught = differs && !(wish_.verdicts && passes());
  const bool is_named = wish_.ask_the_list && named(good_, entries);
  counts.unlisted += unlisted ? 1u : 0u;
  counts.caught += caught ? 1u : 0u;
  counts.named += !caught && is_named ? 1u : 0u;
  if (!caught && is_named && fault.kind != FaultKind::masked) silent_.push_back({fault, entries});
  if (!unlisted && (caught || is_named)) return;
  Escape told = described(fault, harm);
  told.unlisted = unlisted;
  if (unlisted) out_.unlisted.push_back(told);
  if (caught || is_named) return;
  told.reads_differently = differs;
  ++counts.escaped;
  counts.on_untested += told.on_untested ? 1u : 0u;
  out_.escapes.push_back(std::move(told));
}

void Auditor::judge_slit(const Fault& slit, const std::vector<Fault>& splashes) {
  judge(slit);
  if (!wish_.masked || !harm_of(faulty_, places_).parted) return;
  for (const Fault& fault : mask(slit, raster_, splashes, scratch_)) judge(fault);
}

Audit Auditor::run() {
  out_ = {};
  silent_.clear();
  good_run();
  for (const Bitmap& layer : raster_.copper)
    out_.cells += static_cast<std::size_t>(std::ranges::count(layer, 1));
  out_.runs = raster_.runs.size();
  out_.places = places_.all.size();
  out_.steps = plan_.steps.size();
  const std::vector<Fault> splashes = make_splashes(raster_, wish_.faults);
  for (const Fault& fault : make_emptied(raster_)) judge(fault);
  for (const Fault& fault : splashes) judge(fault);
  for (const Fault& fault : make_slits(raster_, wish_.faults)) judge_slit(fault, splashes);
  out_.advice = check_advice(board_, good_, raster_, places_, silent_);
  return out_;
}

std::vector<Fault> Auditor::single_faults() const {
  std::vector<Fault> all = make_emptied(raster_);
  for (auto&& more : {make_splashes(raster_, wish_.faults), make_slits(raster_, wish_.faults)})
    all.insert(all.end(), more.begin(), more.end());
  return all;
}

std::map<std::size_t, Fault> Auditor::told_by_one() {
  std::map<std::size_t, Fault> told;
  for (const Fault& fault : single_faults()) {
    faulty_.apply(fault);
    if (!harm_of(faulty_, places_).any()) continue;
    const auto steps = circuits_.changed(faulty_, 2);
    if (steps.size() == 1) told.insert({steps.front(), fault});
  }
  return told;
}

diagnose::Verdict Auditor::without(std::size_t step, const Fault& fault) {
  plan::Plan plan = plan_;
  plan.steps.erase(plan.steps.begin() + static_cast<std::ptrdiff_t>(step));
  for (std::size_t i = 0; i < plan.steps.size(); ++i) plan.steps[i].id = static_cast<StepId>(i + 1);
  faulty_.apply(fault);
  return run_ideal(board_, plan, bench_, faulty_).diagnosis.verdict;
}

StepAudit Auditor::without_each_step() {
  StepAudit out;
  const auto told = told_by_one();
  for (std::size_t i = 0; i < plan_.steps.size(); ++i) {
    const plan::StepKind kind = plan_.steps[i].kind;
    if (kind != plan::StepKind::continuity && kind != plan::StepKind::isolation) continue;
    const auto fault = told.find(i);
    if (without(i, {}) != diagnose::Verdict::pass)
      ++out.refused;
    else if (fault != told.end() && without(i, fault->second) == diagnose::Verdict::pass)
      out.blind.push_back(i);
    else
      out.spare.push_back(i);
  }
  return out;
}

}  // namespace isthmus::audit
