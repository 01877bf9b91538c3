// SPDX-License-Identifier: Apache-2.0
#include "formats/drill/body.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>
#include <utility>

#include "formats/drill/commands.hpp"
#include "formats/drill/path.hpp"
#include "formats/drill/words.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

constexpr std::size_t kMaxHoles = 200'000;
constexpr std::int64_t kMaxRepeats = 10'000;

struct Tool {
  Nanometres diameter{};
  std::optional<bool> plated;
  std::optional<std::int64_t> holes{};  // as a table in comments says
};

// A tool's size, given before the file has named its unit.
struct SizeWithoutUnit {
  int tool{};
  DrillWord size;
  std::optional<bool> plated;
  std::int32_t line{};
  int indent{};
  std::string_view source;
};

class BodyReader {
 public:
  BodyReader(const std::string& file, NumberFormat format, Diagnostics& notes)
      : file_(file), format_(format), notes_(notes) {}

  Result<std::vector<Hole>> read(const std::vector<std::string_view>& lines) {
    routes_say_down_ = std::ranges::any_of(
        lines, [](std::string_view l) { return trim(l).substr(0, 3) == "M15"; });
    tools_by_stop_ =
        std::ranges::none_of(lines, [](std::string_view l) { return trim(l).substr(0, 1) == "T"; });
    metric_ = format_.metric && !names_unit(lines) ? format_.metric : std::nullopt;
    for (const std::string_view text : lines) {
      ++line_;
      source_ = text;
      read_line(text);
      if (problem_) return *problem_;
      if (ended_) {
        compare_with_table();
        return std::move(holes_);
      }
    }
    source_ = {};
    indent_ = 0;
    fail(1, "DRL-009", "the file ends without M30: it may have been cut short",
         "export it again; if it is whole, add a last line: M30");
    return *problem_;
  }

 private:
  static bool names_unit(const std::vector<std::string_view>& lines) {
    return declared_format(lines).metric.has_value() ||
           std::ranges::any_of(
               lines, [](std::string_view l) { return contains(l, "M71") || contains(l, "M72"); });
  }

  void fail(int column, const char* code, std::string message, std::string hint = "") {
    if (problem_) return;
    problem_ = Problem{file_,
                       line_,
                       column + indent_,
                       code,
                       std::move(message),
                       std::move(hint),
                       std::string(source_)};
  }
  void fail(const DrillRefusal& why) { fail(why.column, why.code, why.message, why.hint); }
  void warn_once(int column, const char* code, std::string message, std::string hint) {
    if (std::ranges::find(warned_, code) != warned_.end()) return;
    warned_.emplace_back(code);
    notes_.warn({file_, line_, column + indent_, code, std::move(message), std::move(hint),
                 std::string(source_)});
  }

  void read_line(std::string_view text) {
    const std::size_t semicolon = text.find(';');
    if (semicolon != std::string_view::npos) read_comment(text.substr(semicolon + 1));
    const std::string_view line = trim(text.substr(0, semicolon));
    indent_ = static_cast<int>(line.data() - text.data());
    if (line.empty() || line[0] == '(' || line == "/") return;
    if (line == "%" || line == "M95") {
      if (in_header_) tool_ = std::nullopt;  // in the body % begins a pattern, as M25 does
      in_header_ = false;
      return;
    }
    if (line == "M48") {
      in_header_ = true;
      return;
    }
    if (line.substr(0, 3) == "M47") return;  // a message to the operator
    if (const auto unit = unit_line(line)) return set_unit(unit->metric);
    if (const auto word = drill_words(line)) {
      DrillBlock block;
      const auto refusal = take_apart(*word, block);
      return refusal ? fail(*refusal) : execute(block);
    }
    read_keyword(line);
  }

  void read_comment(std::string_view text) {
    const DrillComment c = drill_comment(text);
    if (c.file_plated) file_plated_ = c.file_plated;
    if (c.span) span_ = c.span;
    if (contains(text, "#@! TD")) next_tool_plated_ = std::nullopt;
    if (c.tool_plated) next_tool_plated_ = c.tool_plated;
    if (c.type_plated) (in_header_ ? type_plated_ : body_plated_) = c.type_plated;
    if (c.tool && !tools_.contains(c.tool->number)) {
      tools_[c.tool->number] = {c.tool->diameter, c.tool->plated, c.tool->holes};
    }
    if (c.plated_from) plated_from_[c.plated_from->first] = c.plated_from->second;
  }

