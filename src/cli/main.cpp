// SPDX-License-Identifier: Apache-2.0
#include <cstdio>
#include <exception>

#include "cli/commands.hpp"
#include "cli/terminal.hpp"
#include "cli/usage.hpp"

namespace {

int run(int argc, char** argv) {
  using namespace isthmus::cli;
  CLI::App app{"Proves the copper of a freshly etched board before anything is soldered to it."};
  app.name("isthmus");
  app.set_version_flag("--version", std::string("isthmus ") + kVersion);
  app.require_subcommand(1);
  app.footer(
      "First an adapter's test of a board: import, inspect, fixture, plan, test; then report.\n"
      "By hand: import, inspect, guide. Each says what it does: isthmus test --help\n\n"
      "Exit codes: 0 pass, 1 faults found, 2 bad usage or input, 3 adapter or link failure,\n"
      "4 nothing wrong found but something untested, 70 a bug of ours.\n"
      "Boards are tested unpowered, at low voltage. See isthmus(1) and docs/.");
  int exit_code = kOurBug;
  add_import(app, exit_code);
  add_inspect(app, exit_code);
  add_fixture(app, exit_code);
  add_plan(app, exit_code);
  add_test(app, exit_code);
  add_guide(app, exit_code);
  add_report(app, exit_code);
  add_history(app, exit_code);
  add_zero(app, exit_code);
  add_adapters(app, exit_code);
  add_examples(app);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    if (e.get_exit_code() != 0)
      return bad_input(usage_problem(app, std::vector<std::string>(argv + 1, argv + argc), e));
    app.exit(e, std::cout, std::cerr);  // --help, --version
    return kPass;
  }
  return exit_code;
}

constexpr const char* kLostHint =
    "see that its disk is not full and that whoever reads it stays; runs are kept in the record: "
    "isthmus history";

}  // namespace

int main(int argc, char** argv) {
  try {
    isthmus::cli::hold_standard_streams();
    return isthmus::cli::unless_lost(run(argc, argv), kLostHint);
  } catch (const std::exception& e) {
    std::fprintf(stderr,
                 "isthmus: a bug of ours: %s\nPlease report it with the files that led here.\n",
                 e.what());
  } catch (...) {
    std::fprintf(stderr, "isthmus: a bug of ours\n");
  }
  return isthmus::cli::kOurBug;
}
