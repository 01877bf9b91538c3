// SPDX-License-Identifier: Apache-2.0
#include "formats/import/drill_choice.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <set>

#include "formats/drill/edge.hpp"
#include "formats/drill/settle.hpp"
#include "isthmus/formats/design.hpp"
#include "isthmus/formats/drill.hpp"

namespace isthmus::formats {
namespace {

constexpr std::int64_t kSlack = 2'000;     // nm: one file may carry fewer digits
constexpr std::int64_t kRounded = 25'400;  // nm: a drawing often has three decimals of an inch

struct Candidate {
  const Recognised* file{};
  DrillFile drill;
  OpenDrill open;  // as read, before the copper has settled it
  bool read{false};
  std::string problem;
  std::string left;  // why it is left out
};

// Places on a grid, so that equal ones are found however they were rounded.
class Places {
 public:
  Places(const std::vector<Hole>& holes, std::int64_t slack) : slack_(slack) {
    for (const Hole& h : holes) cells_.insert({cell(h.from), h.from});
  }
  [[nodiscard]] bool hold(Position p) const {
    const Position c = cell(p);
    for (std::int64_t dx = -1; dx <= 1; ++dx) {
      for (std::int64_t dy = -1; dy <= 1; ++dy) {
        const Position at{c.x + dx, c.y + dy};
        for (auto it = cells_.lower_bound({at, {INT64_MIN, INT64_MIN}});
             it != cells_.end() && it->first == at; ++it) {
          const Position d = it->second - p;
          if (std::abs(d.x) <= slack_ && std::abs(d.y) <= slack_) return true;
        }
      }
    }
    return false;
  }
  [[nodiscard]] std::size_t count(const std::vector<Hole>& holes) const {
    return static_cast<std::size_t>(
        std::ranges::count_if(holes, [&](const Hole& h) { return hold(h.from); }));
  }

 private:
  [[nodiscard]] Position cell(Position p) const {
    const auto floor = [&](std::int64_t v) {
      const std::int64_t step = slack_ + 1;
      return v >= 0 ? v / step : -((-v + step - 1) / step);
    };
    return {floor(p.x), floor(p.y)};
  }
  std::int64_t slack_;
  std::set<std::pair<Position, Position>> cells_;
};

bool near(Position p, Position q) {
  return std::abs(p.x - q.x) <= kSlack && std::abs(p.y - q.y) <= kSlack;
}

std::vector<Hole> in_order(std::vector<Hole> holes) {
  for (Hole& h : holes) {
    if (h.to < h.from) std::swap(h.from, h.to);
  }
  std::ranges::sort(holes, [](const Hole& a, const Hole& b) {
    return std::tuple(a.from, a.to, a.diameter) < std::tuple(b.from, b.to, b.diameter);
  });
  return holes;
}

bool same_holes(const Candidate& a, const Candidate& b) {
  const std::vector<Hole> x = in_order(a.drill.holes), y = in_order(b.drill.holes);
  return !x.empty() && std::ranges::equal(x, y, [](const Hole& p, const Hole& q) {
    return near(p.from, q.from) && near(p.to, q.to) &&
           std::abs((p.diameter - q.diameter).value) <= kSlack;
  });
}

class Chooser {
 public:
  Chooser(const std::vector<const Recognised*>& claims, const std::vector<LayerImage>& copper)
      : copper_(copper) {
    for (const Recognised* f : claims) all_.push_back(read(*f));
  }

  DrillChoice choose() {
    settle();
    for (Candidate& c : all_) leave_drawing(c);
    for (Candidate& c : all_) leave_repeat(c);
    for (Candidate& c : all_) leave_twin(c);
    for (Candidate& c : all_) leave_sum(c);
    return chosen();
  }

 private:
  static Candidate read(const Recognised& f) {
    Candidate c;
    c.file = &f;
    Diagnostics ignored;  // said again when the board is loaded
    Result<std::string> bytes = read_whole_file(f.file);
    if (!bytes) return c;
    Result<OpenDrill> drill = open_drill(f.file.string(), std::move(*bytes), ignored);
    c.read = drill.ok();
    if (!drill) {
      c.problem = drill.problem().message;
    } else {
      c.drill = drill->drill;
      c.open = std::move(*drill);
    }
    return c;
  }

  void settle() {
    std::vector<OpenDrill> open;
    for (const Candidate& c : all_) {
      if (c.read && !c.file->gerber) open.push_back(c.open);
    }
    Diagnostics ignored;
    if (!settle_formats(open, copper_, ignored)) return;
    std::size_t next = 0;
    for (Candidate& c : all_) {
      if (c.read && !c.file->gerber) c.drill = std::move(open[next++].drill);
    }
  }

