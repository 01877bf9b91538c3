// SPDX-License-Identifier: Apache-2.0
// What `isthmus test` is told, reads and opens before it measures.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "cli/adapter_options.hpp"
#include "cli/run_options.hpp"

namespace isthmus::cli {

struct TestOptions : RunOptions {
  std::string fixture, on_placement, on_lift, zero;
};

// The design and the fixture, found fit to be tested with these options.
struct TestInputs {
  std::unique_ptr<expect::Board> board;
  formats::FixtureFile fixture;
};
// Everything that can be refused before an adapter is opened.
Result<TestInputs> read_inputs(const TestOptions& o);

record::RunHead head_of(const TestOptions& o, const TestInputs& in);

// What a run needs beside its adapter.
struct TestSetup {
  plan::Plan plan;
  record::RunHead head;
  std::filesystem::path record_file;
  std::unique_ptr<record::Record> record;
  std::optional<session::Zero> zero;
};
// Plans for this adapter, opens the record, reads the zero. Says on stderr what goes on and what
// the planning notes. A Problem whose cause is the link means the adapter is not to be had.
Result<TestSetup> set_up(const TestOptions& o, const TestInputs& in,
                         adapter::Instrument& instrument);

}  // namespace isthmus::cli
