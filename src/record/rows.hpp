// SPDX-License-Identifier: Apache-2.0
// Values to rows and back. Every function notes its failure in `sql`.
#pragma once

#include "isthmus/record/record.hpp"
#include "record/sql.hpp"

namespace isthmus::record {

RunId insert_run(Sql& sql, const RunHead& head);
void insert_plan(Sql& sql, RunId run, const plan::Plan& plan);
void insert_placement(Sql& sql, RunId run, std::size_t place, const plan::Placement& placement);
void insert_rework(Sql& sql, RunId run, std::size_t nth, const plan::Reworked& reworked);
void insert_steps(Sql& sql, RunId run, const std::vector<plan::Step>& steps);
void update_prediction(Sql& sql, RunId run, const plan::Step& step);
void insert_reading(Sql& sql, RunId run, const plan::Reading& reading);
void replace_result(Sql& sql, RunId run, const RunResult& result);

std::vector<RunHead> select_heads(Sql& sql, const std::string& where_unit);
std::optional<RunHead> select_head(Sql& sql, RunId run);
plan::Plan select_plan(Sql& sql, RunId run);
std::vector<plan::Reading> select_readings(Sql& sql, RunId run);
RunResult select_result(Sql& sql, RunId run);

// REC-008: the row says what no version of the program writes.
void damaged(Sql& sql, RunId run, const std::string& what);

}  // namespace isthmus::record
