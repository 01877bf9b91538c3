// SPDX-License-Identifier: Apache-2.0
// A command line that could not be read, told as other errors are: CLI-070 to CLI-072.
#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

#include "isthmus/base/result.hpp"

namespace isthmus::cli {

// `words` without the program's name. The wrong word is looked for first, since one misspelt option
// can make the parser miss another.
Problem usage_problem(const CLI::App& app, const std::vector<std::string>& words,
                      const CLI::ParseError& error);

// One example under each command's help.
void add_examples(CLI::App& app);

// A check of an option's value: nothing where it can name a board or a unit, else why not.
std::string fit_as_name(const std::string& name);

}  // namespace isthmus::cli
