// SPDX-License-Identifier: Apache-2.0
#include "cli/usage.hpp"

#include <cctype>

#include "isthmus/formats/text.hpp"

namespace isthmus::cli {
namespace {

std::vector<std::string> command_names(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::App* sub : app.get_subcommands([](const CLI::App*) { return true; }))
    names.push_back(sub->get_name());
  return names;
}

std::vector<std::string> option_names(const CLI::App& app) {
  std::vector<std::string> names;
  for (const CLI::Option* option : app.get_options()) {
    for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
  }
  return names;
}

std::string listed(const std::vector<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
  return text;
}

Problem problem(const char* code, std::string message, std::string hint) {
  return {"", 0, 0, code, std::move(message), std::move(hint), ""};
}

// A dash before a number is a sign.
bool looks_like_an_option(const std::string& word) {
  return word.size() > 1 && word[0] == '-' &&
         std::isdigit(static_cast<unsigned char>(word[1])) == 0;
}

Problem unknown_command(const CLI::App& app, const std::string& word) {
  const std::vector<std::string> names = command_names(app);
  const std::string near = formats::nearest(word, names);
  return problem("CLI-070", "'" + formats::shown(word) + "' is no command",
                 near.empty() ? "one of: " + listed(names) : "did you mean " + near + "?");
}

Problem unknown_option(const CLI::App& of, const std::string& option, const std::string& command) {
  const std::string near = formats::nearest(option, option_names(of));
  const std::string help = command.empty() ? "isthmus --help" : "isthmus " + command + " --help";
  return problem(
      "CLI-071",
      (command.empty() ? "isthmus" : command) + " has no option '" + formats::shown(option) + "'",
      near.empty() ? "see " + help : "did you mean " + near + "?");
}

const CLI::App* command_of(const CLI::App& app, const std::string& word) {
  for (const CLI::App* sub : app.get_subcommands([](const CLI::App*) { return true; })) {
    if (sub->get_name() == word) return sub;
  }
  return nullptr;
}

bool has_option(const CLI::App& app, const std::string& name) {
  const auto options = app.get_options();
  for (const CLI::Option* option : options) {
    if (option->check_name(name)) return true;
  }
  return false;
}

}  // namespace

Problem usage_problem(const CLI::App& app, const std::vector<std::string>& words,
                      const CLI::ParseError& error) {
  const CLI::App* command = nullptr;
  for (const std::string& word : words) {
    if (word == "--") break;
    if (looks_like_an_option(word)) {
      const std::string name = word.substr(0, word.find('='));
      const CLI::App& of = command != nullptr ? *command : app;
      if (!has_option(of, name)) {
        return unknown_option(of, name, command != nullptr ? command->get_name() : "");
      }
    } else if (command == nullptr) {
      command = command_of(app, word);
      if (command == nullptr) return unknown_command(app, word);
    }
  }
  if (command == nullptr) {
    return problem("CLI-070", "no command is given", "one of: " + listed(command_names(app)));
  }
  std::string said = error.what();
  if (const auto left = app.remaining(true); !left.empty()) {
    said = "'" + formats::shown(left.front()) + "' is a word too many";
  }
  return problem("CLI-072", said, "see isthmus " + command->get_name() + " --help");
}

}  // namespace isthmus::cli
