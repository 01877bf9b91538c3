// SPDX-License-Identifier: Apache-2.0
#include "formats/registration/registration.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "formats/registration/fit.hpp"

namespace isthmus::formats {
namespace {

constexpr std::size_t kFewest = 4;  // fewer places than that fit anywhere

// Dark copper of a layer under a place, whatever clears it later.
class Drawn {
 public:
  explicit Drawn(const std::vector<LayerImage>& copper) {
    for (std::size_t i = 0; i < copper.size(); ++i) {
      const std::uint8_t bit = i == 0 ? kOnTop : i + 1 == copper.size() ? kOnBottom : kOnInner;
      for (const Object& o : copper[i].objects) {
        if (!o.dark) continue;
        for (const Polygon& p : o.shape) pieces_.push_back({box_of(p.outer), &p, bit});
      }
    }
  }
  [[nodiscard]] bool under(Position p, std::uint8_t wants) const {
    return std::ranges::any_of(pieces_, [&](const Piece& piece) {
      // The outer contour: a pad may have its hole drawn.
      return (piece.bit & wants) != 0 && piece.box.contains(p) &&
             locate(p, piece.polygon->outer) != Where::outside;
    });
  }

 private:
  struct Piece {
    Box box;
    const Polygon* polygon;
    std::uint8_t bit;
  };
  std::vector<Piece> pieces_;
};

std::size_t on_copper(const std::vector<FitPoint>& points, const Drawn& drawn, const Frame& frame) {
  return static_cast<std::size_t>(std::ranges::count_if(
      points, [&](const FitPoint& p) { return drawn.under(frame.apply(p.at), p.wants); }));
}

std::string percent(std::size_t part, std::size_t whole) {
  return fmt::format("{} of {} ({:.0f} %)", part, whole,
                     100.0 * static_cast<double>(part) / static_cast<double>(whole));
}

std::string described(const Frame& f) {
  std::string text = fmt::format("shift ({:.3f}, {:.3f}) mm", to_mm(f.shift.x), to_mm(f.shift.y));
  if (f.mirror_x && f.mirror_y) {
    text += ", turned by 180 degrees";
  } else if (f.mirror_x || f.mirror_y) {
    text += fmt::format(", mirrored in {}", f.mirror_x ? "x" : "y");
  }
  if (f.factor != 1.0) text += fmt::format(", scaled by {:.4g}", f.factor);
  return text;
}

bool mirrors(const Frame& f) { return f.mirror_x != f.mirror_y; }

// A shift is harmless. A mirror means that one of the two shows the board from below, and a probe
// plate drilled after it would, too.
void say_moved(Diagnostics& notes, const Frame& frame, Problem what) {
  if (!mirrors(frame)) return notes.note(std::move(what));
  what.hint =
      "one of the two is mirrored: find out which shows the board from the top, and export "
      "the other again";
  notes.warn(std::move(what));
}

Nanometres scaled(Nanometres n, double factor) {
  return {std::llround(static_cast<double>(n.value) * factor)};
}

bool has_layer(const Design& d, std::uint8_t wants) {
  if (wants == kOnTop) return !d.copper.front().objects.empty();
  if (wants == kOnBottom) return !d.copper.back().objects.empty();
  return true;
}

void move(Netlist& netlist, const Frame& frame) {
  const auto size = [&](Nanometres& n) { n = scaled(n, frame.factor); };
  for (NetlistRecord& r : netlist.records) {
    r.at = frame.apply(r.at);
    if (r.hole_at) r.hole_at = frame.apply(*r.hole_at);
    size(r.size_x);
    size(r.size_y);
    if (r.hole) size(*r.hole);
    if (mirrors(frame)) r.rotation_deg = std::fmod(360 - r.rotation_deg, 360);
  }
  netlist.moved = frame;
}

bool overlap(const NetlistRecord& a, const NetlistRecord& b) {
  return a.access == b.access || a.kind != FeatureKind::surface || b.kind != FeatureKind::surface;
}

bool named(const NetlistRecord& r) { return !r.net.empty() && r.net != "N/C"; }

void report_contradictions(const Netlist& netlist, Diagnostics& notes) {
  std::map<Position, std::vector<const NetlistRecord*>> at;
  for (const NetlistRecord& r : netlist.records) {
    if (r.kind == FeatureKind::tooling || !named(r)) continue;
    auto& here = at[r.at];
    for (const NetlistRecord* other : here) {
      if (other->net == r.net || !overlap(*other, r)) continue;
      notes.warn({netlist.file, r.line, 0, "DSN-020",
                  fmt::format("puts net {} where line {} puts net {}: both records stand for one "
                              "place ({:.3f}, {:.3f}) mm",
                              r.net, other->line, other->net, to_mm(r.at.x), to_mm(r.at.y)),
                  "one of the two is wrong; export the netlist again", ""});
      break;
    }
    here.push_back(&r);
  }
}

Problem refusal(const std::string& file, const NoFit& none, std::size_t all) {
  const std::string best = none.landed == 0
                               ? std::string()
                               : fmt::format("; the best fit, {}, brings {} there",
                                             described(none.best), percent(none.landed, all));
  return {file,
          0,
          0,
          "DSN-016",
          none.by_nets ? "fits the artwork by place, but its nets contradict those the artwork "
                         "names: it is the netlist of another board or revision"
                       : "its points do not lie on the pads and holes of the artwork, and no "
                         "shift, mirror or unit brings nine in ten there" +
                             best,
          "it is the netlist of another board or revision: export netlist and artwork together",
          ""};
}

// Whether all would land if top were bottom.
bool fits_exchanged(std::vector<FitPoint> points, const std::vector<FitPlace>& all_places,
                    const std::vector<FitPlace>& places) {
  for (FitPoint& p : points) {
    if (p.wants == kOnTop || p.wants == kOnBottom) p.wants ^= kOnTop | kOnBottom;
  }
  if (10 * landed(points, all_places, Frame()) >= 9 * points.size()) return true;
  return !places.empty() && std::holds_alternative<Frame>(find_frame(points, places));
}

Problem sides_exchanged(const Design& design) {
  return {design.netlist->file,
          0,
          0,
          "DSN-021",
          "fits the artwork only with top and bottom exchanged",
          "exchange artwork: top and bottom in board.yaml, if these are wrong; else export the "
          "netlist again",
          ""};
}

Problem ambiguity(const std::string& file, const TwoFits& two, std::size_t all, const char* code) {
  return {file,
          0,
          0,
          code,
          fmt::format("fits the artwork in two ways: {}, and {}; {} land on pads either way",
                      described(two.one), described(two.other), percent(two.landed, all)),
          "export it with the origin of the artwork: a guess could test the wrong places",
          ""};
}

}  // namespace

Position Frame::apply(Position p) const {
  const auto one = [&](std::int64_t v, bool mirror) {
    const std::int64_t m = mirror ? -v : v;
    return factor == 1.0 ? m : std::llround(static_cast<double>(m) * factor);
  };
  return Position{one(p.x, mirror_x), one(p.y, mirror_y)} + shift;
}

std::vector<FitPoint> netlist_points(const Design& design) {
  std::vector<FitPoint> points;
  const int bottom = design.netlist->bottom_access;
  for (const NetlistRecord& r : design.netlist->records) {
    if (r.kind == FeatureKind::tooling) continue;
    FitPoint p{r.at, kAnywhere, r.net};
    if (r.kind == FeatureKind::surface) {
      if (r.access != 1 && r.access != bottom) continue;
      p.wants = r.access == 1 ? kOnTop : kOnBottom;
      if (!has_layer(design, p.wants)) continue;
    }
    points.push_back(std::move(p));
  }
  return points;
}

std::size_t on_pad_or_copper(const std::vector<FitPoint>& points, const Design& design) {
  const std::vector<FitPlace> places = places_of(design.copper, {}, true);
  std::vector<FitPoint> beside;  // the rest is looked for among all polygons, which takes longer
  for (const FitPoint& p : points) {
    if (landed({p}, places, Frame()) == 0) beside.push_back(p);
  }
  const std::size_t rest = beside.empty() ? 0 : on_copper(beside, Drawn(design.copper), Frame());
  return points.size() - beside.size() + rest;
}

Result<Done> register_holes(Design& design, Diagnostics& notes) {
  std::vector<FitPoint> points;
  for (const Hole& h : design.holes) {
    if (h.plated.value_or(true)) {
      points.push_back({{h.from.x + (h.to.x - h.from.x) / 2, h.from.y + (h.to.y - h.from.y) / 2},
                        kAnywhere,
                        ""});
    }
  }
  if (points.size() < kFewest) return Done{};
  const Frame as_filed;
  const std::string file =
      design.board.holes.empty() ? std::string() : design.board.holes.front().file.string();
  const auto all_places = places_of(design.copper, {}, true);
  if (all_places.empty() || 2 * landed(points, all_places, as_filed) >= points.size()) {
    return Done{};
  }
  const std::size_t on = on_copper(points, Drawn(design.copper), as_filed);
  const auto places = places_of(design.copper, {}, false);
  const FitResult fit = places.empty() ? FitResult(NoFit{}) : find_frame(points, places);
  if (const auto* frame = std::get_if<Frame>(&fit)) {
    for (Hole& h : design.holes) {
      h.from = frame->apply(h.from);
      h.to = frame->apply(h.to);
      h.diameter = scaled(h.diameter, frame->factor);
    }
    say_moved(
        notes, *frame,
        {file, 0, 0, "DSN-018",
         fmt::format("all holes are brought to the artwork: {}; {} lie in pads then",
                     described(*frame), percent(landed(points, places, *frame), points.size())),
         "export drill files and artwork with one origin", ""});
    return Done{};
  }
  if (2 * on >= points.size()) return Done{};
  if (const auto* two = std::get_if<TwoFits>(&fit)) {
    return ambiguity(file, *two, points.size(), "DSN-019");
  }
  return Problem{file,
                 0,
                 0,
                 "DSN-019",
                 fmt::format("only {} plated holes lie on copper, and no shift, mirror or unit "
                             "brings nine in ten into pads",
                             percent(on, points.size())),
                 "it belongs to another board, or holes without copper lack plated: false",
                 ""};
}

Result<Done> register_netlist(Design& design, Diagnostics& notes) {
  if (!design.netlist) return Done{};
  report_contradictions(*design.netlist, notes);
  const std::vector<FitPoint> points = netlist_points(design);
  if (points.size() < kFewest) return Done{};  // the copper under each point is looked at later
  const Frame as_filed;
  const auto all_places = places_of(design.copper, design.holes, true);
  const std::size_t here = landed(points, all_places, as_filed);
  if (10 * here >= 9 * points.size()) return Done{};
  // Points beside the centre of a drawn pad are still on it.
  if (2 * here >= points.size() &&
      10 * on_copper(points, Drawn(design.copper), as_filed) >= 9 * points.size()) {
    return Done{};
  }
  const auto places = places_of(design.copper, design.holes, false);
  const FitResult fit = places.empty() ? FitResult(NoFit{}) : find_frame(points, places);
  const std::string& file = design.netlist->file;
  if (const auto* none = std::get_if<NoFit>(&fit)) {
    const bool exchanged = fits_exchanged(points, all_places, places);
    return exchanged ? sides_exchanged(design) : refusal(file, *none, points.size());
  }
  if (const auto* two = std::get_if<TwoFits>(&fit)) {
    return ambiguity(file, *two, points.size(), "DSN-017");
  }
  const Frame& frame = *std::get_if<Frame>(&fit);
  say_moved(
      notes, frame,
      {file, 0, 0, "DSN-015",
       fmt::format("is brought to the artwork: {}; {} points lie on pads or holes then, {} on "
                   "drawn copper",
                   described(frame), percent(landed(points, places, frame), points.size()),
                   percent(on_copper(points, Drawn(design.copper), frame), points.size())),
       "export netlist and artwork with one origin", ""});
  move(*design.netlist, frame);
  return Done{};
}

}  // namespace isthmus::formats
