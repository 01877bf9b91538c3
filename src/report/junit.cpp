// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "report/drawing.hpp"
#include "report/nets.hpp"
#include "report/page_parts.hpp"

namespace isthmus::report {
namespace {

// What is held against a net: a failure is worse than what was left open.
struct Held {
  std::vector<std::string> failures, open;
};

using ByNet = std::map<std::string, Held>;

void add_findings(ByNet& nets, const diagnose::Diagnosis& d) {
  int number = 0;
  for (const diagnose::Finding& f : d.findings) {
    ++number;
    std::string words = fmt::format("finding {}: {}, measured {}, limit {}", number, name(f.kind),
                                    ohms_in_words(f.measured), ohms_in_words(f.limit));
    if (!f.suspects.empty()) {
      const diagnose::Suspect& s = f.suspects[0];
      words += fmt::format("; look at {:.3f}, {:.3f} mm, {}: {}", to_mm(s.at.x), to_mm(s.at.y),
                           s.side, s.why);
    }
    for (const std::string& net : f.nets) nets[net].failures.push_back(words);
  }
}

void add_open(ByNet& nets, const RunView& run) {
  const diagnose::Diagnosis& d = run.result.diagnosis;
  for (const diagnose::Untested& u : d.untested) {
    std::string points;
    for (const std::string& p : u.points) points += " " + p;
    nets[u.net].open.push_back("not tested:" + points + " (" + u.why + ")");
  }
  for (const diagnose::CannotTell& c : d.cannot_tell) {
    for (const std::string& net : c.nets) {
      nets[net].open.push_back(fmt::format("cannot be told: a possible {} at {:.3f}, {:.3f} mm, {}",
                                           expect::is_break(c.kind) ? "break" : "bridge",
                                           to_mm(c.at.x), to_mm(c.at.y), c.side));
    }
  }
  for (const expect::Waiver& w : d.waived) {
    const std::string words = "waived: " + w.point + ", " + w.why;
    if (w.kind == formats::WaiveKind::pair) {
      for (const std::string& net : w.nets) nets[net].open.push_back(words);
    } else {
      nets[w.net].open.push_back(words);
    }
  }
  if (!broken_off(run)) return;
  for (auto& [net, held] : nets) held.open.push_back("the run broke off");
}

std::string lines(const std::vector<std::string>& list) {
  std::string text;
  for (const std::string& line : list) text += (text.empty() ? "" : "\n") + escape(line);
  return text;
}

struct Counts {
  std::size_t cases{}, failures{}, errors{}, skipped{};
};

std::string a_case(const RunView& run, const std::string& called, const std::string& inside) {
  return fmt::format("  <testcase classname=\"{}.{}\" name=\"{}\">{}</testcase>\n",
                     escape(run.head.board), escape(run.head.stage), escape(called), inside);
}

std::string verdict_case(const RunView& run, Counts& counts) {
  ++counts.cases;
  const diagnose::Verdict v = run.result.diagnosis.verdict;
  const std::string words = escape(counts_in_words(run, window_of(run)));
  if (v == diagnose::Verdict::pass && !broken_off(run)) return a_case(run, "verdict", "");
  if (v == diagnose::Verdict::fail) {
    ++counts.failures;
    return a_case(run, "verdict", "<failure message=\"fail\">" + words + "</failure>");
  }
  ++counts.errors;
  const std::string why = run.result.problem.empty() ? "" : escape(run.result.problem) + "\n";
  return a_case(run, "verdict", "<error message=\"incomplete\">" + why + words + "</error>");
}

std::string net_case(const RunView& run, const std::string& net, const Held& held, Counts& counts) {
  ++counts.cases;
  if (!held.failures.empty()) {
    ++counts.failures;
    return a_case(run, net,
                  "<failure message=\"" + escape(held.failures[0]) + "\">" + lines(held.failures) +
                      "</failure>");
  }
  if (held.open.empty()) return a_case(run, net, "");
  ++counts.skipped;
  return a_case(run, net, "<skipped message=\"" + escape(held.open[0]) + "\"/>");
}

}  // namespace

std::string run_junit(const RunView& run, const expect::Board& board) {
  ByNet nets;
  for (const expect::Group& g : board.expectation.groups) nets[g.net];
  add_findings(nets, run.result.diagnosis);
  add_open(nets, run);
  Counts counts;
  std::string cases = verdict_case(run, counts);
  for (const auto& [net, held] : nets) cases += net_case(run, net, held, counts);
  return fmt::format(
             "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuite name=\"{}{}\" tests=\"{}\" "
             "failures=\"{}\" errors=\"{}\" skipped=\"{}\" time=\"{:.3f}\" timestamp=\"{}\">\n",
             escape(run.head.board), run.head.unit.empty() ? "" : " " + escape(run.head.unit),
             counts.cases, counts.failures, counts.errors, counts.skipped, run.result.seconds,
             escape(run.head.started_utc)) +
         cases + "</testsuite>\n";
}

}  // namespace isthmus::report
