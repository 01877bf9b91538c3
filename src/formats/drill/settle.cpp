// SPDX-License-Identifier: Apache-2.0
#include "formats/drill/settle.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "isthmus/base/by_left_edge.hpp"

namespace isthmus::formats {
namespace {

// Dark objects of chosen kinds, found by place.
class Pads {
 public:
  Pads(const std::vector<LayerImage>& copper, const std::vector<ObjectKind>& kinds) {
    for (const LayerImage& layer : copper) {
      for (const Object& o : layer.objects) {
        if (!o.dark || std::ranges::find(kinds, o.kind) == kinds.end()) continue;
        for (const Polygon& p : o.shape) outlines_.add(box_of(p.outer), &p.outer);
      }
    }
    outlines_.sort();
  }

  // The first object under `p`; nothing where there is none.
  [[nodiscard]] const Contour* under(Position p) const {
    const Contour* found = nullptr;
    // The outer contour alone: a pad may have its own hole in the middle.
    outlines_.each_over({p, p}, [&](const Contour* outer) {
      if (locate(p, *outer) != Where::outside) found = outer;
      return !found;
    });
    return found;
  }

 private:
  ByLeftEdge<const Contour*> outlines_;
};

struct Reading {
  NumberFormat format;
  std::vector<Hole> holes;
};

bool same_places(const std::vector<Hole>& a, const std::vector<Hole>& b) {
  return std::ranges::equal(
      a, b, [](const Hole& x, const Hole& y) { return x.from == y.from && x.to == y.to; });
}

// The candidates that differ in any place.
std::vector<Reading> readings_of(const OpenDrill& file) {
  std::vector<Reading> out;
  for (const NumberFormat format : file.drill.candidates) {
    Diagnostics ignored;  // the first reading has already said them
    Result<DrillFile> read = read_drill(file.bytes, file.file, ignored, format);
    if (!read) continue;
    const bool known = std::ranges::any_of(
        out, [&](const Reading& r) { return same_places(r.holes, read->holes); });
    if (!known) out.push_back({format, std::move(read->holes)});
  }
  return out;
}

// How many different objects the holes hit: a reading that is too small puts all of them into one.
std::size_t hits(const Reading& reading, const Pads& pads) {
  std::set<const Contour*> found;
  for (const Hole& h : reading.holes) {
    found.insert(
        pads.under({h.from.x + (h.to.x - h.from.x) / 2, h.from.y + (h.to.y - h.from.y) / 2}));
  }
  found.erase(nullptr);
  return found.size();
}

// The reading that stands out: at least half its holes hit, and twice as many as under any other.
const Reading* standing_out(const std::vector<Reading>& readings, const Pads& pads,
                            std::size_t& count) {
  const Reading* best = nullptr;
  std::size_t second = 0;
  count = 0;
  for (const Reading& r : readings) {
    const std::size_t n = hits(r, pads);
    if (best == nullptr || n > count) {
      second = count;
      count = n;
      best = &r;
    } else {
      second = std::max(second, n);
    }
  }
  const bool clear =
      best != nullptr && count > 0 && 2 * count >= best->holes.size() && count >= 2 * second;
  return clear ? best : nullptr;
}

std::string described_digits(NumberFormat f) {
  return f.trailing_kept ? fmt::format("{} decimals, trailing zeros kept", f.decimals)
                         : fmt::format("{} whole digits, leading zeros kept", f.integer_digits);
}

std::string described(NumberFormat f) {
  const std::string unit = f.metric ? (*f.metric ? "millimetres, " : "inches, ") : "";
  return unit + described_digits(f);
}

class Settler {
 public:
  Settler(const std::vector<LayerImage>& copper, Diagnostics& notes)
      : flashes_(copper, {ObjectKind::flash}),
        drawn_(copper, {ObjectKind::flash, ObjectKind::stroke}),
        all_(copper, {ObjectKind::flash, ObjectKind::stroke, ObjectKind::region}),
        notes_(notes) {}

