// SPDX-License-Identifier: Apache-2.0
#include "session/outcome.hpp"

namespace isthmus::session {

Outcome close_run(record::Record& record, const Finished& finished,
                  const diagnose::Knowledge& knowledge, const Measurer& measurer) {
  Outcome out;
  out.run = finished.run;
  out.plan = knowledge.plan();
  out.readings = knowledge.readings();
  out.link_failure = measurer.ending().link_failure;
  out.stopped = measurer.ending().stopped;
  record::RunResult& result = out.result;
  result.seconds = measurer.seconds();
  result.placements = finished.placements;
  result.state = finished.complete ? "done" : "broken off";
  if (out.stopped) result.problem = out.stopped->message;
  if (out.link_failure) result.problem = out.link_failure->message;
  result.measurements = out.readings.size();
  result.diagnosis = knowledge.diagnosis(finished.complete);
  // The contract: what broke off with the link is incomplete, with the findings so far.
  if (out.link_failure) result.diagnosis.verdict = diagnose::Verdict::incomplete;
  if (auto kept = record.finish(finished.run, result); !kept && !out.stopped)
    out.stopped = kept.problem();
  return out;
}

}  // namespace isthmus::session
