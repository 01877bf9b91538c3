// SPDX-License-Identifier: Apache-2.0
#include "adapter/checker.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "adapter/wanted.hpp"

namespace isthmus::adapter {
namespace {

std::string plural(std::size_t n, const char* word) {
  return fmt::format("{} {}{}", n, word, n == 1 ? "" : "s");
}

std::string in_words(const std::vector<std::string>& lines) {
  if (lines.empty()) return "nothing";
  std::string out;
  for (const std::string& line : lines) {
    if (!out.empty()) out += ", then ";
    out += "\"" + shown(line) + "\"";
  }
  return out;
}

// What came and what was wanted; of one long line the first answer that is not as wanted.
std::string difference(const std::string& wanted, const std::vector<std::string>& got) {
  if (wanted.empty()) return in_words(got) + ", wanted is nothing";
  if (got.size() == 1) {
    const auto want = answers_of(wanted), have = answers_of(got.front());
    for (std::size_t i = 0; i < want.size() && want.size() == have.size(); ++i) {
      if (as_wanted(want[i], have[i])) continue;
      return fmt::format("\"{}\", wanted is \"{}\"", shown(have[i]), shown(want[i]));
    }
  }
  return fmt::format("{}, wanted is \"{}\"", in_words(got), shown(wanted));
}

std::string numbers(const std::vector<int>& errors) {
  return errors.empty() ? "no error" : fmt::format("error {}", fmt::join(errors, ", "));
}

// In what order two wrong units of one message are found is the adapter's; each is.
bool same_errors(const std::vector<int>& wanted, const std::vector<std::string>& got) {
  if (wanted.size() != got.size()) return false;
  for (std::size_t i = 0; i < got.size(); ++i) {
    if (plain_error(got[i]) != wanted[i]) return false;
  }
  return true;
}

}  // namespace

std::size_t ContractReport::count(Holds holds) const {
  return static_cast<std::size_t>(
      std::ranges::count_if(clauses, [&](const Clause& c) { return c.holds == holds; }));
}

void Checker::note(const std::string& says, bool holds, const std::string& seen) {
  report_.clauses.push_back({subject_, says, holds ? Holds::yes : Holds::no, seen});
}

void Checker::not_tried(const std::string& says, const std::string& why) {
  report_.clauses.push_back({subject_, says, Holds::not_tried, why});
}

Seconds Checker::busy(std::string_view message) const {
  double count = 0;
  for (auto at = message.find("MEAS:"); at != std::string_view::npos;
       at = message.find("MEAS:", at + 1))
    ++count;
  if (!report_.capabilities) return Seconds{0};
  return Seconds{count * (0.020 + 4 * can().settle_s + 8 * can().convert_s)};
}

std::string Checker::attempt(const Try& one) {
  talk_.say("*RST;*CLS\n");
  const Said said = talk_.say(one.send + "\n", busy(one.send));
  if (ended()) return "the link ended at \"" + shown(one.send) + "\"";
  const bool answered = one.wanted.empty()
                            ? said.lines.empty()
                            : said.lines.size() == 1 && as_wanted(one.wanted, said.lines.front());
  if (!answered) {
    return fmt::format("\"{}\" was answered {}", shown(one.send),
                       difference(one.wanted, said.lines));
  }
  if (!same_errors(one.errors, said.errors)) {
    return fmt::format("\"{}\" left {} in the error queue, wanted is {}", shown(one.send),
                       in_words(said.errors), numbers(one.errors));
  }
  return "";
}

void Checker::clause(const std::string& says, const std::vector<Try>& tries) {
  for (const Try& one : tries) {
    if (ended()) return;
    const std::string wrong = attempt(one);
    if (!wrong.empty()) return note(says, false, wrong);
  }
  note(says, true, plural(tries.size(), "message"));
}

void Checker::units(const std::string& says, const std::vector<Unit>& units) {
  const std::size_t most = std::min<std::size_t>(can().buffer / 2, 2000);
  std::vector<Try> tries;
  for (const Unit& unit : units) {
    if (tries.empty() || tries.back().send.size() + unit.send.size() + 1 > most) {
      tries.push_back({unit.send, unit.wanted, {}});
      continue;
    }
    Try& last = tries.back();
    last.send += ";" + unit.send;
    if (!unit.wanted.empty()) last.wanted += (last.wanted.empty() ? "" : ";") + unit.wanted;
  }
  for (const Try& one : tries) {
    if (ended()) return;
    const std::string wrong = attempt(one);
    if (!wrong.empty()) return note(says, false, wrong);
  }
  note(says, true, plural(units.size(), "unit"));
}

}  // namespace isthmus::adapter
