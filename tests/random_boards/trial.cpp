// SPDX-License-Identifier: Apache-2.0
#include "tests/random_boards/trial.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <exception>
#include <set>

namespace isthmus::random_boards {
namespace {

std::string judged(Truth truth, const Played& played) {
  using End = Played::End;
  if (played.end == End::refused) return "refused: " + played.why[0];
  if (truth == Truth::bad && played.end == End::pass) return "false pass";
  if (truth != Truth::good) return "";
  if (played.end == End::fail) return "false alarm: " + played.why[0];
  if (played.end == End::pass) return "";
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

Trial try_seed(std::uint64_t seed, const std::filesystem::path& folder, std::uint64_t sets) {
  Trial t;
  t.seed = seed;
  const RandomBoard board = make_board(seed);
  t.about = about(board);
  try {
    const Program program(board, folder);
    t.good = program.play({});
    t.wrong = judged(Truth::good, t.good);
    for (std::uint64_t set = 0; set < sets && t.good.end != Played::End::refused; ++set) {
      const std::vector<Fault> faults = faults_of(board, set);
      Second& s = t.seconds.emplace_back();
      for (const Fault& f : faults) s.faults.push_back(in_words(board, f));
      const Verdict verdict = truth_of(board, faults);
      s.truth = verdict.truth;
      s.why = verdict.why;
      s.played = program.play(faults);
      s.wrong = judged(s.truth, s.played);
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
  if (!t.wrong.empty()) out += head + "as drawn: " + t.wrong + "\n";
  for (std::size_t set = 0; set < t.seconds.size(); ++set) {
    const Second& s = t.seconds[set];
    if (s.wrong.empty()) continue;
    out += fmt::format("{}set {} {}", head, set, truths[static_cast<int>(s.truth)]);
    for (const std::string& f : s.faults) out += "; " + f;
    if (!s.why.empty()) out += " (" + s.why + ")";
    out += ": " + s.wrong + "\n";
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
}

void Tally::add(const Trial& t) {
  const std::string stage = " at " + t.about.substr(0, t.about.find(','));
  ++boards;
  count(Truth::good, t.wrong);
  for (const Second& s : t.seconds) {
    count(s.truth, s.wrong);
    const bool good_passes = t.good.end == Played::End::pass;
    bad_of_passing += s.truth == Truth::bad && good_passes ? 1U : 0U;
    if (s.wrong == "false pass") ++reasons["false pass" + stage];
  }
  if (t.good.end != Played::End::incomplete) return;
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
  for (const auto& [kind, n] : t.reasons) out += fmt::format("\n  {}: {}", kind, n);
  return out + fmt::format("\nrefused {}, crashed {}\n", t.refused, t.crashed);
}

}  // namespace isthmus::random_boards