  // False when the copper does not decide. A few hits do not outweigh what a fuller file has shown.
  bool by_copper(OpenDrill& file) {
    const std::vector<Reading> readings = readings_of(file);
    constexpr std::size_t kFew = 4;
    for (const Pads* pads : {&flashes_, &drawn_, &all_}) {
      std::size_t count = 0;
      if (const Reading* found = standing_out(readings, *pads, count)) {
        const bool known = std::ranges::find(settled_, found->format) != settled_.end();
        if (count < kFew && !known && (!settled_.empty() || pads != &flashes_)) continue;
        take(file, *found,
             fmt::format("holes: {}, pieces of copper they meet: {}", found->holes.size(), count));
        settled_.push_back(found->format);
        return true;
      }
    }
    return false;
  }

  Result<Done> otherwise(OpenDrill& file) {
    const std::vector<Reading> readings = readings_of(file);
    if (readings.size() == 1 && !file.unit_missing) {
      take(file, readings[0], "all readings give the same places");
      return Done{};
    }
    for (const Reading& r : readings) {
      if (std::ranges::find(settled_, r.format) != settled_.end()) {
        take(file, r, "as in the board's other drill file");
        return Done{};
      }
    }
    if (file.unit_missing) return *file.unit_missing;
    if (file.drill.zeros_declared && !readings.empty()) {
      notes_.warn({file.file, 0, 0, "DSN-012",
                   "the number format is not stated, and the copper does not decide: taken as " +
                       described(readings[0].format),
                   "compare holes and pads; to settle it write METRIC,TZ,000.000 or the like", ""});
      file.drill.holes = readings[0].holes;
      return Done{};
    }
    return Problem{
        file.file,
        0,
        0,
        "DSN-010",
        "the number format is not stated, and the copper does not decide between the readings",
        "write it into the file's header: METRIC,TZ,000.000 or INCH,LZ,00.0000 or the like",
        ""};
  }

 private:
  void take(OpenDrill& file, const Reading& reading, const std::string& why) {
    file.drill.holes = reading.holes;
    notes_.note({file.file, 0, 0, "DSN-011",
                 std::string(file.unit_missing ? "the unit" : "the number format") +
                     " is not stated; read with " + described(reading.format) + ": " + why,
                 "", ""});
  }

  Pads flashes_, drawn_, all_;
  Diagnostics& notes_;
  std::vector<NumberFormat> settled_;
};

}  // namespace

Result<OpenDrill> open_drill(const std::string& file, std::string bytes, Diagnostics& notes) {
  Diagnostics said;
  Result<DrillFile> drill = read_drill(bytes, file, said);
  OpenDrill open{file, std::move(bytes), {}, std::nullopt};
  if (!drill) {
    if (drill.problem().code != "DRL-007") return drill.problem();
    open.unit_missing = drill.problem();
    open.drill.file = file;
    open.drill.format_declared = open.drill.zeros_declared = false;
    open.drill.candidates = formats_without_unit(open.bytes);
    // Whatever else is wrong with it is said at once.
    Result<DrillFile> first = read_drill(open.bytes, file, said, open.drill.candidates.front());
    if (!first && first.problem().code != "DRL-012" && first.problem().code != "DRL-008") {
      return first.problem();
    }
    if (first) open.drill.holes = std::move(first->holes);
  } else {
    open.drill = std::move(*drill);
  }
  for (const Diagnostic& d : said.list()) {
    d.severity == Severity::note ? notes.note(d.what) : notes.warn(d.what);
  }
  return open;
}

Result<Done> settle_formats(std::vector<OpenDrill>& files, const std::vector<LayerImage>& copper,
                            Diagnostics& notes) {
  std::vector<OpenDrill*> open;
  for (OpenDrill& f : files) {
    if (!f.drill.format_declared) open.push_back(&f);
  }
  if (open.empty()) return Done{};
  std::ranges::stable_sort(open, [](const OpenDrill* a, const OpenDrill* b) {
    return a->drill.holes.size() > b->drill.holes.size();
  });
  Settler settler(copper, notes);
  std::erase_if(open, [&](OpenDrill* f) { return settler.by_copper(*f); });
  for (OpenDrill* f : open) {
    Result<Done> done = settler.otherwise(*f);
    if (!done) return done;
  }
  return Done{};
}

}  // namespace isthmus::formats