  void read_keyword(std::string_view line) {
    const std::string_view head = trim(line.substr(0, line.find(',')));
    const std::string_view rest =
        line.size() > head.size() ? trim(line.substr(head.size() + 1)) : "";
    if (head == "FMAT") {
      if (rest != "2")
        fail(1, "DRL-003", "only format 2 of the command set is read, not " + shown(rest),
             "export with FMAT,2");
    } else if (head == "ICI") {
      incremental_ = rest == "ON";
    } else if (const auto refusal = refused_text_line(line)) {
      fail(*refusal);
    } else if (line[0] == '/') {
      fail(1, "DRL-002", "a block that the operator may leave out (/): it is read neither way",
           "take out the / or the line");
    } else if (!is_machine_line(line)) {
      fail(1, "DRL-002", "'" + shown(line) + "' is not a drill command this program knows",
           "is this a drill file? docs/formats/drill.md lists what is read");
    }
  }

  void set_unit(bool metric) {
    if (metric_ && *metric_ != metric) {
      fail(1, "DRL-004", "the unit changes within the file", "use one unit throughout");
    }
    metric_ = metric;
    for (const SizeWithoutUnit& s : std::exchange(without_unit_, {})) {
      const auto here = std::tuple(line_, indent_, source_);
      std::tie(line_, indent_, source_) = std::tuple(s.line, s.indent, s.source);
      define_tool(s.tool, s.size, s.plated);
      std::tie(line_, indent_, source_) = here;
    }
  }

  void execute(const DrillBlock& b) {
    for (const DrillWord& m : b.m) {
      if (m.number == "71" || m.number == "72") set_unit(m.number == "71");
    }
    if (b.tool) use_tool(b);
    bool zero_set = false;
    for (const DrillWord& g : b.g) zero_set |= set_mode(g, b);
    if (!zero_set && !problem_) move(b);
    for (const DrillWord& m : b.m) {
      if (!problem_) miscellaneous(m);
    }
  }

  void use_tool(const DrillBlock& b) {
    const auto number = to_int(b.tool->number);
    if (!number || *number < 0)
      return fail(b.tool->column, "DRL-006", "the tool number is not whole",
                  "tools are T1 to T9999; correct the line");
    lift();
    int tool = static_cast<int>(std::min<std::int64_t>(*number, 99'999'999));
    if (b.diameter) {
      const auto plated = next_tool_plated_ ? next_tool_plated_ : type_plated_;
      if (metric_) {
        define_tool(tool, *b.diameter, plated);
      } else {
        without_unit_.push_back({tool, *b.diameter, plated, line_, indent_, source_});
      }
    } else if (b.tool->number.size() == 4 && !tools_.contains(tool)) {
      tool /= 100;  // Tttcc: tool and compensation index
    }
    tool_ = tool;
  }

  void define_tool(int number, const DrillWord& c, std::optional<bool> plated) {
    const auto value = to_double(c.number);
    const double nm = value.value_or(0) * (*metric_ ? 1e6 : 25.4e6);
    if (!(nm >= 0.5)) {  // below a nanometre it would be none
      return fail(c.column, "DRL-008", "the tool's diameter is not a positive number",
                  "correct it, as in T1C0.8");
    }
    if (!contains(c.number, ".") && !(*metric_ && *value <= 10)) {
      return fail(c.column, "DRL-008", "the tool's diameter has no decimal point",
                  "write it in full, as in T1C0.8 (metric) or T1C0.032 (inch)");
    }
    if (!(nm <= static_cast<double>(kMaxDiameter))) {
      return fail(c.column, "DRL-008", "the tool's diameter is over 100 mm",
                  "check inch and metric");
    }
    tools_[number] = {Nanometres{std::llround(nm)}, plated};
  }

  // True when the line's coordinates belong to the command itself.
  bool set_mode(const DrillWord& g, const DrillBlock& b) {
    const std::int64_t code = to_int(g.number).value_or(-1);
    switch (code) {
      case 0:
      case 1:
      case 2:
      case 3:
        if (code == 0) lift();
        route_ = static_cast<int>(code);
        routing_ = true;
        return false;
      case 5:
      case 81:
        lift();
        routing_ = false;
        return false;
      case 4:  // a pause; X is its length
        return true;
      case 70:
      case 71:
        set_unit(code == 71);
        return false;
      case 90:
      case 91:
        incremental_ = code == 91;
        return false;
      case 92:
      case 93:
        set_zero(g, b);
        return true;
      default:  // 7, 40: feed and speed; the cut on the line
        return false;
    }
  }

  void set_zero(const DrillWord& g, const DrillBlock& b) {
    const Position p{b.x ? length(*b.x) : 0, b.y ? length(*b.y) : 0};
    zero_ = p;
    if (p != Position{}) {
      warn_once(g.column, "DRL-030",
                "the zero is set elsewhere; all places after it count from there",
                "compare holes and pads in `inspect`");
    }
  }

