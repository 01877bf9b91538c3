// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/ipc_d_356.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <numbers>
#include <set>

#include "formats/ipc_d_356/record.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

constexpr std::int64_t kInchCount = 2540, kMetricCount = 1000;  // nm: 0.0001 inch, 0.001 mm

struct Skipped {
  std::string_view code, what;
};
constexpr std::array kSkipped{
    Skipped{"099", "tester locations"},
    Skipped{"088", "mask clearances"},
    Skipped{"370", "embedded components"},
    Skipped{"070", "embedded components"},
    Skipped{"380", "mounted components"},
    Skipped{"080", "mounted components"},
    Skipped{"378", "conductors"},
    Skipped{"078", "conductors"},
    Skipped{"379", "adjacencies"},
    Skipped{"079", "adjacencies"},
    Skipped{"389", "outlines"},
    Skipped{"089", "outlines"},
    Skipped{"390", "features that are not tested"},
    Skipped{"090", "features that are not tested"},
};

class NetlistReader {
 public:
  NetlistReader(const std::string& file, Diagnostics& notes) : notes_(notes) {
    netlist_.file = file;
  }

  Result<Netlist> read(std::string_view bytes) {
    for (const std::string_view text : split_lines(bytes)) {
      ++line_;
      source_ = text;
      if (std::optional<Problem> p = read_line(text)) return *p;
    }
    if (!ended_) {
      source_ = {};
      return problem("NET-011", "the file ends without its 999 record: it may have been cut short",
                     "export it again; if it is whole, add a last line: 999");
    }
    if (netlist_.records.empty()) {
      return Problem{netlist_.file,
                     0,
                     0,
                     "NET-012",
                     "holds no test records (317, 327)",
                     "export the netlist with its test records",
                     ""};
    }
    return finish();
  }

 private:
  [[nodiscard]] Problem problem(const char* code, std::string message, std::string hint = "",
                                int column = 1) const {
    return {netlist_.file,       line_, column, code, std::move(message), std::move(hint),
            std::string(source_)};
  }

  std::optional<Problem> read_line(std::string_view text) {
    if (trim(text).empty()) return std::nullopt;
    if (ended_) {
      if (!after_end_) notes_.note(problem("NET-021", "what follows the 999 record is not read"));
      after_end_ = true;
      return std::nullopt;
    }
    if (text[0] == 'P' && (text.size() == 1 || is_blank(text[1])))
      return read_parameter(text.substr(1));
    if (text[0] == 'C' && (text.size() == 1 || is_blank(text[1])))
      return read_comment(text.substr(1));
    const std::string_view code = text.substr(0, 3);
    if (code.size() == 3 && std::ranges::all_of(code, is_digit)) return read_record(code, text);
    return problem("NET-002", "this line is not a record of IPC-D-356A",
                   "records begin with P, C or a three-digit operation code in column 1");
  }

  std::optional<Problem> read_parameter(std::string_view rest) {
    const std::vector<std::string_view> word = words(rest);
    if (word.empty()) return std::nullopt;
    if (word[0].substr(0, 5) == "NNAME") return read_alias(trim(rest));
    const std::string_view argument = word.size() > 1 ? word[1] : "";
    if (word[0] == "VER" && contains(argument, "356B")) {
      return problem("NET-001", "revision B of IPC-D-356 is not read",
                     "export the netlist as IPC-D-356A");
    }
    if (word[0] == "IMAGE")
      other_image_ = !argument.empty() && argument != "PRIMARY" && argument != "1";
    return word[0] == "UNITS" ? read_units(word) : std::nullopt;
  }

  std::optional<Problem> read_comment(std::string_view rest) {
    return trim(rest).substr(0, 5) == "NNAME" ? read_alias(trim(rest)) : std::nullopt;
  }

