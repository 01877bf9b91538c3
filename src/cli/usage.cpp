// SPDX-License-Identifier: Apache-2.0
#include "cli/usage.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <regex>

#include "isthmus/formats/names.hpp"
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

// "--fixture" or "BOARD" of "--fixture: ...", as the library begins what it says of one option.
const CLI::Option* option_of(const CLI::App& command, const std::string& said) {
  const std::string name = said.substr(0, said.find(':'));
  for (const CLI::Option* option : command.get_options()) {
    if (option->get_name() == name || option->check_name(name)) return option;
  }
  return nullptr;
}

// "3 not in {2,4}" as "3 is not one of 2, 4"; "Value 300 not in range [2 - 256]" likewise.
std::string choice_in_words(const std::string& said) {
  static const std::regex kOneOf(R"(^(.*): (.*) not in \{(.*)\}$)");
  static const std::regex kRange(
      R"(^(.*): Value (.*) not in range \[?(\S+) (?:to|-) ([^\s\]]+)\]?$)");
  std::smatch m;
  if (std::regex_match(said, m, kOneOf)) {
    std::string list = m[3];
    for (std::size_t i = 0; (i = list.find(',', i)) != std::string::npos; i += 2)
      list.insert(i + 1, " ");
    return m[1].str() + ": '" + formats::shown(m[2].str()) + "' is not one of " + list;
  }
  if (std::regex_match(said, m, kRange)) {
    return m[1].str() + ": '" + formats::shown(m[2].str()) + "' is not between " + m[3].str() +
           " and " + m[4].str();
  }
  return said;
}

std::string counted_values(std::size_t n) {
  return n == 1 ? "a value" : std::to_string(n) + " values";
}

// What the library says, in our words where it says so little that one has to know it.
std::string in_words(const CLI::App& command, const CLI::ParseError& error) {
  const std::string said = error.what();
  if (dynamic_cast<const CLI::ArgumentMismatch*>(&error) != nullptr) {
    const CLI::Option* option = option_of(command, said);
    if (option == nullptr) return said;
    const auto most = static_cast<std::size_t>(std::max(0, option->get_items_expected_max()));
    if (most == 0) return option->get_name() + " takes no value";
    return option->get_name() + " needs " +
           counted_values(static_cast<std::size_t>(std::max(1, option->get_items_expected_min())));
  }
  if (dynamic_cast<const CLI::ConversionError*>(&error) != nullptr) {
    static const std::regex kValue(R"(^Could not convert: (.*) = (.*)$)");
    std::smatch m;
    if (!std::regex_match(said, m, kValue)) return said;
    const CLI::Option* option = option_of(command, m[1]);
    if (option != nullptr && option->get_items_expected_max() == 0)
      return m[1].str() + " takes no value";
    return m[1].str() + ": '" + formats::shown(m[2].str()) + "' is not a whole number";
  }
  if (dynamic_cast<const CLI::RequiresError*>(&error) != nullptr) {
    const std::size_t at = said.find(" requires ");
    if (at != std::string::npos) return said.substr(0, at) + " needs " + said.substr(at + 10);
  }
  if (dynamic_cast<const CLI::ValidationError*>(&error) != nullptr) return choice_in_words(said);
  return said;
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
  std::string said = in_words(*command, error);
  if (const auto left = app.remaining(true); !left.empty()) {
    said = "'" + formats::shown(left.front()) + "' is an unexpected argument";
  }
  return problem("CLI-072", said, "see isthmus " + command->get_name() + " --help");
}

void add_examples(CLI::App& app) {
  constexpr std::array kExamples{
      std::pair{"import", "isthmus import . --stage etched"},
      std::pair{"inspect", "isthmus inspect board.yaml --between J1.1 R4.1"},
      std::pair{"fixture",
                "isthmus fixture board.yaml --channels 64 --contact-check --out fixture.yaml"},
      std::pair{"plan", "isthmus plan board.yaml --fixture fixture.yaml"},
      std::pair{"test",
                "isthmus test board.yaml --fixture fixture.yaml --adapter serial:/dev/ttyACM0 "
                "--unit TG-001"},
      std::pair{"guide", "isthmus guide board.yaml --channels 16 --adapter serial:/dev/ttyACM0"},
      std::pair{"report", "isthmus report 3 --report pages"},
      std::pair{"history", "isthmus history TG-001"},
      std::pair{
          "zero",
          "isthmus zero --fixture fixture.yaml --adapter serial:/dev/ttyACM0 --out zero.json"},
      std::pair{"adapters", "isthmus adapters --check serial:/dev/ttyACM0"},
  };
  for (const auto& [name, example] : kExamples)
    app.get_subcommand(name)->footer(std::string("Example: ") + example);
}

std::string fit_as_name(const std::string& name) { return formats::unfit_as_name(name); }

}  // namespace isthmus::cli