  std::int64_t length(const DrillWord& w) {
    if (!metric_) {
      fail(w.column, "DRL-007", "the file does not say inch or metric before its first place",
           "add a line INCH or METRIC at the top");
      return 0;
    }
    const double unit = *metric_ ? 1e6 : 25.4e6;
    const auto v = to_double(w.number);
    std::string_view digits = w.number;
    if (!digits.empty() && (digits[0] == '+' || digits[0] == '-')) digits.remove_prefix(1);
    if (!v || digits.size() > 15) {
      fail(w.column, "DRL-011", std::string(1, w.letter) + shown(w.number) + " is not a number",
           "correct this line or export the file again");
      return 0;
    }
    double nm = *v * unit;
    if (!contains(digits, ".")) {
      const int decimals = format_.trailing_kept
                               ? format_.decimals
                               : static_cast<int>(digits.size()) - format_.integer_digits;
      nm = decimals >= 0 ? nm / std::pow(10.0, decimals) : nm * std::pow(10.0, -decimals);
    }
    if (!(std::abs(nm) <= static_cast<double>(kMaxCoordinate))) {
      fail(w.column, "DRL-012", "the place is more than 1.07 m from the origin",
           "check inch and metric, and the number format");
      return 0;
    }
    return std::llround(nm);
  }

  Position target(const std::optional<DrillWord>& x, const std::optional<DrillWord>& y) {
    Position p = here_;
    if (x) p.x = length(*x) + (incremental_ ? here_.x : zero_.x);
    if (y) p.y = length(*y) + (incremental_ ? here_.y : zero_.y);
    if (!problem_ && std::max(std::abs(p.x), std::abs(p.y)) > kMaxCoordinate) {
      fail(x ? x->column : y->column, "DRL-012", "the place is more than 1.07 m from the origin",
           "check inch and metric, and the number format");
      return here_;
    }
    return p;
  }

  void move(const DrillBlock& b) {
    if (const DrillWord* m = command_of_place(b)) {
      if (to_int(m->number) != 2) return;  // where the table goes: no hole
      return fail(m->column, "DRL-013", "step-and-repeat (M02 with a place) is not read",
                  "export the board alone, or with all holes written out");
    }
    if (b.repeat) return repeat(b);
    if (b.slot) return slot(b);
    if (!b.x && !b.y && !b.i && !b.j) return;
    const Position to = target(b.x, b.y);
    if (!routing_) {
      here_ = to;
      add(to, to, -1, b);
    } else if (route_ == 0) {
      here_ = to;
    } else {
      route(b, to);
    }
  }

  // Where the file chooses no tool anywhere, its table's tools follow each other, with a stop (M00)
  // before each but the first.
  bool next_tool() {
    if (!tools_by_stop_ || tools_.empty()) return false;
    const auto next = tool_ ? tools_.upper_bound(*tool_) : tools_.begin();
    if (next == tools_.end()) return false;
    tool_ = next->first;
    return true;
  }

  void compare_with_table() {
    if (!tools_by_stop_) return;
    std::map<Nanometres, std::int64_t> said, seen;
    for (const auto& [number, tool] : tools_) {
      if (!tool.holes) return;
      said[tool.diameter] += *tool.holes;
      seen[tool.diameter] += 0;
    }
    for (const Hole& h : holes_) ++seen[h.diameter];
    if (said == seen) return;
    warn_once(1, "DRL-032", "its table of tools counts other holes than the file has",
              "compare the hole sizes in `inspect --json`, or export the file again");
  }

  [[nodiscard]] std::optional<bool> plating_of(int number, const Tool& tool) const {
    if (body_plated_) return body_plated_;
    if (tool.plated) return tool.plated;
    const auto from = plated_from_.upper_bound(number);
    return from == plated_from_.begin() ? file_plated_ : std::optional(std::prev(from)->second);
  }

  void add(Position from, Position to, std::int32_t slot, const DrillBlock& b) {
    if (problem_) return;
    if (!tool_) next_tool();
    const auto tool = tool_ ? tools_.find(*tool_) : tools_.end();
    if (tool == tools_.end()) {
      const int column = b.x ? b.x->column : b.y ? b.y->column : 1;
      return tool_ && *tool_ != 0
                 ? fail(column, "DRL-014", "tool " + std::to_string(*tool_) + " has no diameter",
                        "add its line to the header, as in T1C0.8")
                 : fail(column, "DRL-015", "no tool is chosen for this hole",
                        "a line T1 (or another tool) is missing before it");
    }
    if (holes_.size() >= kMaxHoles)
      return fail(1, "DRL-016", "more than 200 000 holes",
                  "is it the right file? check repeat counts");
    Hole h;
    h.from = from;
    h.to = to;
    h.diameter = tool->second.diameter;
    h.plated = plating_of(tool->first, tool->second);
    h.span = span_;
    h.slot = slot;
    h.line = line_;
    holes_.push_back(h);
  }