  std::optional<Problem> read_units(const std::vector<std::string_view>& word) {
    const std::string_view system = word.size() > 1 ? word[1] : "";
    const std::string_view variant = word.size() > 2 ? word[2] : "0";
    std::int64_t unit = 0;
    if (system == "SI" || (system == "CUST" && variant == "1")) unit = kMetricCount;
    if (system == "CUST" && (variant == "0" || variant == "2")) unit = kInchCount;
    if (unit == 0) {
      return problem("NET-003", "the units '" + shown(trim(source_.substr(1))) + "' are unknown",
                     "UNITS is one of: CUST 0, CUST 1, CUST 2, SI");
    }
    const bool radians = variant == "2" && system == "CUST";
    if (unit_ != 0 && (unit_ != unit || radians_ != radians)) {
      return problem("NET-004", "a second UNITS record contradicts the first",
                     "keep the one the file was made with, at the top");
    }
    if (!netlist_.records.empty() && unit_ == 0) {
      return problem("NET-004", "the UNITS record comes after test records",
                     "move it to the top, if the records before it were made in this unit too");
    }
    if (radians) {
      notes_.warn(problem("NET-022",
                          "CUST 2 means inches and radians; some writers mean millimetres",
                          "compare the board's size in `inspect`"));
    }
    unit_ = unit;
    radians_ = radians;
    return std::nullopt;
  }

  // "NNAMEm0000 REAL NAME", or "NNAME m0000 REAL NAME".
  std::optional<Problem> read_alias(std::string_view text) {
    std::string_view rest = text.substr(5);
    if (!rest.empty() && is_blank(rest[0])) rest = trim(rest);
    const std::string_view suffix = rest.substr(0, rest.find(' '));
    const std::string real(trim(rest.substr(suffix.size())));
    if (suffix.empty() || real.empty()) return std::nullopt;
    const auto [it, fresh] = aliases_.emplace(std::string(suffix), real);
    if (!fresh && it->second != real) {
      return problem("NET-009",
                     "the alias '" + shown(suffix) + "' stands for two names: '" +
                         shown(it->second) + "' and '" + shown(real) + "'",
                     "correct the NNAME records, or export again");
    }
    return std::nullopt;
  }

  std::optional<Problem> read_record(std::string_view code, std::string_view text) {
    if (code == "999") {
      ended_ = true;
      return std::nullopt;
    }
    if (code == "309") {
      if (!stepped_) {
        notes_.warn(problem("NET-026",
                            "a step-and-repeat (309) is not carried out: only the points "
                            "of the first image are tested",
                            "for a panel, test each board by its own netlist"));
      }
      stepped_ = true;
      return std::nullopt;
    }
    const auto skipped = std::ranges::find(kSkipped, code, &Skipped::code);
    if (skipped != kSkipped.end()) {
      if (skipped_.insert(skipped->what).second) {
        notes_.note(problem(
            "NET-020", std::string(skipped->what) + " (" + std::string(code) + ") are not used"));
      }
      return std::nullopt;
    }
    static constexpr std::array<std::string_view, 8> kTest{"317", "327", "307", "367",
                                                           "337", "347", "017", "027"};
    if (std::ranges::find(kTest, code) == kTest.end()) {
      return problem("NET-010", "the operation code " + std::string(code) + " is unknown",
                     "if the record holds no test point, remove it");
    }
    return read_test_record(code, text);
  }

  std::optional<Problem> read_test_record(std::string_view code, std::string_view text) {
    if (other_image_) {
      return problem("NET-015",
                     "a test record of another image than the primary: its place on the "
                     "board is not known",
                     "export the netlist of the single board, not of the panel");
    }
    if (unit_ == 0) {
      unit_ = kInchCount;
      notes_.warn(problem("NET-023", "there is no UNITS record: 0.0001 inch is assumed",
                          "compare the board's size in `inspect`"));
    }
    Result<TestRecord> parsed = parse_test_record(text, {netlist_.file, line_, unit_});
    if (!parsed) return parsed.problem();
    remark(*parsed);
    NetlistRecord& r = parsed->value;
    if (radians_) r.rotation_deg *= 180 / std::numbers::pi;
    netlist_.bottom_access = std::max(netlist_.bottom_access, r.access);
    if (code[0] == '0') return fold(code, std::move(r));
    if (code == "317" || code == "367" || code == "337" || code == "347") {
      r.kind = code == "317" ? FeatureKind::through_hole : FeatureKind::tooling;
    } else {
      r.kind = code == "307" ? FeatureKind::blind_via : FeatureKind::surface;
    }
    if (r.access < 0 && r.kind != FeatureKind::blind_via) {
      return problem("NET-005", "the record does not say from which side the point can be reached",
                     "column 39 holds A and the access code, 00 for both sides",
                     39 + parsed->shift);
    }
    netlist_.records.push_back(std::move(r));
    return std::nullopt;
  }

