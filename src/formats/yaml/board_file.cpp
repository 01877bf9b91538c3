// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/board_file.hpp"

#include "formats/paths.hpp"
#include "isthmus/formats/design.hpp"
#include "isthmus/formats/names.hpp"
#include "isthmus/formats/quantity.hpp"
#include "isthmus/formats/text.hpp"

namespace isthmus::formats {
namespace {

constexpr std::string_view kStageHint =
    "stage: etched-top | etched-bottom | etched | joined | finished";

constexpr std::string_view kWaiveHint =
    "{point: NAME, why: TEXT}, or in place of point: join: [x, y], copper: [x, y] with side, pair: "
    "[A, B]";
constexpr std::array kWaivable{
    std::pair{WaiveKind::point, "point"}, std::pair{WaiveKind::join, "join"},
    std::pair{WaiveKind::copper, "copper"}, std::pair{WaiveKind::pair, "pair"}};

class BoardReader {
 public:
  BoardReader(const std::filesystem::path& path, std::string_view source)
      : yaml_(path.string(), source) {
    board_.path = path;
  }

  Result<BoardFile> read(const YamlNode& root) {
    if (yaml_.map(root,
                  {"isthmus", "name", "artwork", "mask", "holes", "netlist", "net-ties", "stage",
                   "joins", "links", "waive", "placed", "copper", "process", "limits"})) {
      read_head(root);
      read_layers(root);
      read_holes(root);
      read_joins(root);
      read_declarations(root);
      read_placed(root);
      read_copper(root);
      read_process(root);
      read_limits(root);
      check_sides(root);
    }
    if (yaml_.problem()) return *yaml_.problem();
    return std::move(board_);
  }

 private:
  std::filesystem::path path_in(const YamlNode& n) {
    const std::filesystem::path named = yaml_.text(n);
    if (!n.option.empty() || named.is_absolute()) return named.lexically_normal();
    return (board_.path.parent_path() / named).lexically_normal();
  }
  void optional_path(const YamlNode& map, std::string_view key,
                     std::optional<std::filesystem::path>& to) {
    if (const YamlNode* n = map.find(key)) to = path_in(*n);
  }
  void positive(const YamlNode& map, std::string_view key, Nanometres& to, bool zero_too = false) {
    const YamlNode* n = map.find(key);
    if (n == nullptr) return;
    to = yaml_.quantity(*n, parse_length);
    if (to.value < (zero_too ? 0 : 1)) {
      yaml_.fail(*n, "YML-012", "'" + std::string(key) + "' has to be a positive length");
    }
  }
  void positive(const YamlNode& map, std::string_view key, Ohms& to) {
    const YamlNode* n = map.find(key);
    if (n == nullptr) return;
    to = yaml_.quantity(*n, parse_resistance);
    if (!(to.value > 0)) {
      yaml_.fail(*n, "YML-012", "'" + std::string(key) + "' has to be a positive resistance");
    }
  }

  void read_head(const YamlNode& root) {
    const YamlNode* version = yaml_.required(root, "isthmus", "begin the file with: isthmus: 1");
    if (version != nullptr && version->text != "1") {
      yaml_.fail(*version, "YML-008", "this program reads version 1 of the board description",
                 "isthmus: 1");
    }
    const YamlNode* name = root.find("name");
    if (name != nullptr) {
      board_.name = yaml_.text(*name);
      if (const std::string unfit = unfit_as_name(board_.name); !unfit.empty())
        yaml_.fail(*name, "YML-021", unfit, kNameHint);
    } else {
      board_.name = folder_of(board_.path).filename().string();
      if (const std::string unfit = unfit_as_name(board_.name); !unfit.empty())
        yaml_.fail(root, "YML-021", "the board is called as its folder is, and " + unfit,
                   "give it a name: name: TEXT");
    }
    if (const YamlNode* stage = yaml_.required(root, "stage", kStageHint)) {
      const std::optional<Stage> known = parse_stage(yaml_.text(*stage));
      if (stage->text == "soldered") {
        yaml_.fail(
            *stage, "YML-010",
            "stage 'soldered' is not tested yet: parts conduct, and a test voltage may harm them",
            "take the parts off, or test the next board before they are soldered in; " +
                std::string(kStageHint));
      } else if (!known) {
        yaml_.fail(*stage, "YML-010", "'" + shown(stage->text) + "' is not a stage",
                   std::string(kStageHint));
      }
      board_.stage = known.value_or(Stage::etched);
    }
    const YamlNode* netlist =
        yaml_.required(root, "netlist", "netlist: FILE.d356, or gerber-x2, or artwork");
    if (netlist == nullptr) return;
    const std::string source = yaml_.text(*netlist);
    board_.netlist_source = source == "gerber-x2" ? NetlistSource::gerber_x2
                            : source == "artwork" ? NetlistSource::artwork
                                                  : NetlistSource::file;
    if (board_.netlist_source == NetlistSource::file) board_.netlist = path_in(*netlist);
  }

