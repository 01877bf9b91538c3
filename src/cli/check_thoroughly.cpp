// SPDX-License-Identifier: Apache-2.0
#include "cli/check_thoroughly.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "cli/adapter_options.hpp"
#include "cli/dumped.hpp"
#include "cli/terminal.hpp"
#include "isthmus/adapter/contract.hpp"

namespace isthmus::cli {
namespace {

using adapter::Clause;
using adapter::ContractReport;
using adapter::Holds;
using nlohmann::ordered_json;

ordered_json as_json(const ContractReport& report) {
  ordered_json j;
  if (report.identity) {
    j["maker"] = report.identity->maker;
    j["model"] = report.identity->model;
    j["serial"] = report.identity->serial_number;
    j["firmware"] = report.identity->firmware;
  }
  j["contract"] = 1;
  j["clauses"] = ordered_json::array();
  for (const Clause& c : report.clauses) {
    const ordered_json holds =
        c.holds == Holds::not_tried ? ordered_json() : ordered_json(c.holds == Holds::yes);
    j["clauses"].push_back(
        {{"subject", c.subject}, {"clause", c.says}, {"ok", holds}, {"seen", c.seen}});
  }
  j["kept"] = report.count(Holds::yes);
  j["broken"] = report.count(Holds::no);
  j["not_tried"] = report.count(Holds::not_tried);
  j["stopped"] = report.stopped ? ordered_json(report.stopped->message) : ordered_json();
  return j;
}

const char* word(Holds holds) {
  return holds == Holds::yes ? "ok" : holds == Holds::no ? "BROKEN" : "not tried";
}

std::string as_text(const ContractReport& report) {
  std::string out;
  if (report.identity) {
    out = fmt::format("{} {}, serial number {}, firmware {}\n", report.identity->maker,
                      report.identity->model, report.identity->serial_number,
                      report.identity->firmware);
  }
  for (const Clause& c : report.clauses) {
    out += fmt::format("{:<10} {:<11} {}\n", word(c.holds), c.subject, c.says);
    out += fmt::format("{:<22} seen: {}\n", "", c.seen);
  }
  return out + fmt::format("{} clauses kept, {} broken, {} not tried\n", report.count(Holds::yes),
                           report.count(Holds::no), report.count(Holds::not_tried));
}

int exit_of(const ContractReport& report) {
  if (report.stopped) return exit_code(*report.stopped);
  return report.count(Holds::no) > 0 ? kFaults : kPass;
}

}  // namespace

int check_thoroughly(const std::string& address, const std::string& fixture, bool json) {
  if (auto known = check_address(address); !known) return bad_input(known.problem());
  auto link = open_link(address, fixture);
  if (!link) return give_up(link.problem());
  const ContractReport report = adapter::check_contract(std::move(link->stream));
  print(json ? dumped(as_json(report)) + "\n" : as_text(report));
  if (report.stopped) complain(*report.stopped);
  return exit_of(report);
}

}  // namespace isthmus::cli
