// SPDX-License-Identifier: Apache-2.0
// One function a command: adds it to the app; when it is the one called, `exit` gets its exit code.
#pragma once

#include <CLI/CLI.hpp>

namespace isthmus::cli {

void add_import(CLI::App& app, int& exit);
void add_inspect(CLI::App& app, int& exit);
void add_fixture(CLI::App& app, int& exit);
void add_plan(CLI::App& app, int& exit);
void add_test(CLI::App& app, int& exit);
void add_report(CLI::App& app, int& exit);
void add_history(CLI::App& app, int& exit);
void add_guide(CLI::App& app, int& exit);
void add_zero(CLI::App& app, int& exit);
void add_adapters(CLI::App& app, int& exit);

inline constexpr const char* kVersion = "0.1.0";

}  // namespace isthmus::cli
