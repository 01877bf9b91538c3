// SPDX-License-Identifier: Apache-2.0
#include "tests/random_boards/trial.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <exception>
#include <set>

namespace isthmus::random_boards {
namespace {

std::string judged(Truth truth, const Played& played, const BenchSetup& bench) {
  using End = Played::End;
  const std::string known = bench.known ? "known: " : "";
  if (played.end == End::refused) return "refused: " + played.why[0];
  if (truth == Truth::bad && played.end == End::pass) return known + "false pass";
  if (truth != Truth::good) return "";
  if (played.end == End::fail) return known + "false alarm: " + played.why[0];
  if (played.end == End::pass || bench.kind != BenchKind::ideal) return "";
  std::string reasons;
  for (const std::string& w : played.why) reasons += (reasons.empty() ? "" : " | ") + w;
  return "good but incomplete: " + reasons;
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

bool Trial::all_right() const {
  return wrong.empty() &&
         std::ranges::all_of(seconds, [](const Second& s) { return s.wrong.empty(); });
}

std::optional<Benches> benches_named(std::string_view name) {
  if (name == "ideal") return Benches::ideal;
  if (name == "poor") return Benches::poor;
  if (name == "faulty") return Benches::faulty;
  if (name == "mixed") return Benches::mixed;
  return std::nullopt;
}

BenchKind bench_of(Benches benches, std::uint64_t seed) {
  if (benches == Benches::mixed)
    return seed % 3 == 0 ? BenchKind::ideal : seed % 3 == 1 ? BenchKind::poor : BenchKind::faulty;
  return benches == Benches::ideal  ? BenchKind::ideal
         : benches == Benches::poor ? BenchKind::poor
                                    : BenchKind::faulty;
}

Trial try_seed(std::uint64_t seed, const std::filesystem::path& folder, std::uint64_t sets,
               Benches benches) {
  Trial t;
  t.kind = bench_of(benches, seed);
  t.seed = seed;
  const RandomBoard board = make_board(seed);
  t.about = about(board);
  try {
    const Program program(board, folder);
    const BenchSetup bench = program.bench(t.kind, 0);
    t.bench = bench.words, t.sort = bench.sort;
    t.good = program.play({}, bench);
    t.wrong = judged(Truth::good, t.good, bench);
    for (std::uint64_t set = 0; set < sets && t.good.end != Played::End::refused; ++set) {
      const std::vector<Fault> faults = faults_of(board, set);
      Second& s = t.seconds.emplace_back();
      for (const Fault& f : faults) s.faults.push_back(in_words(board, f));
      const Verdict verdict = truth_of(board, faults);
      s.truth = verdict.truth;
      s.why = verdict.why;
      const BenchSetup setup = program.bench(t.kind, set + 1);
      s.bench = setup.words, s.sort = setup.sort;
      s.played = program.play(faults, setup);
      s.wrong = judged(s.truth, s.played, setup);
    }
  } catch (const std::exception& e) {
    (t.seconds.empty() ? t.wrong : t.seconds.back().wrong) = std::string("crash: ") + e.what();
  }
  return t;
}

std::string in_words(const Trial& t) {
  const char* truths[] = {"good", "unclear", "bad"};
  const std::string head = fmt::format("{} [{}] ", t.seed, t.about);
  std::string out;
  const auto on = [](const std::string& bench) { return bench.empty() ? "" : "; on " + bench; };
  if (!t.wrong.empty()) out += head + "as drawn" + on(t.bench) + ": " + t.wrong + "\n";
  for (std::size_t set = 0; set < t.seconds.size(); ++set) {
    const Second& s = t.seconds[set];
    if (s.wrong.empty()) continue;
    out += fmt::format("{}set {} {}", head, set, truths[static_cast<int>(s.truth)]);
    for (const std::string& f : s.faults) out += "; " + f;
    if (!s.why.empty()) out += " (" + s.why + ")";
    out += on(s.bench) + ": " + s.wrong + "\n";
  }
  return out;
}

std::string why_incomplete(const Trial& t) {
  std::string out;
  const auto say = [&](const std::string& bench, const Played& played) {
    if (played.end != Played::End::incomplete) return;
    out += fmt::format("{} [{}] on {}:", t.seed, t.about, bench);
    for (std::size_t i = 0; i < played.why.size() && i < 3; ++i) out += " | " + played.why[i];
    out += "\n";
  };
  say(t.bench, t.good);
  for (const Second& s : t.seconds) {
    if (s.truth == Truth::good) say(s.bench, s.played);
  }
  return out;
}

void Tally::count(Truth truth, const std::string& wrong) {
  ++(truth == Truth::bad ? bad : truth == Truth::unclear ? unclear : good);
  false_passes += wrong.starts_with("false pass") ? 1U : 0U;
  false_alarms += wrong.starts_with("false alarm") ? 1U : 0U;
  incomplete += wrong.starts_with("good but") ? 1U : 0U;
  refused += wrong.starts_with("refused") ? 1U : 0U;
  crashed += wrong.starts_with("crash") ? 1U : 0U;
  known += wrong.starts_with("known") ? 1U : 0U;
}

void Tally::add(const Trial& t) {
  const std::string stage = " at " + t.about.substr(0, t.about.find(','));
  ++boards;
  count(Truth::good, t.wrong);
  const auto note = [&](Truth truth, const Played& played, const std::string& sort) {
    if (truth != Truth::good || t.kind == BenchKind::ideal) return;
    Of& of = t.kind == BenchKind::poor ? poor : faulty;
    for (Of* o : {&of, &by_sort[sort]}) {
      ++o->good;
      o->passed += played.end == Played::End::pass ? 1U : 0U;
    }
  };
  note(Truth::good, t.good, t.sort);
  for (const Second& s : t.seconds) {
    count(s.truth, s.wrong);
    note(s.truth, s.played, s.sort);
    const bool good_passes = t.good.end == Played::End::pass;
    bad_of_passing += s.truth == Truth::bad && good_passes ? 1U : 0U;
    if (s.wrong == "false pass") ++reasons["false pass" + stage];
  }
  if (t.good.end != Played::End::incomplete || t.kind != BenchKind::ideal) return;
  std::set<std::string> kinds;
  for (const std::string& w : t.good.why) kinds.insert(w.substr(0, w.find(':')));
  for (const std::string& kind : kinds) ++reasons["as drawn incomplete, " + kind + stage];
}

std::string in_words(const Tally& t) {
  std::string out = fmt::format("{} boards: played {} times good, {} times bad, {} times neither\n",
                                t.boards, t.good, t.bad, t.unclear);
  out +=
      "false passes " + rate(t.false_passes, t.bad) +
      fmt::format(", {} of these bad ones are of boards that pass as drawn\n", t.bad_of_passing) +
      "false alarms " + rate(t.false_alarms, t.good) + "\ngood but incomplete " +
      rate(t.incomplete, t.good);
  if (t.poor.good > 0)
    out += fmt::format("\non poor benches {} of {} good ones passed", t.poor.passed, t.poor.good);
  if (t.faulty.good > 0)
    out += fmt::format("\non faulty benches {} of {} good ones passed", t.faulty.passed,
                       t.faulty.good);
  for (const auto& [sort, of] : t.by_sort)
    out += fmt::format("\n  {}: {} of {}", sort, of.passed, of.good);
  if (t.known > 0) out += fmt::format("\nknown, and not told yet: {}", t.known);
  for (const auto& [kind, n] : t.reasons) out += fmt::format("\n  {}: {}", kind, n);
  return out + fmt::format("\nrefused {}, crashed {}\n", t.refused, t.crashed);
}

}  // namespace isthmus::random_boards
