// SPDX-License-Identifier: Apache-2.0
#include "cli/resuming.hpp"

#include <fmt/format.h>

#include <tuple>

namespace isthmus::cli {
namespace {

Problem cannot(std::string message) {
  Problem p;
  p.code = "CLI-053";
  p.message = std::move(message);
  p.hint = "measure the board anew, without --resume";
  return p;
}

bool same_limits(const formats::LimitKeys& a, const formats::LimitKeys& b) {
  const auto key = [](const formats::LimitKeys& l) {
    return std::tuple(l.continuity.value, l.isolation.value, l.bridge.value, l.excess.value,
                      l.voltage.value, l.window.value);
  };
  return key(a) == key(b);
}

// Words for what differs; empty when nothing does.
std::string difference(const record::RunHead& then, const record::RunHead& now) {
  if (then.board != now.board) return "was of another board, " + then.board;
  if (then.stage != now.stage) return "was of the stage " + then.stage;
  if (then.design_hash != now.design_hash) return "was made with other design files";
  if (then.fixture_hash != now.fixture_hash) return "was made with another fixture";
  if (!same_limits(then.limits, now.limits)) return "had other limits";
  if (then.adapter_name != now.adapter_name || then.adapter_serial != now.adapter_serial)
    return fmt::format("was measured with another adapter, {} {}", then.adapter_name,
                       then.adapter_serial);
  return "";
}

}  // namespace

Result<record::StoredRun> run_to_continue(const record::Record& record,
                                          const record::RunHead& head) {
  const auto runs = record.history(head.unit);
  if (!runs) return runs.problem();
  if (runs->empty()) return cannot("there is no run of unit " + head.unit + " to continue");
  const record::RunHead& newest = runs->front();
  if (const std::string other = difference(newest, head); !other.empty())
    return cannot(fmt::format("run {} of unit {} {}", newest.id, head.unit, other));
  const auto unfinished = record.unfinished(head);
  if (!unfinished) return unfinished.problem();
  if (*unfinished != newest.id)
    return cannot(fmt::format("run {} of unit {} reached its end", newest.id, head.unit));
  return record.load(newest.id);
}

}  // namespace isthmus::cli