  void read_layers(const YamlNode& root) {
    const YamlNode* artwork = yaml_.required(root, "artwork", "artwork: {top: FILE, bottom: FILE}");
    if (artwork != nullptr && yaml_.map(*artwork, {"top", "bottom", "inner", "outline"})) {
      optional_path(*artwork, "top", board_.top);
      optional_path(*artwork, "bottom", board_.bottom);
      optional_path(*artwork, "outline", board_.outline);
      const YamlNode* inner = artwork->find("inner");
      if (inner != nullptr && yaml_.list(*inner, "files, from the top down")) {
        for (const YamlNode& n : inner->children) board_.inner.push_back(path_in(n));
      }
    }
    const YamlNode* mask = root.find("mask");
    if (mask != nullptr && yaml_.map(*mask, {"top", "bottom"})) {
      optional_path(*mask, "top", board_.mask_top);
      optional_path(*mask, "bottom", board_.mask_bottom);
    }
  }

  void read_holes(const YamlNode& root) {
    const YamlNode* holes = root.find("holes");
    if (holes == nullptr || !yaml_.list(*holes, "drill files")) return;
    for (const YamlNode& n : holes->children) {
      HoleFileEntry entry;
      if (n.kind == YamlKind::scalar) {
        entry.file = path_in(n);
      } else if (yaml_.map(n, {"file", "plated", "span"})) {
        if (const YamlNode* file = yaml_.required(n, "file")) entry.file = path_in(*file);
        if (const YamlNode* plated = n.find("plated")) entry.plated = yaml_.truth(*plated);
        if (const YamlNode* span = n.find("span")) entry.span = read_span(*span);
      }
      board_.holes.push_back(std::move(entry));
    }
  }

  std::pair<int, int> read_span(const YamlNode& n) {
    const int layers = 2 + static_cast<int>(board_.inner.size());
    if (n.kind != YamlKind::list || n.children.size() != 2) {
      yaml_.fail(n, "YML-004", "'span' has to be two layer numbers, counted from the top: [1, 2]");
      return {1, layers};
    }
    const int from = yaml_.whole(n.children[0], 1, layers),
              to = yaml_.whole(n.children[1], 1, layers);
    if (from >= to)
      yaml_.fail(n, "YML-012", "the first layer of a span has to lie above the second");
    return {from, to};
  }

  void read_joins(const YamlNode& root) {
    const YamlNode* joins = root.find("joins");
    if (joins == nullptr) {
      if (joins_count(board_.stage)) {
        yaml_.fail(root, "YML-013",
                   "the key 'joins' is missing, and at stage '" + std::string(name(board_.stage)) +
                       "' it decides what must conduct",
                   "joins: all | none | plated | {vias: wire, leads: deferred} | [[x, y], ...]");
      }
      return;
    }
    if (joins->kind == YamlKind::map) return read_join_groups(*joins);
    if (joins->kind != YamlKind::list) {
      static constexpr std::array kModes{JoinsMode::all, JoinsMode::none, JoinsMode::plated};
      board_.joins_mode = kModes[yaml_.word(*joins, {"all", "none", "plated"})];
      return;
    }
    board_.joins_mode = JoinsMode::listed;
    for (const YamlNode& n : joins->children) board_.joins.push_back(read_join(n));
  }

