// SPDX-License-Identifier: Apache-2.0
#include "formats/drill/commands.hpp"

#include <algorithm>
#include <array>
#include <cstdint>

#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

constexpr std::array kReadG{0, 1, 2, 3, 4, 5, 7, 40, 70, 71, 81, 85, 90, 91, 92, 93};
constexpr std::array kReadM{0,  1,  2,  6,  8,  9,  15, 16, 17, 18,
                            25, 30, 31, 47, 48, 61, 62, 63, 71, 72};

constexpr std::array<std::string_view, 34> kMachine{
    "AFS",      "ATC",  "BLKD", "CCW",    "CP",   "CTL",  "DETECT", "DN",    "DTMDIST",
    "EXDA",     "FSB",  "HPCK", "LEADER", "LINV", "NCSL", "OM48",   "OSTOP", "OTCLMP",
    "PCKPARAM", "PF",   "PPR",  "PVS",    "R",    "SBK",  "SBZ",    "SG",    "SIXM",
    "STACK",    "TCST", "UP",   "VER",    "ZA",   "ZC",   "ZS"};

struct Known {
  char letter;
  int first, last;
  const char *what, *hint;
};
constexpr const char* kWriteOut = "export the board with all holes and cuts written out";
constexpr const char* kAlone = "export the single board, without step-and-repeat or mirroring";
constexpr const char* kNoText = "export without text, or take the line out";
constexpr const char* kArcs = "export circles as arcs (G02, G03), or the drill layer as Gerber";
constexpr std::array kKnown{
    Known{'G', 32, 33, "a canned circle, whose radius may be the tool's or the cut's", kArcs},
    Known{'G', 34, 39, "a place found by camera", kWriteOut},
    Known{'G', 41, 42, "the cut beside the line", "export without cutter compensation"},
    Known{'G', 45, 48, "a place found by camera", kWriteOut},
    Known{'G', 82, 83, "a canned row of pins", kWriteOut},
    Known{'G', 84, 84, "a canned circle, whose size may be the tool's path or the cut's", kArcs},
    Known{'G', 87, 87, "a slot in steps", "export slots as G85 or as routed lines"},
    Known{'M', 14, 14, "a cut of limited depth",
          "leave cuts that do not go through the board out of the file"},
    Known{'M', 45, 45, "a message of several lines", kNoText},
    Known{'M', 50, 52, "step-and-repeat by camera", kAlone},
    Known{'M', 60, 60, "scaled places", "export without scaling"},
    Known{'M', 70, 70, "swapped axes", kAlone},
    Known{'M', 80, 80, "a mirrored copy", kAlone},
    Known{'M', 90, 90, "a mirrored copy", kAlone},
    Known{'M', 97, 98, "drilled text", kNoText},
    Known{'M', 99, 99, "a stored pattern", kWriteOut},
    Known{'P', 0, 99'999, "a stored pattern", kWriteOut}};

template <std::size_t N>
bool among(const std::array<int, N>& codes, std::int64_t code) {
  return std::ranges::find(codes, code) != codes.end();
}

// Why a command (G, M or P) is not read; nothing for one that is.
std::optional<DrillRefusal> refused_command(const DrillWord& word) {
  const char letter = word.letter;
  const std::int64_t code = to_int(word.number).value_or(-1);
  if (letter == 'G' && among(kReadG, code)) return std::nullopt;
  if (letter == 'M' && among(kReadM, code)) return std::nullopt;
  DrillRefusal out{word.column,
                   letter == 'G'   ? "DRL-010"
                   : letter == 'M' ? "DRL-013"
                                   : "DRL-002",
                   letter + shown(word.number), ""};
  const auto known = std::ranges::find_if(kKnown, [&](const Known& k) {
    return k.letter == letter && code >= k.first && code <= k.last;
  });
  if (known != kKnown.end()) {
    out.message += std::string(" (") + known->what + ") is not read";
    out.hint = known->hint;
  } else {
    out.message += " is no command this program knows";
    out.hint = "docs/formats/drill.md lists what is read";
  }
  return out;
}

std::optional<DrillWord>* place_of(DrillBlock& b, char letter) {
  switch (letter) {
    case 'X':
      return b.slot ? &b.slot_x : &b.x;
    case 'Y':
      return b.slot ? &b.slot_y : &b.y;
    case 'I':
      return &b.i;
    case 'J':
      return &b.j;
    case 'A':
      return &b.a;
    case 'T':
      return &b.tool;
    case 'C':
      return &b.diameter;
    case 'R':
      return &b.repeat;
    default:
      return nullptr;
  }
}

}  // namespace

std::optional<DrillRefusal> take_apart(const std::vector<DrillWord>& words, DrillBlock& to) {
  for (const DrillWord& w : words) {
    if (std::optional<DrillWord>* const place = place_of(to, w.letter)) {
      if (*place) {
        return DrillRefusal{w.column, "DRL-005",
                            std::string("a second ") + w.letter + " in one line",
                            "split the line, or export the file again"};
      }
      *place = w;
    } else if (contains("GMP", std::string_view(&w.letter, 1))) {
      if (auto refusal = refused_command(w)) return refusal;
      const bool slot = w.letter == 'G' && to_int(w.number) == 85;
      to.slot |= slot;
      if (!slot) (w.letter == 'G' ? to.g : to.m).push_back(w);
    } else if (!contains("FSBHZN", std::string_view(&w.letter, 1))) {  // feed, speed, tool life...
      return DrillRefusal{w.column, "DRL-002",
                          std::string("the word ") + w.letter + " is not known here",
                          "is this a drill file? docs/formats/drill.md lists what is read"};
    }
  }
  return std::nullopt;
}

const DrillWord* command_of_place(const DrillBlock& b) {
  const int place = b.x ? b.x->column : b.y ? b.y->column : b.repeat ? 999 : 0;
  const auto found = std::ranges::find_if(b.m, [&](const DrillWord& m) {
    const std::int64_t code = to_int(m.number).value_or(-1);
    const bool takes = code == 0 || code == 2 || code == 6 || code == 9 || code == 30;
    return takes && m.column < place;
  });
  return found == b.m.end() ? nullptr : &*found;
}

bool is_machine_line(std::string_view line) {
  const std::string_view head = trim(line.substr(0, line.find(',')));
  if (std::ranges::find(kMachine, head) != kMachine.end()) return true;
  return is_digit(line[0]) && line.find_first_not_of("0123456789/") == std::string_view::npos;
}

std::optional<DrillRefusal> refused_text_line(std::string_view line) {
  if (line.size() < 4 || (line[0] != 'G' && line[0] != 'M') || !is_digit(line[1]) ||
      !is_digit(line[2]) || line[3] != ',') {
    return std::nullopt;
  }
  auto refusal = refused_command({line[0], line.substr(1, 2), 1});
  if (!refusal) {
    refusal = DrillRefusal{1, "DRL-002", shown(line.substr(0, 3)) + " does not take text",
                           "correct this line or export the file again"};
  }
  return refusal;
}

}  // namespace isthmus::formats
