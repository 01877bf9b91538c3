// SPDX-License-Identifier: Apache-2.0
// A run on the small board with an open, a bridge and a lone pad without contact.
#pragma once

#include "isthmus/report/report.hpp"
#include "tests/support/fake_bench.hpp"
#include "tests/support/foretold.hpp"
#include "tests/support/small_board.hpp"

namespace isthmus::test {

inline plan::Plan small_plan(const expect::Board& board, int channels) {
  Diagnostics notes;
  const auto fixture = plan::make_fixture(board, {channels, true}, notes);
  return std::move(foretold_plan(board, *fixture, {4, {10.0}}, notes)).value();
}

inline report::RunView faulty_run(const expect::Board& board) {
  FakeBench bench(board, small_plan(board, 64));
  bench.cut("U2.1", "U3.1");
  bench.tie("U1.4", "U1.5", 0.2);
  bench.lift("U1.3");
  report::RunView view;
  view.head.board = "small <board> & \"co\"";
  view.head.unit = "N1";
  view.head.stage = "joined";
  view.head.basis = "netlist";
  view.result.state = "done";
  view.result.diagnosis = bench.run();
  view.plan = bench.plan();
  view.readings = bench.readings();
  return view;
}

// The same findings again until there are so many.
inline report::RunView with_findings(report::RunView view, std::size_t many) {
  auto& findings = view.result.diagnosis.findings;
  for (std::size_t i = 0; findings.size() < many; ++i)
    findings.push_back(diagnose::Finding(findings[i]));
  return view;
}

}  // namespace isthmus::test
