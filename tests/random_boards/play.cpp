// SPDX-License-Identifier: Apache-2.0
#include "tests/random_boards/play.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include "isthmus/formats/board_file.hpp"
#include "tests/random_boards/touch.hpp"
#include "tests/support/foretold.hpp"

namespace isthmus::random_boards {
namespace {

using plan::StepKind;
constexpr int kMostRounds = 50;

class Bench {
 public:
  Bench(const RandomBoard& board, const std::vector<Fault>& faults, const plan::Plan& plan)
      : b_(board), network_(board, faults), plan_(plan) {
    for (std::size_t p = 0; p < plan.placements.size(); ++p) lay(p);
  }
  [[nodiscard]] plan::Outcome answer(const plan::Step& step) const;

 private:
  void lay(std::size_t placement);
  [[nodiscard]] std::set<std::size_t> under(const plan::Step& step, int row) const;

  const RandomBoard& b_;
  Network network_;
  const plan::Plan& plan_;
  std::map<std::pair<std::size_t, formats::Channel>, std::size_t> piece_;
};

void Bench::lay(std::size_t placement) {
  for (const plan::Probe& p : plan_.placements[placement].probes) {
    const Pt at{static_cast<double>(p.at.x) / 1e6, static_cast<double>(p.at.y) / 1e6};
    const auto piece = touched(b_, network_, at, p.side == Side::bottom ? 1 : 0);
    if (!piece) continue;
    piece_[{placement, p.channel}] = *piece;
    if (p.twin) piece_[{placement, *p.twin}] = *piece;
  }
}

std::set<std::size_t> Bench::under(const plan::Step& step, int row) const {
  std::set<std::size_t> out;
  for (const formats::Channel c : row == 1 ? step.source : step.ret) {
    const auto it = piece_.find({step.placement, c});
    if (it != piece_.end()) out.insert(it->second);
  }
  return out;
}

plan::Outcome Bench::answer(const plan::Step& step) const {
  if (step.kind == StepKind::board_voltage) return plan::Measured{0.0, 1e-4};
  if (step.kind == StepKind::reference) return plan::Measured{step.limit.value, 0.1};
  const auto from = under(step, 1), to = under(step, 2);
  if (step.kind == StepKind::contact && (step.source.empty() || step.ret.empty()))
    return plan::Measured{from.empty() && to.empty() ? 0.0 : 1.0, 0};
  const bool conducts =
      std::ranges::any_of(from, [&](std::size_t piece) { return to.contains(piece); });
  if (!conducts) return plan::OverRange{};
  const double ohms = 0.1 + (step.predicted ? step.predicted->ohms.value : 0.02);
  return plan::Measured{ohms, ohms * 1e-3 + 1e-4};
}

std::string in_words(const Problem& p) { return p.code + " " + p.message; }

std::vector<std::string> words_of(const diagnose::Diagnosis& d) {
  std::vector<std::string> out;
  for (const diagnose::Finding& f : d.findings) {
    std::string nets;
    for (const std::string& n : f.nets) nets += " " + n;
    out.push_back(std::string(name(f.kind)) + nets);
  }
  for (const diagnose::Untested& u : d.untested) {
    std::string points;
    for (const std::string& p : u.points) points += " " + p;
    out.push_back(fmt::format("{}: {}{} ({})", u.why, u.net, points, u.detail));
  }
  return out;
}

}  // namespace

Program::Program(const RandomBoard& board, const std::filesystem::path& folder) : random_(board) {
  refused_ = load(folder);
}

// Empty where all went well.
std::string Program::load(const std::filesystem::path& folder) {
  write_board(random_, folder);
  Diagnostics notes;
  const auto file = formats::read_board_file(folder / "board.yaml");
  if (!file) return in_words(file.problem());
  auto board = expect::load_board(*file, notes);
  if (!board) return in_words(board.problem());
  board_ = std::move(*board);
  const auto fixture = plan::make_fixture(
      *board_, {.channels = random_.channels, .contact_check = random_.contact_check}, notes);
  if (!fixture) return in_words(fixture.problem());
  auto plan = test::foretold_plan(*board_, *fixture, {4, {10, 1e7}}, notes);
  if (!plan) return in_words(plan.problem());
  plan_ = std::move(*plan);
  for (plan::Placement& p : plan_.placements) p.tried_in_air = true;
  return "";
}

Played Program::play(const std::vector<Fault>& faults) const {
  if (!refused_.empty()) return {Played::End::refused, {refused_}};
  diagnose::Knowledge knowledge(*board_, plan_);
  const Bench bench(random_, faults, knowledge.plan());
  std::uint32_t sequence = 0;
  for (std::size_t p = 0; p < plan_.placements.size(); ++p) {
    int rounds = 0;
    for (auto steps = knowledge.next(p); !steps.empty(); steps = knowledge.next(p)) {
      if (steps.front().wanted && ++rounds > kMostRounds)
        return {Played::End::refused, {"the diagnosis never has enough"}};
      for (const plan::Step& s : steps) knowledge.take({s.id, sequence++, bench.answer(s), 0});
    }
  }
  const diagnose::Diagnosis d = knowledge.diagnosis(true);
  const auto end = d.verdict == diagnose::Verdict::pass   ? Played::End::pass
                   : d.verdict == diagnose::Verdict::fail ? Played::End::fail
                                                          : Played::End::incomplete;
  return {end, words_of(d), plan_.placements.size(), sequence};
}

}  // namespace isthmus::random_boards
