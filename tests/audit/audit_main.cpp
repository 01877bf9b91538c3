// SPDX-License-Identifier: Apache-2.0
// audit BOARD.yaml [--fixture F] [--channels N] [--stage S] ...: what would escape a run of this
// board with this fixture. Exit 0: nothing; 1: something; 2: the board or fixture cannot be used.
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <optional>

#include "tests/audit/audit.hpp"

namespace isthmus::audit {
namespace {

constexpr const char* kUsage =
    "audit BOARD.yaml [--fixture FIXTURE.yaml] [--channels N] [--contact-check] [--stage STAGE]\n"
    "      [--set KEY VALUE] [--verdicts] [--steps] [--all] [--step MM] [--cell MM] [--no-masked] "
    "[--unlisted]\n"
    "  --fixture   as given; else one is made for N channels (64)\n"
    "  --verdicts  asks the diagnosis for every different set of readings (slow)\n"
    "  --steps     also leaves out each continuity and isolation step in turn\n"
    "  --step      between two slits along a middle line (0.25 mm)\n"
    "  --cell      of the painted copper (0.05 mm, finer on small boards)\n"
    "  --set       replaces a value of the board description: --set joins all\n"
    "  --drop      takes about one probe in eight out of the fixture, by this seed\n"
    "  --unlisted  also prints what is harmful and not on the program's list\n"
    "  --all       prints every escape\n";

struct Options {
  std::string board, fixture, stage;
  int channels{64}, drop{-1};
  std::vector<formats::YamlOverride> set;
  bool contact_check{false}, steps{false}, all{false}, unlisted{false};
  AuditWish wish;
};

std::optional<Options> parse(int argc, char** argv) {
  Options o;
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    const bool more = i + 1 < argc;
    if (word == "--fixture" && more)
      o.fixture = argv[++i];
    else if (word == "--channels" && more)
      o.channels = std::atoi(argv[++i]);
    else if (word == "--stage" && more)
      o.stage = argv[++i];
    else if (word == "--step" && more)
      o.wish.faults.step = from_mm(std::atof(argv[++i]));
    else if (word == "--cell" && more)
      o.wish.faults.cell = from_mm(std::atof(argv[++i]));
    else if (word == "--set" && i + 2 < argc) {
      o.set.push_back({argv[i + 1], argv[i + 2]});
      i += 2;
    } else if (word == "--contact-check")
      o.contact_check = true;
    else if (word == "--verdicts")
      o.wish.verdicts = true;
    else if (word == "--no-masked")
      o.wish.masked = false;
    else if (word == "--steps")
      o.steps = true;
    else if (word == "--drop" && more)
      o.drop = std::atoi(argv[++i]);
    else if (word == "--unlisted")
      o.unlisted = true;
    else if (word == "--all")
      o.all = true;
    else if (o.board.empty() && word.substr(0, 2) != "--")
      o.board = word;
    else
      return std::nullopt;
  }
  if (o.board.empty() || o.wish.faults.step.value <= 0) return std::nullopt;
  return o;
}

int refuse(const Problem& p) {
  std::fputs(format(p).c_str(), stderr);
  std::fputs("\n", stderr);
  return 2;
}

int run(const Options& o) {
  std::vector<formats::YamlOverride> overrides = o.set;
  if (!o.stage.empty()) overrides.push_back({"stage", o.stage});
  auto file = formats::read_board_file(o.board, overrides);
  if (!file) return refuse(file.problem());
  Diagnostics notes;
  auto board = expect::load_board(*file, notes);
  if (!board) return refuse(board.problem());
  auto fixture = o.fixture.empty()
                     ? plan::make_fixture(**board, {o.channels, o.contact_check}, notes)
                     : formats::read_fixture_file(o.fixture);
  if (!fixture) return refuse(fixture.problem());
  if (o.drop >= 0) *fixture = with_probes_missing(*fixture, static_cast<unsigned>(o.drop), 8);
  auto found = audit(**board, *fixture, o.wish);
  if (!found) return refuse(found.problem());
  const std::size_t most = o.all ? found->escapes.size() + found->unlisted.size() : 25;
  std::fputs(in_words(*found, most).c_str(), stdout);
  if (o.unlisted)
    std::printf("harmful, and not on the list:\n%s", in_words(found->unlisted, most).c_str());
  if (o.steps) {
    auto steps = audit_without_each_step(**board, *fixture, o.wish);
    if (!steps) return refuse(steps.problem());
    std::printf("%zu steps left out in turn: %zu times no pass; %zu are spare; BLIND without:",
                steps->tried(), steps->refused, steps->spare.size());
    for (const std::size_t i : steps->blind) std::printf(" %zu", i + 1);
    std::printf("%s\n", steps->blind.empty() ? " none" : "");
  }
  return found->escapes.empty() ? 0 : 1;
}

}  // namespace
}  // namespace isthmus::audit

int main(int argc, char** argv) {
  const auto options = isthmus::audit::parse(argc, argv);
  if (!options) {
    std::fputs(isthmus::audit::kUsage, stderr);
    return 2;
  }
  return isthmus::audit::run(*options);
}
