// SPDX-License-Identifier: Apache-2.0
#include "tests/hand/play.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>

#include "hostsim/random.hpp"
#include "tests/pipeline/programs.hpp"
#include "tests/support/paths.hpp"

namespace isthmus::hand_runs {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

// Chances are guesses at a person on an evening: common practice, no source.
constexpr const char* kCareful = "aim-mm: 0.03, bounce: 0.1, bounce-ms: 30, pf: 60, hum-uv: 100";
constexpr const char* kHasty =
    "aim-mm: 0.05, wrong-pad: 0.03, miss: 0.04, slip: 0.03, early-lift: 0.04, straddle: 0.03, "
    "bounce: 0.3, bounce-ms: 80, tarnish: 0.05, skin: 0.05, pf: 100, hum-uv: 300";
constexpr const char* kUnlucky =
    "aim-mm: 0.03, bounce: 0.1, tarnish: 0.1, skin: 0.1, clip-falls-per-min: 0.05, "
    "clip-exchanged: 0.5, clip-intermittent: 0.05, pf: 60, hum-uv: 100";

std::string scenario(const fs::path& board_yaml, const Bench& bench, std::uint64_t seed,
                     const std::vector<hostsim::Defect>& defects, const fs::path& log) {
  return fmt::format(
      "isthmus: 1\nboard: {}\nchannels: {}\nseed: {}\nadapter: {{{}}}\nhand: {{{}, log: {}}}\n{}",
      board_yaml.string(), bench.channels, seed, bench.adapter, bench.hand, log.string(),
      in_yaml(defects));
}

bool is_lone(const std::string& net) { return net.starts_with("N/C"); }

// Nets without a name are named by the program after their point, by the truth with a number.
bool names(const std::set<std::string>& truth, const std::string& net) {
  return truth.contains(net) ||
         (is_lone(net) && std::ranges::any_of(truth, [](const auto& t) { return is_lone(t); }));
}

bool is_true(const Truth& truth, const std::string& kind, const std::vector<std::string>& nets) {
  if (kind == "open")
    return std::ranges::any_of(nets, [&](const auto& n) { return names(truth.open, n); });
  if (kind != "bridge") return false;  // none was drawn
  return std::ranges::any_of(truth.bridged, [&](const std::set<std::string>& piece) {
    return std::ranges::count_if(nets, [&](const auto& n) { return names(piece, n); }) >= 2;
  });
}

std::string judged(const Truth& truth, const Played& played, const Json& report) {
  if (played.code != 0 && played.code != 1 && played.code != 4)
    return fmt::format("crash: exit {}: {}", played.code, played.said);
  if (truth.kind == Truth::Kind::bad && played.verdict == "pass") return "escape";
  if (truth.kind == Truth::Kind::unclear) return "";
  for (const Json& f : report["findings"]) {
    const auto kind = f["kind"].get<std::string>();
    const auto nets = f["nets"].get<std::vector<std::string>>();
    if (!is_true(truth, kind, nets))
      return fmt::format("invented: {} {}", kind, fmt::join(nets, ", "));
  }
  return "";
}

void read_log(const fs::path& log, Played& played) {
  std::ifstream in(log);
  for (std::string line; std::getline(in, line);) {
    const Json j = Json::parse(line);
    played.minutes = j["s"].get<double>() / 60;
    if (j.contains("landing")) played.landings = j["landing"].get<std::size_t>();
  }
}

std::string tail(const std::string& text) {
  return text.substr(text.size() - std::min<std::size_t>(text.size(), 400));
}

// Touches and the bound for these clips, as the program says them beforehand.
void read_plan(const fs::path& board_yaml, const Bench& bench, Played& played) {
  std::vector<std::string> words{"guide", board_yaml, "--plan", "--json"};
  words.insert(words.end(), bench.options.begin(), bench.options.end());
  const test::Ran ran = test::isthmus(words);
  const Json j = Json::parse(ran.out, nullptr, false);
  if (!j.is_object()) return;
  played.planned = j.value("touches", std::size_t{0});
  played.bound = j.value("bound", std::size_t{0});
}

std::string truth_in_words(const Truth& truth) {
  std::string text = truth.kind == Truth::Kind::good      ? "good"
                     : truth.kind == Truth::Kind::unclear ? "unclear"
                                                          : "bad";
  if (!truth.open.empty()) text += fmt::format(", open {}", fmt::join(truth.open, " "));
  for (const auto& nets : truth.bridged) text += fmt::format(", bridged {}", fmt::join(nets, " "));
  return text;
}

}  // namespace

Bench draw_bench(std::uint64_t seed) {
  hostsim::Random random(seed, "bench");
  Bench b;
  const std::uint64_t who = seed % 3;
  b.who = who == 0 ? "careful" : who == 1 ? "hasty" : "unlucky";
  b.hand = who == 0 ? kCareful : who == 1 ? kHasty : kUnlucky;
  b.channels = random.chance(0.5) ? 16 : 8;
  const bool contact = random.chance(0.6), forked = random.chance(0.4), two = random.chance(0.4);
  b.adapter = fmt::format("contact-check: {}", contact);
  b.options = {"--channels", std::to_string(b.channels), "--needles", two ? "2" : "1"};
  if (contact) b.options.emplace_back("--contact-check");
  if (forked) b.options.emplace_back("--forked");
  return b;
}