  // {all: wire}, {vias: wire, leads: deferred}: those that are not named are not joined.
  void read_join_groups(const YamlNode& joins) {
    board_.joins_mode = JoinsMode::listed;
    if (!yaml_.map(joins, {"all", "vias", "components", "leads"})) return;
    const auto of = [&](const YamlNode& n) {
      const std::size_t word =
          yaml_.word(n, {"plated", "wire", "rivet", "eyelet", "lead", "deferred"});
      return word == 5 ? GroupJoin{JoinKind::wire, true}
                       : GroupJoin{static_cast<JoinKind>(word), false};
    };
    if (const YamlNode* all = joins.find("all")) board_.join_groups.fill(of(*all));
    static constexpr std::array<std::string_view, 3> kGroups{"vias", "components", "leads"};
    for (std::size_t i = 0; i < kGroups.size(); ++i) {
      if (const YamlNode* n = joins.find(kGroups[i])) board_.join_groups[i] = of(*n);
    }
  }

  JoinEntry read_join(const YamlNode& n) {
    JoinEntry join;
    if (n.kind == YamlKind::scalar) {
      yaml_.fail(n, "YML-004", "'joins' has to be a list of places", "joins: [[x, y], [x, y]]");
    } else if (n.kind == YamlKind::list) {
      join.at = yaml_.place(n);
    } else if (yaml_.map(n, {"at", "kind", "deferred"})) {
      if (const YamlNode* at = yaml_.required(n, "at", "at: [x, y]")) join.at = yaml_.place(*at);
      if (const YamlNode* deferred = n.find("deferred")) join.deferred = yaml_.truth(*deferred);
      if (const YamlNode* kind = n.find("kind")) {
        join.kind =
            static_cast<JoinKind>(yaml_.word(*kind, {"plated", "wire", "rivet", "eyelet", "lead"}));
      }
    }
    return join;
  }

  void read_declarations(const YamlNode& root) {
    const YamlNode* ties = root.find("net-ties");
    if (ties != nullptr && yaml_.list(*ties, "lists of net names")) {
      for (const YamlNode& tie : ties->children) read_tie(tie);
    }
    const YamlNode* links = root.find("links");
    if (links != nullptr && yaml_.list(*links, "links: {from: [x, y], to: [x, y], side: top}")) {
      for (const YamlNode& n : links->children) read_link(n);
    }
    const YamlNode* waive = root.find("waive");
    if (waive == nullptr || !yaml_.list(*waive, kWaiveHint)) return;
    for (const YamlNode& n : waive->children) board_.waive.push_back(read_waiver(n));
  }

  WaiveEntry read_waiver(const YamlNode& n) {
    WaiveEntry w;
    if (!yaml_.map(n, {"point", "join", "copper", "pair", "side", "why"})) return w;
    if (n.option.empty()) w.line = n.line, w.column = n.column;
    if (const YamlNode* why = yaml_.required(n, "why", "a waiver needs its reason"))
      w.why = yaml_.text(*why);
    const YamlNode* named = nullptr;
    for (const auto& [kind, key] : kWaivable) {
      const YamlNode* one = n.find(key);
      if (one == nullptr) continue;
      if (named != nullptr) {
        yaml_.fail(one->at_key(), "YML-020", "a waiver has to name one thing, and this names two",
                   "write a waiver for each");
        return w;
      }
      named = one;
      w.kind = kind;
    }
    if (named == nullptr) {
      yaml_.fail(n, "YML-003", "the waiver does not say what it leaves out",
                 std::string(kWaiveHint));
      return w;
    }
    read_waived(n, *named, w);
    return w;
  }

