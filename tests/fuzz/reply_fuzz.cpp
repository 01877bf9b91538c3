// SPDX-License-Identifier: Apache-2.0
// What an adapter says. The first byte chooses what it answers; whatever the checksum does not hold
// for is tried with the right one too, so that the reader behind it is reached.
#include <algorithm>
#include <array>

#include "adapter/reply.hpp"
#include "tests/fuzz/fuzz.hpp"

using namespace isthmus;
using namespace isthmus::fuzz;

namespace {

void check_answer(std::string_view text, const adapter::Request& request) {
  const adapter::Judged judged = adapter::judge_answer(text, request);
  demand(judged.answer.has_value() == judged.wrong.empty(), "an answer or a reason");
  if (!judged.answer) return;
  demand(judged.answer->tag == request.tag, "the answer is of the step asked for");
  demand(!(judged.answer->none && judged.answer->over_range), "over-range or no reading");
  demand(judged.answer->none || judged.answer->over_range ||
             (judged.answer->value < 9.9e37 && judged.answer->value > -9.9e37),
         "a reading is a number");
}

// Damage of one character never passes for an answer (docs/adapter.md: CRC-16 finds every burst of
// up to 16 bits).
void check_damage(std::string text, const adapter::Request& request, unsigned where) {
  const adapter::Judged good = adapter::judge_answer(text, request);
  if (!good.answer || text.empty()) return;
  char& c = text[where % text.size()];
  const bool blank_in_front = c == ' ';
  c = static_cast<char>(c ^ 1);
  const adapter::Judged bad = adapter::judge_answer(text, request);
  demand(!bad.answer || blank_in_front ||
             (bad.answer->value == good.answer->value && bad.answer->status == good.answer->status),
         "damage is found");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const unsigned choice = data[0];
  const std::string text(text_of(data + 1, size - 1));
  adapter::Request request;
  request.tag = 16;
  request.closed = {{1, 5}, {2, 9}};
  static constexpr std::array kWhat{adapter::Measure::resistance, adapter::Measure::four_wire,
                                    adapter::Measure::isolation, adapter::Measure::contact,
                                    adapter::Measure::voltage};
  request.what = kWhat[choice % kWhat.size()];
  check_answer(text, request);
  const std::string::size_type blanks = std::min(text.find_first_not_of(' '), text.size());
  std::string checked = text.substr(blanks) + ",#H";
  static constexpr std::string_view kHex = "0123456789ABCDEF";
  const unsigned crc = adapter::crc16(std::string_view(checked).substr(0, checked.size() - 2));
  for (unsigned shift = 16; shift > 0; shift -= 4) checked += kHex[(crc >> (shift - 4)) & 15U];
  check_answer(checked, request);
  check_damage(checked, request, choice);
  if (const auto identity = adapter::parse_identity(text); !identity)
    demand(!identity.problem().code.empty(), "a problem has a code");
  if (const auto can = adapter::parse_capabilities(text); !can)
    demand(!can.problem().code.empty(), "a problem has a code");
  return 0;
}
