// SPDX-License-Identifier: Apache-2.0
#include "tests/random_boards/trial.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <exception>
#include <set>

namespace isthmus::random_boards {
namespace {

void judge(Trial& t, Truth truth, const Played& played) {
  using End = Played::End;
  if (played.end == End::refused) {
    t.wrong.push_back("refused: " + played.why[0]);
  } else if (truth == Truth::bad && played.end == End::pass) {
    t.wrong.emplace_back("false pass");
  } else if (truth == Truth::good && played.end == End::fail) {
    t.wrong.push_back("false alarm: " + played.why[0]);
  } else if (truth == Truth::good && played.end == End::incomplete) {
    std::string reasons;
    for (const std::string& w : played.why) reasons += (reasons.empty() ? "" : " | ") + w;
    t.wrong.push_back("good but incomplete: " + reasons);
  }
}

std::string about(const RandomBoard& b) {
  return fmt::format("{}{}{}, {} nets, {} holes, {} channels{}", name(b.stage),
                     joins_count(b.stage) ? ", joins " + b.joins : "", b.x2 ? ", X2" : "",
                     b.nets.size(), b.holes.size(), b.channels,
                     b.contact_check ? "" : ", no contact check");
}

std::string rate(std::size_t found, std::size_t of) {
  if (of == 0) return "none tried";
  const double share = 100.0 * static_cast<double>(found) / static_cast<double>(of);
  if (found > 0) return fmt::format("{} of {} ({:.2f} %)", found, of, share);
  return fmt::format("0 of {} (below {:.3f} %, 95 %)", of, 300.0 / static_cast<double>(of));
}

}  // namespace

std::vector<Fault> faults_of(const RandomBoard& board) {
  Rng rng(board.seed ^ 0x5bd1e995U);
  const bool harmless = rng.chance(0.2);
  std::vector<Fault> faults = draw_faults(board, rng, 1 + rng.below(3));
  for (int tries = 0; harmless && tries < 50; ++tries) {
    if (truth_of(board, faults).truth == Truth::good) break;
    faults = draw_faults(board, rng, 1 + rng.below(3));
  }
  return faults;
}

Trial try_seed(std::uint64_t seed, const std::filesystem::path& folder) {
  Trial t;
  t.seed = seed;
  const RandomBoard board = make_board(seed);
  t.about = about(board);
  const std::vector<Fault> faults = faults_of(board);
  for (const Fault& f : faults) t.faults.push_back(in_words(board, f));
  const Verdict verdict = truth_of(board, faults);
  t.truth = verdict.truth;
  t.why = verdict.why;
  try {
    const Program program(board, folder);
    t.good = program.play({});
    judge(t, Truth::good, t.good);
    if (t.good.end == Played::End::refused) return t;
    t.faulty = program.play(faults);
    judge(t, t.truth, t.faulty);
  } catch (const std::exception& e) {
    t.wrong.push_back(std::string("crash: ") + e.what());
  }
  return t;
}

std::string in_words(const Trial& t) {
  const char* truths[] = {"good", "unclear", "bad"};
  std::string out = fmt::format("{} [{}] {}", t.seed, t.about, truths[static_cast<int>(t.truth)]);
  for (const std::string& f : t.faults) out += "; " + f;
  if (!t.why.empty()) out += " (" + t.why + ")";
  out += t.wrong.empty() ? ": right" : ": WRONG";
  for (const std::string& w : t.wrong) out += " <" + w + ">";
  return out;
}

void Tally::add(const Trial& t) {
  ++boards;
  if (t.good.end != Played::End::refused) {
    ++(t.truth == Truth::bad ? bad : t.truth == Truth::unclear ? unclear : good);
    ++good;
  }
  for (const std::string& w : t.wrong) {
    false_passes += w.starts_with("false pass") ? 1U : 0U;
    false_alarms += w.starts_with("false alarm") ? 1U : 0U;
    incomplete += w.starts_with("good but") ? 1U : 0U;
    refused += w.starts_with("refused") ? 1U : 0U;
    crashed += w.starts_with("crash") ? 1U : 0U;
  }
  const std::string stage = " at " + t.about.substr(0, t.about.find(','));
  if (t.truth == Truth::bad && t.faulty.end == Played::End::pass && !t.faults.empty())
    ++reasons["false pass" + stage];
  if (t.good.end != Played::End::incomplete) return;
  std::set<std::string> kinds;
  for (const std::string& w : t.good.why) kinds.insert(w.substr(0, w.find(':')));
  for (const std::string& kind : kinds) ++reasons["as drawn incomplete, " + kind + stage];
}

std::string in_words(const Tally& t) {
  std::string out = fmt::format("{} boards, {} played as good, {} as bad, {} neither\n", t.boards,
                                t.good, t.bad, t.unclear);
  out += "false passes " + rate(t.false_passes, t.bad) + "\nfalse alarms " +
         rate(t.false_alarms, t.good) + "\ngood but incomplete " + rate(t.incomplete, t.good);
  for (const auto& [kind, n] : t.reasons) out += fmt::format("\n  {}: {}", kind, n);
  return out + fmt::format("\nrefused {}, crashed {}\n", t.refused, t.crashed);
}

}  // namespace isthmus::random_boards