  void repeat(const DrillBlock& b) {
    const auto times = to_int(b.repeat->number);
    if (!times || *times < 1 || *times > kMaxRepeats) {
      return fail(b.repeat->column, "DRL-017", "the number of repeats is not 1 to 10000",
                  "correct the line, or export with all holes written out");
    }
    const Position step{b.x ? length(*b.x) : 0, b.y ? length(*b.y) : 0};
    for (std::int64_t n = 0; n < *times && !problem_; ++n) {
      here_ = here_ + step;
      if (std::max(std::abs(here_.x), std::abs(here_.y)) > kMaxCoordinate) {
        return fail(b.repeat->column, "DRL-012",
                    "the repeats lead more than 1.07 m from the origin",
                    "check inch and metric, and the number format");
      }
      add(here_, here_, -1, b);
    }
  }

  void slot(const DrillBlock& b) {
    const Position from = target(b.x, b.y);
    here_ = from;
    const Position to = target(b.slot_x, b.slot_y);
    here_ = to;
    add(from, to, next_slot_++, b);
  }

  void route(const DrillBlock& b, Position to) {
    if (!down_ && routes_say_down_) {
      warn_once(b.g.empty() ? 1 : b.g[0].column, "DRL-031",
                "a routed move with the tool up (no M15) is taken as a cut",
                "compare this slot with the board");
    }
    std::vector<Position> path{to};
    if (route_ > 1) {
      const RoutedArc arc{here_, to, route_ == 2};
      const Position centre = here_ + Position{b.i ? length(*b.i) : 0, b.j ? length(*b.j) : 0};
      auto found = b.a ? arc_by_radius(arc, {length(*b.a)}) : arc_by_centre(arc, centre);
      if (problem_) return;
      if (!found) {
        return fail(b.g.empty() ? 1 : b.g[0].column, "DRL-018",
                    b.a ? "no arc of this radius joins the two places"
                        : "no arc about this centre joins the two places",
                    "correct the line or export the file again");
      }
      path = std::move(*found);
    }
    if (cut_ < 0) cut_ = next_slot_++;
    for (const Position p : path) {
      add(here_, p, cut_, b);
      here_ = p;
    }
    cut_something_ = true;
  }

  // Tool up. A tool that only went down drilled a hole.
  void lift() {
    if (down_ && !cut_something_) add(here_, here_, -1, {});
    down_ = cut_something_ = false;
    cut_ = -1;
  }

  void miscellaneous(const DrillWord& m) {
    switch (to_int(m.number).value_or(-1)) {
      case 0:
        lift();
        ended_ = !next_tool();
        break;
      case 2:
      case 30:
        lift();
        ended_ = true;
        break;
      case 15:
        down_ = true;
        break;
      case 16:
      case 17:
        lift();
        break;
      default:  // stops, patterns without copies, tool checks: no hole
        break;
    }
  }

  std::string file_;
  NumberFormat format_;
  Diagnostics& notes_;
  std::optional<Problem> problem_;
  std::vector<Hole> holes_;
  std::vector<std::string> warned_;
  std::map<int, Tool> tools_;
  std::map<int, bool> plated_from_;
  std::vector<SizeWithoutUnit> without_unit_;
  std::string_view source_;
  std::int32_t line_{};
  int indent_{};  // columns of words count from the first that is not blank
  Position here_, zero_;
  std::optional<bool> metric_, file_plated_, type_plated_, body_plated_, next_tool_plated_;
  std::optional<std::pair<int, int>> span_;
  std::optional<int> tool_;
  int route_{};
  std::int32_t next_slot_{}, cut_{-1};
  bool in_header_{true}, routing_{false}, incremental_{false}, down_{false}, cut_something_{false};
  bool routes_say_down_{false}, tools_by_stop_{false}, ended_{false};
};

}  // namespace

Result<std::vector<Hole>> read_drill_body(const std::vector<std::string_view>& lines,
                                          const std::string& file, NumberFormat format,
                                          Diagnostics& notes) {
  return BodyReader(file, format, notes).read(lines);
}

}  // namespace isthmus::formats
