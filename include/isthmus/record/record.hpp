// SPDX-License-Identifier: Apache-2.0
// The record: boards by serial number, runs, readings as they arrive, findings. SQLite; schema in
// docs/record.md.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "isthmus/diagnose/diagnosis.hpp"
#include "isthmus/formats/design.hpp"

namespace isthmus::record {

using RunId = std::int64_t;

// What a run was about; everything a later report needs without the design files, and enough to
// resume.
struct RunHead {
  RunId id{};
  std::string started_utc;  // ISO 8601
  std::string board, unit, stage, basis;
  std::string board_file, fixture_file;  // absolute paths
  std::string adapter_address, adapter_name, adapter_serial;
  std::string design_hash, fixture_hash;
  std::vector<formats::FileHash> hashes;
  formats::LimitKeys limits;
  std::string program_version;
  std::vector<std::string> remarks;  // that mark the verdict, known before the run
};

struct RunResult {
  std::string state;  // "running", "done", "broken off"
  diagnose::Diagnosis diagnosis;
  std::size_t placements{}, measurements{};
  double seconds{};
  std::string problem;  // link failure, in words
};

struct StoredRun {
  RunHead head;
  RunResult result;
  plan::Plan plan;  // placements and steps, wanted ones included
  std::vector<plan::Reading> readings;
  std::vector<std::size_t> placements_done;
};

// One SQLite file with all runs.
//
// Shape   begin, placement_done and finish are whole or absent; readings, wanted steps and predictions
//         gather in one transaction until the 200th, the first after half a second, or flush.
// Errors  REC-0xx: not a database, of a newer schema, not writable.
// Source  docs/record.md.
class Record {
 public:
  // Creates the file and its tables when absent; brings an older schema up to date.
  static Result<std::unique_ptr<Record>> open(const std::filesystem::path& file);
  ~Record();

  Result<RunId> begin(const RunHead& head, const plan::Plan& plan);
  Result<Done> add_steps(RunId run, const std::vector<plan::Step>& steps);  // wanted ones
  // What these steps, which the run has, should measure.
  Result<Done> add_predictions(RunId run, const std::vector<plan::Step>& steps);
  Result<Done> add_reading(RunId run, const plan::Reading& reading);
  Result<Done> flush(RunId run);  // durable on return
  // A landing: it joins the plan as its next placement; and what a person takes back.
  Result<Done> add_placement(RunId run, std::size_t place, const plan::Placement& placement);
  Result<Done> take_back(RunId run, std::size_t place, const std::string& why);
  Result<Done> add_rework(RunId run, std::size_t nth, const plan::Reworked& reworked);
  Result<Done> tried_in_air(RunId run, std::size_t placement);
  Result<Done> placement_done(RunId run, std::size_t placement);
  Result<Done> finish(RunId run, const RunResult& result);

  Result<StoredRun> load(RunId run) const;
  Result<std::vector<RunHead>> history(const std::string& unit) const;  // "" = all; newest first
  // The newest unfinished run of this unit, design and fixture.
  Result<std::optional<RunId>> unfinished(const RunHead& like) const;

 private:
  Record();
  struct Database;
  std::unique_ptr<Database> db_;
};

}  // namespace isthmus::record