  static bool silent_gerber(const Candidate& c) { return c.file->gerber && !c.file->by_content; }

  void leave_drawing(Candidate& c) {
    if (silent_gerber(c) && !c.read) {
      c.left = "a drawing of the holes, no drill layer: " + c.problem;
      return;
    }
    const std::vector<Hole>& holes = c.drill.holes;
    if (holes.empty()) return;
    const bool no_flash = std::ranges::all_of(holes, [](const Hole& h) { return h.is_slot(); });
    if (silent_gerber(c) && no_flash) {
      c.left = "a drawing of the holes, no drill layer: nothing in it is a hole";
    } else if (std::ranges::all_of(edge_routes(holes, copper_), [](bool edge) { return edge; })) {
      c.left = "the route around the board, no hole";
    }
  }

  // A Gerber file that does not say it is a drill layer, beside one that surely is.
  void leave_repeat(Candidate& c) {
    if (!silent_gerber(c) || !c.left.empty() || c.drill.holes.empty()) return;
    std::vector<Hole> others;
    std::string names;
    for (const Candidate& o : all_) {
      if (silent_gerber(o) || !o.left.empty() || o.drill.holes.empty()) continue;
      if (Places(c.drill.holes, kRounded).count(o.drill.holes) == 0) continue;
      others.insert(others.end(), o.drill.holes.begin(), o.drill.holes.end());
      names += (names.empty() ? "" : ", ") + o.file->file.filename().string();
    }
    const std::size_t held = Places(others, kRounded).count(c.drill.holes);
    if (2 * held < c.drill.holes.size()) return;
    c.left = fmt::format("a drawing of the holes: {} of its {} places are in {}", held,
                         c.drill.holes.size(), names);
  }

  void leave_twin(Candidate& c) {
    if (!c.left.empty()) return;
    for (const Candidate& o : all_) {
      if (&o == &c) return;
      if (!o.left.empty() || !same_holes(o, c)) continue;
      c.left = "holds the same holes as " + o.file->file.string();
      return;
    }
  }

  // One file of all holes beside two of them by plating: the two say more.
  void leave_sum(Candidate& c) {
    if (!c.left.empty() || c.drill.holes.empty() || c.file->plated || c.drill.holes[0].plated)
      return;
    std::vector<Hole> others;
    std::string names;
    for (const Candidate& o : all_) {
      if (&o == &c || !o.left.empty() || o.drill.holes.empty()) continue;
      const std::size_t in_c = Places(c.drill.holes, kSlack).count(o.drill.holes);
      if (in_c != o.drill.holes.size()) continue;
      others.insert(others.end(), o.drill.holes.begin(), o.drill.holes.end());
      names += (names.empty() ? "" : " and ") + o.file->file.filename().string();
    }
    if (Places(others, kSlack).count(c.drill.holes) == c.drill.holes.size()) {
      c.left = "all its holes are in " + names;
    }
  }

  static bool unplated(const Candidate& c) {
    return c.file->plated == false ||
           (!c.drill.holes.empty() &&
            std::ranges::all_of(c.drill.holes, [](const Hole& h) { return h.plated == false; }));
  }

  // Of two files of which one is called unplated the other is plated.
  DrillChoice chosen() const {
    DrillChoice out;
    std::size_t bare = 0, open = 0;
    for (const Candidate& c : all_) {
      if (!c.left.empty()) continue;
      bare += unplated(c) ? 1u : 0u;
      open += open_plating(c) ? 1u : 0u;
    }
    for (const Candidate& c : all_) {
      if (!c.left.empty()) {
        out.left.push_back({c.file, c.left});
        continue;
      }
      out.kept.push_back(c.file);
      const bool other_half = open_plating(c) && open == 1 && bare > 0;
      out.plated.push_back(other_half ? std::optional(true) : c.file->plated);
    }
    return out;
  }
  static bool open_plating(const Candidate& c) {
    return !c.file->plated && !c.drill.holes.empty() &&
           std::ranges::none_of(c.drill.holes, [](const Hole& h) { return h.plated.has_value(); });
  }

  const std::vector<LayerImage>& copper_;
  std::vector<Candidate> all_;
};

}  // namespace

DrillChoice choose_drills(const std::vector<const Recognised*>& claims,
                          const std::vector<LayerImage>& copper) {
  return Chooser(claims, copper).choose();
}

}  // namespace isthmus::formats
