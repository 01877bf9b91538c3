// SPDX-License-Identifier: Apache-2.0
#include "record/rows.hpp"
#include "record/words.hpp"

namespace isthmus::record {
namespace {

constexpr const char* kHeadColumns =
    "SELECT id, started_utc, board, unit, stage, basis, board_file, fixture_file, adapter_address, "
    "adapter_name, adapter_serial, design_hash, fixture_hash, program_version, continuity_ohm, "
    "isolation_ohm, bridge_ohm, excess_ohm, test_volt, window_nm, head_remarks FROM run ";

RunHead head_of(const Row& row) {
  RunHead h;
  h.id = row.whole(0);
  int at = 0;
  for (std::string* field :
       {&h.started_utc, &h.board, &h.unit, &h.stage, &h.basis, &h.board_file, &h.fixture_file,
        &h.adapter_address, &h.adapter_name, &h.adapter_serial, &h.design_hash, &h.fixture_hash,
        &h.program_version}) {
    *field = row.text(++at);
  }
  h.limits.continuity = {row.real(14)};
  h.limits.isolation = {row.real(15)};
  h.limits.bridge = {row.real(16)};
  h.limits.excess = {row.real(17)};
  h.limits.voltage = {row.real(18)};
  h.limits.window = {row.whole(19)};
  h.remarks = read_list(row.text(20));
  return h;
}

void add_hashes(Sql& sql, RunHead& head) {
  sql.each(
      "SELECT role, file, sha256 FROM file_hash WHERE run = ? ORDER BY place",
      [&](const Row& row) {
        head.hashes.push_back({row.text(0), row.text(1), row.text(2)});
      },
      head.id);
}

// The numbers of a column, as whatever the field holds.
template <class Value>
std::vector<Value> list_of(Sql& sql, RunId run, const std::string& text) {
  std::vector<Value> out;
  const auto numbers = read_numbers(text);
  if (!numbers) damaged(sql, run, "a list of numbers is \"" + text + "\"");
  for (const std::int64_t n : numbers.value_or(std::vector<std::int64_t>{})) {
    out.push_back(static_cast<Value>(n));
  }
  return out;
}

template <class Value>
Value known(Sql& sql, RunId run, const std::optional<Value>& value, const std::string& text) {
  if (!value) damaged(sql, run, "the word \"" + text + "\" is unknown");
  return value.value_or(Value{});
}

std::vector<diagnose::CannotTell::From> froms_of(Sql& sql, RunId run, const std::string& sides,
                                                 const std::string& either) {
  const std::vector<std::string> words = read_list(sides);
  const auto both = list_of<std::size_t>(sql, run, either);
  if (words.size() != both.size())
    damaged(sql, run, "of what would tell, sides and places do not match");
  std::vector<diagnose::CannotTell::From> out;
  for (std::size_t i = 0; i < words.size() && i < both.size(); ++i)
    out.push_back(
        {known(sql, run, side(words[i]), words[i]), (both[i] & 1) != 0, (both[i] & 2) != 0});
  return out;
}

plan::Step step_of(Sql& sql, RunId run, const Row& row) {
  plan::Step s;
  s.id = row.as<StepId>(0);
  s.placement = row.as(1);
  s.kind = known(sql, run, step_kind(row.text(2)), row.text(2));
  s.source = list_of<plan::Channel>(sql, run, row.text(3));
  s.ret = list_of<plan::Channel>(sql, run, row.text(4));
  s.sense_high = row.as<plan::Channel>(5);
  s.sense_low = row.as<plan::Channel>(6);
  s.reference = row.as<int>(7);
  s.groups = list_of<GroupId>(sql, run, row.text(8));
  s.points = list_of<PointId>(sql, run, row.text(9));
  s.limit = {row.real(10)};
  s.volts = {row.real(11)};
  if (!row.null(12)) {
    s.predicted = copper::Predicted{{row.real(12)}, {row.real(13)}, {row.real(18)}, row.real(19)};
  }
  s.contact_by_row1 = row.whole(14) != 0;
  s.block = row.as(15);
  s.closing = row.whole(16) != 0;
  s.wanted = row.whole(17) != 0;
  return s;
}

std::vector<plan::Placement> placements_of(Sql& sql, RunId run) {
  std::vector<plan::Placement> out;
  sql.each(
      "SELECT name, side, cannot_tell, tried_in_air, round, taken_back FROM placement WHERE run = "
      "? "
      "ORDER BY place",
      [&](const Row& row) {
        out.push_back({row.text(0),
                       known(sql, run, side(row.text(1)), row.text(1)),
                       {},
                       read_list(row.text(2)),
                       row.whole(3) != 0,
                       row.null(4) ? std::nullopt : std::optional<std::size_t>(row.as(4)),
                       row.text(5)});
      },
      run);
  sql.each(
      "SELECT place, channel, point, x_nm, y_nm, twin, side, clip FROM probe WHERE run = ? "
      "ORDER BY place, nth",
      [&](const Row& row) {
        plan::Probe p{row.as<plan::Channel>(1),
                      row.as<PointId>(2),
                      {row.whole(3), row.whole(4)},
                      std::nullopt,
                      known(sql, run, side(row.text(6)), row.text(6)),
                      row.whole(7) != 0};
        if (!row.null(5)) p.twin = row.as<plan::Channel>(5);
        if (p.side == Side::both && !p.clip) damaged(sql, run, "a probe touches both sides");
        if (row.as(0) < out.size())
          out[row.as(0)].probes.push_back(p);
        else
          damaged(sql, run, "a probe belongs to no placement");
      },
      run);
  return out;
}

diagnose::Suspect suspect_of(Sql& sql, RunId run, const Row& row) {
  diagnose::Suspect s;
  s.rank = row.as<int>(1);
  s.at = {row.whole(2), row.whole(3)};
  s.side = row.text(4);
  s.likelihood = row.real(5);
  const auto path = list_of<std::int64_t>(sql, run, row.text(6));
  for (std::size_t i = 0; i + 1 < path.size(); i += 2) s.path.push_back({path[i], path[i + 1]});
  s.nets = read_list(row.text(7));
  if (!row.null(8)) s.separates = std::array{row.as(8), row.as(9)};
  s.why = row.text(10);
  return s;
}

std::vector<diagnose::Finding> findings_of(Sql& sql, RunId run) {
  std::vector<diagnose::Finding> out;
  sql.each(
      "SELECT kind, nets, measured_ohm, limit_ohm, uncertainty_ohm FROM finding "
      "WHERE run = ? ORDER BY nth",
      [&](const Row& row) {
        diagnose::Finding f;
        f.kind = known(sql, run, finding_kind(row.text(0)), row.text(0));
        f.nets = read_list(row.text(1));
        if (!row.null(2)) f.measured = Ohms{row.real(2)};
        f.limit = {row.real(3)};
        f.uncertainty = {row.real(4)};
        out.push_back(std::move(f));
      },
      run);
  const auto finding = [&](const Row& row) -> diagnose::Finding* {
    if (row.as(0) < out.size()) return &out[row.as(0)];
    damaged(sql, run, "a finding's place is missing");
    return nullptr;
  };
  sql.each(
      "SELECT finding, points FROM finding_part WHERE run = ? ORDER BY finding, nth",
      [&](const Row& row) {
        if (auto* f = finding(row)) f->parts.push_back(read_list(row.text(1)));
      },
      run);
  sql.each(
      "SELECT finding, rank, x_nm, y_nm, side, likelihood, path, nets, separates_a, "
      "separates_b, why FROM suspect WHERE run = ? ORDER BY finding, nth",
      [&](const Row& row) {
        if (auto* f = finding(row)) f->suspects.push_back(suspect_of(sql, run, row));
      },
      run);
  return out;
}

}  // namespace

void damaged(Sql& sql, RunId run, const std::string& what) {
  sql.fail(record_problem("REC-008", {}, "run " + std::to_string(run) + " is damaged: " + what,
                          "the other runs of this record can still be read"));
}

std::vector<RunHead> select_heads(Sql& sql, const std::string& unit) {
  std::vector<RunHead> out;
  const auto add = [&](const Row& row) { out.push_back(head_of(row)); };
  if (unit.empty())
    sql.each(std::string(kHeadColumns) + "ORDER BY id DESC", add);
  else
    sql.each(std::string(kHeadColumns) + "WHERE unit = ? ORDER BY id DESC", add, unit);
  for (RunHead& head : out) add_hashes(sql, head);
  return out;
}

std::optional<RunHead> select_head(Sql& sql, RunId run) {
  std::optional<RunHead> out;
  sql.each(
      std::string(kHeadColumns) + "WHERE id = ?", [&](const Row& row) { out = head_of(row); }, run);
  if (out) add_hashes(sql, *out);
  return out;
}

plan::Plan select_plan(Sql& sql, RunId run) {
  plan::Plan p;
  sql.each(
      "SELECT placements_bound, bound_reason, continuity_steps, continuity_bound, "
      "isolation_steps, isolation_bound, contact_steps, pairs, pairs_beyond_window, "
      "contact_check, wires, contact_ohm, contact_spread FROM plan WHERE run = ?",
      [&](const Row& row) {
        p.placements_bound = row.as(0);
        p.bound_reason = row.text(1);
        p.continuity = {row.as(2), row.as(3)};
        p.isolation = {row.as(4), row.as(5)};
        p.contact_steps = row.as(6);
        p.pairs = row.as(7);
        p.pairs_beyond_window = row.as(8);
        p.contact_check = row.whole(9) != 0;
        p.wires = row.as<int>(10);
        p.contact = {row.real(11)};
        p.contact_spread = row.real(12);
      },
      run);
  p.placements = placements_of(sql, run);
  sql.each(
      "SELECT place, points FROM reworked WHERE run = ? ORDER BY nth",
      [&](const Row& row) {
        p.reworked.push_back({row.as(0), list_of<PointId>(sql, run, row.text(1))});
      },
      run);
  sql.each(
      "SELECT net, points, why FROM plan_untested WHERE run = ? ORDER BY nth",
      [&](const Row& row) {
        p.untested.push_back({row.text(0), read_list(row.text(1)), row.text(2)});
      },
      run);
  sql.each(
      "SELECT id, place, kind, source, ret, sense_high, sense_low, reference, groups, points, "
      "limit_ohm, volts, predicted_ohm, predicted_uncertainty_ohm, by_row1, block, closing, "
      "wanted, predicted_mesh_ohm, predicted_ohm_per_nm FROM step WHERE run = ? ORDER BY nth",
      [&](const Row& row) { p.steps.push_back(step_of(sql, run, row)); }, run);
  return p;
}

std::vector<plan::Reading> select_readings(Sql& sql, RunId run) {
  std::vector<plan::Reading> out;
  sql.each(
      "SELECT sequence, step, outcome, value, uncertainty, why, status FROM reading "
      "WHERE run = ? ORDER BY sequence",
      [&](const Row& row) {
        plan::Reading r;
        r.sequence = row.as<std::uint32_t>(0);
        r.step = row.as<StepId>(1);
        if (row.text(2) == "value")
          r.outcome = plan::Measured{row.real(3), row.real(4)};
        else if (row.text(2) == "none")
          r.outcome = plan::NoReading{row.text(5)};
        else
          r.outcome = plan::OverRange{};
        r.status = row.as<unsigned>(6);
        out.push_back(std::move(r));
      },
      run);
  return out;
}

RunResult select_result(Sql& sql, RunId run) {
  RunResult r;
  sql.each(
      "SELECT state, verdict, required, tested, waived, placements, measurements, seconds, "
      "problem, pairs_required, pairs_tested, pairs_beyond_window FROM run WHERE id = ?",
      [&](const Row& row) {
        r.state = row.text(0);
        r.diagnosis.verdict = known(sql, run, verdict(row.text(1)), row.text(1));
        r.diagnosis.coverage = {row.as(2), row.as(3), row.as(4), row.as(9), row.as(10), row.as(11)};
        r.placements = row.as(5);
        r.measurements = row.as(6);
        r.seconds = row.real(7);
        r.problem = row.text(8);
      },
      run);
  r.diagnosis.findings = findings_of(sql, run);
  sql.each(
      "SELECT net, points, why, detail FROM untested WHERE run = ? ORDER BY nth",
      [&](const Row& row) {
        r.diagnosis.untested.push_back(
            {row.text(0), read_list(row.text(1)), row.text(2), row.text(3)});
      },
      run);
  sql.each(
      "SELECT thickness_nm, thickness_sd_nm, undercut_nm, undercut_sd_nm, readings, at_bound "
      "FROM foil WHERE run = ?",
      [&](const Row& row) {
        diagnose::FoilFit foil;
        foil.thickness = {row.whole(0)};
        foil.thickness_sd = {row.whole(1)};
        foil.undercut = {row.whole(2)};
        foil.undercut_sd = {row.whole(3)};
        foil.readings = row.as<std::size_t>(4);
        foil.at_bound = row.whole(5) != 0;
        r.diagnosis.foil = foil;
      },
      run);
  sql.each(
      "SELECT kind, listed, excluded, harmless, found, cannot_tell, waived, unless_bridged, "
      "parallel_joins, likelihood_excluded FROM possible_faults WHERE run = ?",
      [&](const Row& row) {
        const bool of_breaks = row.text(0) == "break";
        (of_breaks ? r.diagnosis.breaks : r.diagnosis.bridges) = {
            row.as(1), row.as(2), row.as(3), row.as(4), row.as(5), row.as(6), row.as(7)};
        if (of_breaks) r.diagnosis.parallel_joins = row.as(8);
        r.diagnosis.likelihood_excluded = row.real(9);
      },
      run);
  sql.each(
      "SELECT kind, nets, points, x_nm, y_nm, side, why, would_tell, would_tell_sides, "
      "would_tell_either FROM cannot_tell WHERE run = ? ORDER BY nth",
      [&](const Row& row) {
        diagnose::CannotTell c;
        c.kind = known(sql, run, fault_kind(row.text(0)), row.text(0));
        c.nets = read_list(row.text(1));
        c.points = read_list(row.text(2));
        c.at = {row.whole(3), row.whole(4)};
        c.side = row.text(5);
        c.why = known(sql, run, why_cannot_tell(row.text(6)), row.text(6));
        c.would_tell = read_list(row.text(7));
        c.from = froms_of(sql, run, row.text(8), row.text(9));
        r.diagnosis.cannot_tell.push_back(std::move(c));
      },
      run);
  sql.each(
      "SELECT text FROM remark WHERE run = ? ORDER BY nth",
      [&](const Row& row) { r.diagnosis.remarks.push_back(row.text(0)); }, run);
  sql.each(
      "SELECT point, net, why FROM waiver WHERE run = ? ORDER BY nth",
      [&](const Row& row) {
        r.diagnosis.waived.push_back({row.text(0), row.text(1), row.text(2)});
      },
      run);
  return r;
}

}  // namespace isthmus::record