  void read_waived(const YamlNode& n, const YamlNode& named, WaiveEntry& w) {
    const YamlNode* side = n.find("side");
    if (side != nullptr && w.kind != WaiveKind::copper) {
      yaml_.fail(side->at_key(), "YML-002", "'side' belongs to a waiver of copper",
                 "{copper: [x, y], side: top, why: TEXT}");
    }
    switch (w.kind) {
      case WaiveKind::point:
        w.point = yaml_.text(named);
        return;
      case WaiveKind::join:
        w.at = yaml_.place(named);
        return;
      case WaiveKind::copper:
        w.at = yaml_.place(named);
        if (yaml_.required(n, "side", "side: top, bottom, or L2") != nullptr)
          read_waived_side(*side, w);
        return;
      case WaiveKind::pair:
        return read_waived_pair(named, w);
    }
  }

  void read_waived_side(const YamlNode& n, WaiveEntry& w) {
    const std::string word = yaml_.text(n);
    for (const Side side : {Side::top, Side::bottom}) {
      if (word == name(side)) {
        w.side = side;
        return;
      }
    }
    for (std::size_t inner = 0; inner < board_.inner.size(); ++inner) {
      if (word == "L" + std::to_string(inner + 2)) w.layer = static_cast<int>(inner) + 2;
    }
    if (w.layer > 0) return;
    std::string known = "top, bottom";
    if (!board_.inner.empty()) known += ", L2";
    if (board_.inner.size() > 1) known += " to L" + std::to_string(board_.inner.size() + 1);
    yaml_.fail(n, "YML-010", "'" + shown(word) + "' is no side or layer of this board",
               "one of: " + known);
  }

  void read_waived_pair(const YamlNode& n, WaiveEntry& w) {
    if (n.kind != YamlKind::list || n.children.size() != 2) {
      yaml_.fail(n, "YML-004", "'pair' has to be the names of two nets: [A, B]");
      return;
    }
    w.nets = {yaml_.text(n.children[0]), yaml_.text(n.children[1])};
    if (w.nets[0] == w.nets[1])
      yaml_.fail(n, "YML-012", "'pair' has to name two nets, and this is one net twice");
  }

  void read_tie(const YamlNode& tie) {
    if (!yaml_.list(tie, "net names")) return;
    std::vector<std::string> nets;
    for (const YamlNode& n : tie.children) nets.push_back(yaml_.text(n));
    if (nets.size() < 2) yaml_.fail(tie, "YML-012", "a net tie has to name two nets or more");
    board_.net_ties.push_back(std::move(nets));
  }

  void read_link(const YamlNode& n) {
    if (!yaml_.map(n, {"from", "to", "side"})) return;
    LinkEntry link;
    if (const YamlNode* from = yaml_.required(n, "from")) link.from = yaml_.place(*from);
    if (const YamlNode* to = yaml_.required(n, "to")) link.to = yaml_.place(*to);
    if (const YamlNode* side = yaml_.required(n, "side", "side: top, or bottom")) {
      link.side = yaml_.word(*side, {"top", "bottom"}) == 0 ? Side::top : Side::bottom;
    }
    board_.links.push_back(link);
  }

  void read_placed(const YamlNode& root) {
    const YamlNode* placed = root.find("placed");
    if (placed == nullptr || !yaml_.map(*placed, {"top", "bottom"})) return;
    for (const YamlNode& side : placed->children) {
      if (!yaml_.list(side, "marks: [x, y, x', y']")) continue;
      auto& marks = side.key == "top" ? board_.placed_top : board_.placed_bottom;
      for (const YamlNode& n : side.children) {
        if (n.kind != YamlKind::list || n.children.size() != 4) {
          yaml_.fail(n, "YML-004", "a mark has to be four numbers in mm: [x, y, x', y']");
          continue;
        }
        const auto mm = [&](std::size_t i) { return yaml_.coordinate(n.children[i]); };
        const std::int64_t x = mm(0), y = mm(1), px = mm(2), py = mm(3);
        marks.push_back({Position{x, y}, Position{px, py}});
      }
    }
  }