std::map<std::string, fs::path> boards(const fs::path& folder, const std::string& only) {
  std::map<std::string, fs::path> found;
  found["demo"] = test::source_dir() / "fixtures" / "tide-gauge" / "board.yaml";
  const auto real = test::boards_dir();
  if (!real) return found;
  for (const char* name : {"encoder", "fx-switcher", "melody", "prom-burner", "rom-programmer"}) {
    if (!only.empty() && only != name) continue;
    const fs::path out = folder / (std::string(name) + ".yaml");
    const test::Ran ran = test::isthmus(
        {"import", *real / name, "--out", out, "--name", name, "--stage", "joined", "--force"});
    if (ran.code != 0) continue;
    test::write(out, test::with(test::read(out), "joins: none", "joins: plated"));
    found[name] = out;
  }
  return found;
}

Trial try_seed(const std::string& name, const fs::path& board_yaml, const EtchedBoard& board,
               std::uint64_t seed, const fs::path& folder) {
  const auto defects = board.draw(seed);
  return play(board_yaml, draw_bench(seed), defects, folder,
              {name, seed, {}, board.truth_of(defects), {}, {}});
}

Trial play(const fs::path& board_yaml, const Bench& bench,
           const std::vector<hostsim::Defect>& defects, const fs::path& folder, Trial t) {
  t.bench = bench;
  fs::remove_all(folder);
  fs::create_directories(folder);
  const fs::path log = folder / "hand.log", sim = folder / "sim.yaml";
  test::write(sim, scenario(board_yaml, t.bench, t.seed, defects, log));
  std::vector<std::string> words{"guide",     board_yaml, "--adapter", "sim:" + sim.string(),
                                 "--no-page", "--json",   "--record",  folder / "r.db"};
  words.insert(words.end(), t.bench.options.begin(), t.bench.options.end());
  test::write(folder / "command", fmt::format("{}\n", fmt::join(words, " ")));
  const test::Ran ran = test::run(test::isthmus_program(), words, std::chrono::minutes(5));
  test::write(folder / "said", ran.err);
  test::write(folder / "report.json", ran.out);
  t.played.code = ran.code;
  t.played.said = tail(ran.err);
  t.played.real_seconds = ran.seconds;
  read_log(log, t.played);
  read_plan(board_yaml, t.bench, t.played);
  const Json report = Json::parse(ran.out, nullptr, false);
  if (!report.is_object()) {
    t.wrong = fmt::format("crash: exit {}, no report: {}", ran.code, t.played.said);
    return t;
  }
  t.played.verdict = report.value("verdict", "");
  for (const Json& f : report["findings"]) {
    t.played.findings.push_back(
        fmt::format("{} {}", f["kind"].get<std::string>(),
                    fmt::join(f["nets"].get<std::vector<std::string>>(), " ")));
  }
  t.wrong = judged(t.truth, t.played, report);
  return t;
}

std::string in_words(const Trial& t) {
  return fmt::format(
      "{} {} [{}, {}] truth {} | {}{}{} | {} landings ({} planned, bound {}), {:.1f} min, {:.0f} "
      "s{}\n",
      t.board, t.seed, t.bench.who, fmt::join(t.bench.options, " "), truth_in_words(t.truth),
      t.played.verdict, t.played.findings.empty() ? "" : ": ", fmt::join(t.played.findings, "; "),
      t.played.landings, t.played.planned, t.played.bound, t.played.minutes, t.played.real_seconds,
      t.wrong.empty() ? "" : " | WRONG " + t.wrong);
}

void Tally::add(const Trial& t) {
  const auto count = [](std::size_t& of, bool yes) {
    if (yes) ++of;
  };
  const bool sound = t.truth.kind == Truth::Kind::good, broken = t.truth.kind == Truth::Kind::bad;
  ++runs;
  count(good, sound);
  count(bad, broken);
  count(unclear, !sound && !broken);
  count(escapes, t.wrong == "escape");
  count(invented, t.wrong.starts_with("invented"));
  count(crashes, t.wrong.starts_with("crash"));
  count(good_passed, sound && t.played.verdict == "pass");
  count(bad_failed, broken && t.played.verdict == "fail");
  landings += t.played.landings;
  planned += t.played.planned;
  bound += t.played.bound;
  minutes += t.played.minutes;
}

std::string in_words(const std::map<std::string, Tally>& by_board) {
  std::string text = fmt::format("{:<16} {:>5} {:>11} {:>11} {:>7} {:>8} {:>8} {:>9} {:>8} {:>7}\n",
                                 "board", "runs", "good passed", "bad failed", "escapes",
                                 "invented", "crashes", "landings", "planned", "minutes");
  for (const auto& [name, t] : by_board) {
    const double runs = static_cast<double>(std::max<std::size_t>(t.runs, 1));
    text += fmt::format("{:<16} {:>5} {:>11} {:>11} {:>7} {:>8} {:>8} {:>9.1f} {:>8.1f} {:>7.1f}\n",
                        name, t.runs, fmt::format("{} of {}", t.good_passed, t.good),
                        fmt::format("{} of {}", t.bad_failed, t.bad), t.escapes, t.invented,
                        t.crashes, static_cast<double>(t.landings) / runs,
                        static_cast<double>(t.planned) / runs, t.minutes / runs);
  }
  return text;
}

}  // namespace isthmus::hand_runs