  void remark(const TestRecord& parsed) {
    if (parsed.shift != 0 && !shifted_) {
      notes_.warn(problem("NET-024",
                          "the columns of this record are displaced by " +
                              std::to_string(parsed.shift) + "; read all the same",
                          "look at this record's point in `inspect`"));
      shifted_ = true;
    }
    if (parsed.saturated && !saturated_) {
      notes_.note(problem("NET-025", "a size fills its field (9999) and may be larger"));
      saturated_ = true;
    }
  }

  std::optional<Problem> fold(std::string_view code, NetlistRecord r) {
    if (netlist_.records.empty()) {
      return problem("NET-013", "this continuation (" + std::string(code) + ") continues no record",
                     "a record before it was lost: export again");
    }
    NetlistRecord& parent = netlist_.records.back();
    if (!r.net.empty() && r.net != parent.net) {
      return problem("NET-014",
                     "this continuation names the net '" + shown(r.net) +
                         "', the record before it '" + shown(parent.net) + "'",
                     "one of the two is wrong: export again", 4);
    }
    const bool further_pad = !r.hole && r.access >= 0 && r.at != parent.at;
    if (further_pad || (code == "027" && parent.kind == FeatureKind::surface)) {
      r.kind = FeatureKind::surface;
      r.net = parent.net;
      if (r.ref.empty()) r.ref = parent.ref;
      if (r.pin.empty()) r.pin = parent.pin;
      if (r.access < 0) r.access = parent.access;
      netlist_.records.push_back(std::move(r));
      return std::nullopt;
    }
    if (r.hole && !parent.hole) {
      parent.hole = r.hole;
      parent.plated = r.plated;
      if (r.at != parent.at) parent.hole_at = r.at;
    }
    if (parent.size_x.value == 0) {
      parent.size_x = r.size_x;
      parent.size_y = r.size_y;
      parent.rotation_deg = r.rotation_deg;
    }
    if (parent.kind == FeatureKind::through_hole && r.access >= 0 && r.access != parent.access) {
      parent.access = 0;  // reached from two sides
    } else if (parent.access < 0) {
      parent.access = r.access;
    }
    parent.mid_net = parent.mid_net || r.mid_net;
    return std::nullopt;
  }

  Netlist finish() {
    netlist_.metric = unit_ == kMetricCount;
    // Where one record writes a whole token, a bare suffix is a net's own name.
    const bool whole = std::ranges::any_of(netlist_.records, [&](const NetlistRecord& r) {
      return r.net.substr(0, 5) == "NNAME" && aliases_.contains(r.net.substr(5));
    });
    for (NetlistRecord& r : netlist_.records) {
      if (whole && r.net.substr(0, 5) != "NNAME") continue;
      const auto it = aliases_.find(whole ? r.net.substr(5) : r.net);
      if (it != aliases_.end()) r.net = it->second;
    }
    return std::move(netlist_);
  }

  Diagnostics& notes_;
  Netlist netlist_;
  std::int32_t line_{};
  std::string_view source_;
  std::int64_t unit_{};
  bool radians_{false}, ended_{false}, after_end_{false}, shifted_{false}, saturated_{false};
  bool stepped_{false}, other_image_{false};
  std::map<std::string, std::string> aliases_;
  std::set<std::string_view> skipped_;
};

}  // namespace

Result<Netlist> read_ipc_d_356(std::string_view bytes, const std::string& file_name,
                               Diagnostics& notes) {
  return NetlistReader(file_name, notes).read(bytes);
}

}  // namespace isthmus::formats