  void read_copper(const YamlNode& root) {
    const YamlNode* copper = root.find("copper");
    if (copper == nullptr || !yaml_.map(*copper, {"thickness", "temperature"})) return;
    positive(*copper, "thickness", board_.copper.thickness);
    if (const YamlNode* t = copper->find("temperature")) {
      board_.copper.temperature = yaml_.quantity(*t, parse_temperature);
    }
  }

  void read_process(const YamlNode& root) {
    const YamlNode* process = root.find("process");
    if (process == nullptr ||
        !yaml_.map(*process, {"gap", "track", "undercut", "registration", "drill-wander"})) {
      return;
    }
    positive(*process, "gap", board_.process.gap);
    positive(*process, "track", board_.process.track);
    positive(*process, "undercut", board_.process.undercut, true);
    positive(*process, "registration", board_.process.registration, true);
    positive(*process, "drill-wander", board_.process.drill_wander, true);
  }

  void read_limits(const YamlNode& root) {
    const YamlNode* limits = root.find("limits");
    if (limits == nullptr ||
        !yaml_.map(*limits, {"continuity", "isolation", "bridge", "excess", "voltage", "window"})) {
      return;
    }
    positive(*limits, "continuity", board_.limits.continuity);
    positive(*limits, "isolation", board_.limits.isolation);
    positive(*limits, "bridge", board_.limits.bridge);
    positive(*limits, "excess", board_.limits.excess);
    positive(*limits, "window", board_.limits.window);
    if (const YamlNode* volt = limits->find("voltage")) {
      board_.limits.voltage = yaml_.quantity(*volt, parse_voltage);
      if (!(board_.limits.voltage.value > 0)) {
        yaml_.fail(*volt, "YML-012", "'voltage' has to be positive");
      }
    }
    const LimitKeys& l = board_.limits;
    if (l.continuity > l.bridge || l.bridge > l.isolation) {
      yaml_.fail(*limits, "YML-012",
                 "the limits have to rise: continuity " + text_of(l.continuity) + ", bridge " +
                     text_of(l.bridge) + ", isolation " + text_of(l.isolation),
                 "M is 10^6, m is 10^-3");
    }
  }

  void check_sides(const YamlNode& root) {
    const YamlNode* artwork = root.find("artwork");
    if (artwork == nullptr) return;
    const auto missing = [&](const char* side) {
      yaml_.fail(*artwork, "YML-011",
                 "stage '" + std::string(name(board_.stage)) + "' needs the copper of side '" +
                     side + "', and 'artwork' has no file for it",
                 "add the file, or correct the stage");
    };
    if (board_.stage == Stage::etched_top && !board_.top) missing("top");
    if (board_.stage == Stage::etched_bottom && !board_.bottom) missing("bottom");
    if (!board_.top && !board_.bottom) {
      yaml_.fail(*artwork, "YML-011", "'artwork' names neither a top nor a bottom copper file",
                 "artwork: {top: top.gbr, bottom: bottom.gbr}");
    }
    if (!board_.inner.empty() && !(board_.top && board_.bottom)) {
      yaml_.fail(*artwork, "YML-011", "a board with inner layers needs both outer copper files",
                 "add the missing one under artwork");
    }
  }

  YamlReader yaml_;
  BoardFile board_;
};

}  // namespace

Result<BoardFile> parse_board_file(std::string_view bytes, const std::filesystem::path& path,
                                   const std::vector<YamlOverride>& overrides) {
  Result<YamlNode> root = parse_yaml(bytes, path.string());
  if (!root) return root.problem();
  for (const YamlOverride& o : overrides) {
    Result<Done> applied = apply_override(*root, o);
    if (!applied) return applied.problem();
  }
  return BoardReader(path, bytes).read(*root);
}

Result<BoardFile> read_board_file(const std::filesystem::path& path,
                                  const std::vector<YamlOverride>& overrides) {
  Result<std::string> bytes = read_whole_file(path);
  if (!bytes) return bytes.problem();
  return parse_board_file(*bytes, path, overrides);
}

}  // namespace isthmus::formats
