// SPDX-License-Identifier: Apache-2.0
#include "tests/random_boards/play.hpp"

#include <fmt/format.h>

#include <cmath>

#include "isthmus/formats/board_file.hpp"
#include "tests/support/foretold.hpp"

namespace isthmus::random_boards {
namespace {

constexpr int kMostRounds = 50;

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

namespace {

// As the plan would be for a board whose description states another foil; resistance goes with the
// inverse of the thickness.
void state(double um, expect::Board& board, plan::Plan& plan) {
  board.design.board.copper.thickness = {std::llround(um * 1000)};
  for (plan::Step& step : plan.steps) {
    if (!step.predicted) continue;
    for (double* x : {&step.predicted->ohms.value, &step.predicted->uncertainty.value,
                      &step.predicted->mesh.value, &step.predicted->per_loss})
      *x *= 35 / um;
  }
}

}  // namespace

BenchSetup Program::bench(BenchKind kind, std::uint64_t salt) const {
  if (!refused_.empty()) return {};
  return draw_bench(kind, random_.seed * 31 + salt, plan_);
}

Played Program::play(const std::vector<Fault>& faults, const BenchSetup& setup) const {
  if (!refused_.empty()) return {Played::End::refused, {refused_}};
  expect::Board board = *board_;
  plan::Plan plan = plan_;
  if (setup.stated_um != 35) state(setup.stated_um, board, plan);
  board.design.board.limits.excess = {setup.excess};
  for (plan::Placement& p : plan.placements) p.tried_in_air = setup.tried_in_air;
  diagnose::Knowledge knowledge(board, plan);
  // The trial with all tips in the air finds what it finds.
  if (setup.kind != BenchKind::ideal && setup.tried_in_air)
    knowledge.take(diagnose::Harness{setup.wires});
  Bench bench(random_, faults, knowledge.plan(), setup);
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
