// SPDX-License-Identifier: Apache-2.0
#include "record/rows.hpp"
#include "record/words.hpp"

namespace isthmus::record {
namespace {

template <class Values>
std::string numbers(const Values& values) {
  std::vector<std::int64_t> out;
  for (const auto& v : values) out.push_back(static_cast<std::int64_t>(v));
  return write_numbers(out);
}

// "x y x y ..."
std::string places(const std::vector<Position>& path) {
  std::vector<std::int64_t> out;
  for (const Position& p : path) {
    out.push_back(p.x);
    out.push_back(p.y);
  }
  return write_numbers(out);
}

}  // namespace

void insert_placement(Sql& sql, RunId run, std::size_t place, const plan::Placement& placement) {
  sql.run(
      "INSERT INTO placement (run, place, name, side, cannot_tell, tried_in_air, round, "
      "taken_back) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
      run, place, placement.name, word(placement.side), write_list(placement.cannot_tell),
      placement.tried_in_air, placement.round, placement.taken_back);
  for (std::size_t i = 0; i < placement.probes.size(); ++i) {
    const plan::Probe& p = placement.probes[i];
    sql.run(
        "INSERT INTO probe (run, place, nth, channel, point, x_nm, y_nm, twin, "
        "side, clip) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        run, place, i, p.channel, index(p.point), p.at.x, p.at.y, p.twin, word(p.side), p.clip);
  }
}

void insert_rework(Sql& sql, RunId run, std::size_t nth, const plan::Reworked& reworked) {
  sql.run("INSERT INTO reworked (run, nth, place, points) VALUES (?, ?, ?, ?)", run, nth,
          reworked.before, numbers(reworked.points));
}

namespace {

void insert_step(Sql& sql, RunId run, std::int64_t nth, const plan::Step& s) {
  std::optional<double> predicted, uncertainty;
  const copper::Predicted p = s.predicted.value_or(copper::Predicted{});
  if (s.predicted) {
    predicted = s.predicted->ohms.value;
    uncertainty = s.predicted->uncertainty.value;
  }
  sql.run(
      "INSERT INTO step (run, nth, id, place, kind, source, ret, sense_high, sense_low, "
      "reference, groups, points, limit_ohm, volts, predicted_ohm, predicted_uncertainty_ohm, "
      "by_row1, block, closing, wanted, predicted_mesh_ohm, predicted_ohm_per_nm) "
      "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
      run, nth, index(s.id), s.placement, word(s.kind), numbers(s.source), numbers(s.ret),
      s.sense_high, s.sense_low, s.reference, numbers(s.groups), numbers(s.points), s.limit.value,
      s.volts.value, predicted, uncertainty, s.contact_by_row1, s.block, s.closing, s.wanted,
      p.mesh.value, p.per_loss);
}

void insert_suspect(Sql& sql, RunId run, std::size_t finding, std::size_t nth,
                    const diagnose::Suspect& s) {
  std::optional<std::size_t> a, b;
  if (s.separates) {
    a = (*s.separates)[0];
    b = (*s.separates)[1];
  }
  sql.run(
      "INSERT INTO suspect (run, finding, nth, rank, x_nm, y_nm, side, likelihood, path, nets, "
      "separates_a, separates_b, why) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
      run, finding, nth, s.rank, s.at.x, s.at.y, s.side, s.likelihood, places(s.path),
      write_list(s.nets), a, b, s.why);
}

void insert_finding(Sql& sql, RunId run, std::size_t nth, const diagnose::Finding& f) {
  std::optional<double> measured;
  if (f.measured) measured = f.measured->value;
  sql.run(
      "INSERT INTO finding (run, nth, kind, nets, measured_ohm, limit_ohm, uncertainty_ohm) "
      "VALUES (?, ?, ?, ?, ?, ?, ?)",
      run, nth, word(f.kind), write_list(f.nets), measured, f.limit.value, f.uncertainty.value);
  for (std::size_t i = 0; i < f.parts.size(); ++i) {
    sql.run("INSERT INTO finding_part (run, finding, nth, points) VALUES (?, ?, ?, ?)", run, nth, i,
            write_list(f.parts[i]));
  }
  for (std::size_t i = 0; i < f.suspects.size(); ++i)
    insert_suspect(sql, run, nth, i, f.suspects[i]);
}

void insert_counts(Sql& sql, RunId run, const char* kind, const diagnose::FaultCounts& c,
                   std::size_t parallel_joins, double likelihood) {
  sql.run(
      "INSERT INTO possible_faults (run, kind, listed, excluded, harmless, found, cannot_tell, "
      "waived, unless_bridged, parallel_joins, likelihood_excluded) VALUES (?, ?, ?, ?, ?, ?, ?, "
      "?, ?, ?, ?)",
      run, kind, c.listed, c.excluded, c.harmless, c.found, c.cannot_tell, c.waived,
      c.unless_bridged, parallel_joins, likelihood);
}

void insert_cannot_tell(Sql& sql, RunId run, std::size_t nth, const diagnose::CannotTell& c) {
  std::vector<std::string> sides;
  std::vector<std::int64_t> either;
  for (const auto& from : c.from) {
    sides.emplace_back(word(from.side));
    either.push_back((from.either ? 1 : 0) + (from.no_contact ? 2 : 0));
  }
  sql.run(
      "INSERT INTO cannot_tell (run, nth, kind, nets, points, x_nm, y_nm, side, why, would_tell, "
      "would_tell_sides, would_tell_either) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
      run, nth, word(c.kind), write_list(c.nets), write_list(c.points), c.at.x, c.at.y, c.side,
      word(c.why), write_list(c.would_tell), write_list(sides), write_numbers(either));
}

void insert_faults(Sql& sql, RunId run, const diagnose::Diagnosis& d) {
  insert_counts(sql, run, "break", d.breaks, d.parallel_joins, d.likelihood_excluded);
  insert_counts(sql, run, "bridge", d.bridges, 0, d.likelihood_excluded);
  for (std::size_t i = 0; i < d.cannot_tell.size(); ++i)
    insert_cannot_tell(sql, run, i, d.cannot_tell[i]);
}

void insert_diagnosis(Sql& sql, RunId run, const diagnose::Diagnosis& d) {
  for (std::size_t i = 0; i < d.findings.size(); ++i) insert_finding(sql, run, i, d.findings[i]);
  for (std::size_t i = 0; i < d.untested.size(); ++i) {
    const diagnose::Untested& u = d.untested[i];
    sql.run("INSERT INTO untested (run, nth, net, points, why, detail) VALUES (?, ?, ?, ?, ?, ?)",
            run, i, u.net, write_list(u.points), u.why, u.detail);
  }
  for (std::size_t i = 0; i < d.remarks.size(); ++i) {
    sql.run("INSERT INTO remark (run, nth, text) VALUES (?, ?, ?)", run, i, d.remarks[i]);
  }
  for (std::size_t i = 0; i < d.waived.size(); ++i) {
    const expect::Waiver& w = d.waived[i];
    sql.run("INSERT INTO waiver (run, nth, point, net, why) VALUES (?, ?, ?, ?, ?)", run, i,
            w.point, w.net, w.why);
  }
  insert_faults(sql, run, d);
  if (d.foil) {
    const diagnose::FoilFit& f = *d.foil;
    sql.run(
        "INSERT INTO foil (run, thickness_nm, thickness_sd_nm, undercut_nm, undercut_sd_nm, "
        "readings, at_bound) VALUES (?, ?, ?, ?, ?, ?, ?)",
        run, f.thickness.value, f.thickness_sd.value, f.undercut.value, f.undercut_sd.value,
        f.readings, f.at_bound);
  }
}

}  // namespace

RunId insert_run(Sql& sql, const RunHead& h) {
  sql.run(
      "INSERT INTO run (started_utc, board, unit, stage, basis, board_file, fixture_file, "
      "adapter_address, adapter_name, adapter_serial, design_hash, fixture_hash, "
      "program_version, head_remarks, continuity_ohm, isolation_ohm, bridge_ohm, excess_ohm, "
      "test_volt, "
      "window_nm, state, verdict, required, tested, waived, placements, measurements, seconds, "
      "problem, rules) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, "
      "'running', 'incomplete', 0, 0, 0, 0, 0, 0.0, '', 4)",
      h.started_utc, h.board, h.unit, h.stage, h.basis, h.board_file, h.fixture_file,
      h.adapter_address, h.adapter_name, h.adapter_serial, h.design_hash, h.fixture_hash,
      h.program_version, write_list(h.remarks), h.limits.continuity.value, h.limits.isolation.value,
      h.limits.bridge.value, h.limits.excess.value, h.limits.voltage.value, h.limits.window.value);
  const RunId run = sql.last_id();
  for (std::size_t i = 0; i < h.hashes.size(); ++i) {
    sql.run("INSERT INTO file_hash (run, place, role, file, sha256) VALUES (?, ?, ?, ?, ?)", run, i,
            h.hashes[i].role, h.hashes[i].file, h.hashes[i].sha256);
  }
  return run;
}

void insert_plan(Sql& sql, RunId run, const plan::Plan& p) {
  sql.run(
      "INSERT INTO plan (run, placements_bound, bound_reason, continuity_steps, "
      "continuity_bound, isolation_steps, isolation_bound, contact_steps, pairs, "
      "pairs_beyond_window, contact_check, wires, contact_ohm, contact_spread) "
      "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
      run, p.placements_bound, p.bound_reason, p.continuity.steps, p.continuity.bound,
      p.isolation.steps, p.isolation.bound, p.contact_steps, p.pairs, p.pairs_beyond_window,
      p.contact_check, p.wires, p.contact.value, p.contact_spread);
  for (std::size_t i = 0; i < p.placements.size(); ++i) {
    insert_placement(sql, run, i, p.placements[i]);
  }
  for (std::size_t i = 0; i < p.reworked.size(); ++i) insert_rework(sql, run, i, p.reworked[i]);
  for (std::size_t i = 0; i < p.untested.size(); ++i) {
    const plan::Untested& u = p.untested[i];
    sql.run("INSERT INTO plan_untested (run, nth, net, points, why) VALUES (?, ?, ?, ?, ?)", run, i,
            u.net, write_list(u.points), u.why);
  }
  insert_steps(sql, run, p.steps);
}

void insert_steps(Sql& sql, RunId run, const std::vector<plan::Step>& steps) {
  std::int64_t nth = 0;
  sql.each(
      "SELECT count(*) FROM step WHERE run = ?", [&](const Row& row) { nth = row.whole(0); }, run);
  for (const plan::Step& step : steps) insert_step(sql, run, nth++, step);
}

void update_prediction(Sql& sql, RunId run, const plan::Step& step) {
  if (!step.predicted) return;
  const copper::Predicted& p = *step.predicted;
  sql.run(
      "UPDATE step SET predicted_ohm = ?, predicted_uncertainty_ohm = ?, predicted_mesh_ohm = ?, "
      "predicted_ohm_per_nm = ? WHERE run = ? AND id = ?",
      p.ohms.value, p.uncertainty.value, p.mesh.value, p.per_loss, run, index(step.id));
}

void insert_reading(Sql& sql, RunId run, const plan::Reading& r) {
  std::optional<double> value, uncertainty;
  std::optional<std::string> why;
  std::string_view outcome = "over-range";
  if (const auto* measured = std::get_if<plan::Measured>(&r.outcome)) {
    outcome = "value";
    value = measured->value;
    uncertainty = measured->uncertainty;
  } else if (const auto* none = std::get_if<plan::NoReading>(&r.outcome)) {
    outcome = "none";
    why = none->why;
  }
  sql.run(
      "INSERT INTO reading (run, sequence, step, outcome, value, uncertainty, why, status) "
      "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
      run, r.sequence, index(r.step), outcome, value, uncertainty, why, r.status);
}

void replace_result(Sql& sql, RunId run, const RunResult& r) {
  sql.run("DELETE FROM finding WHERE run = ?", run);  // parts and suspects go with it
  sql.run("DELETE FROM untested WHERE run = ?", run);
  sql.run("DELETE FROM remark WHERE run = ?", run);
  sql.run("DELETE FROM waiver WHERE run = ?", run);
  sql.run("DELETE FROM foil WHERE run = ?", run);
  sql.run("DELETE FROM possible_faults WHERE run = ?", run);
  sql.run("DELETE FROM cannot_tell WHERE run = ?", run);
  const diagnose::Coverage& c = r.diagnosis.coverage;
  sql.run(
      "UPDATE run SET state = ?, verdict = ?, required = ?, tested = ?, waived = ?, "
      "pairs_required = ?, pairs_tested = ?, pairs_beyond_window = ?, "
      "placements = ?, measurements = ?, seconds = ?, problem = ? WHERE id = ?",
      r.state, word(r.diagnosis.verdict), c.required, c.tested, c.waived, c.pairs_required,
      c.pairs_tested, c.pairs_beyond_window, r.placements, r.measurements, r.seconds, r.problem,
      run);
  insert_diagnosis(sql, run, r.diagnosis);
}

}  // namespace isthmus::record
