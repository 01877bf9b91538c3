// SPDX-License-Identifier: Apache-2.0
#include "formats/layer/check.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "formats/registration/fit.hpp"

namespace isthmus::formats {
namespace {

constexpr std::size_t kFewest = 6;  // fewer places than that lie like others by chance

enum class Hand { unknown, right, exchanged };

// How many points find a place of their own side alone, and how many of the other side alone.
struct Sides {
  std::size_t own{}, other{};
  [[nodiscard]] Hand hand() const {
    if (other >= kFewest && other >= 9 * own) return Hand::exchanged;
    if (own >= kFewest && own >= 9 * other) return Hand::right;
    return Hand::unknown;
  }
};

class Check {
 public:
  Check(const Design& design, Diagnostics& notes)
      : d_(design), notes_(notes), places_(places_of(design.copper, {}, true)) {}

  void run() {
    const bool both = !d_.copper.front().objects.empty() && !d_.copper.back().objects.empty();
    const bool bottom = both && mirrored(d_.copper.back(), kOnBottom, kOnTop);
    const bool top = both && !bottom && mirrored(d_.copper.front(), kOnTop, kOnBottom);
    if (top || bottom) return;  // what else differs, differs for that
    mask_mirrored(d_.mask_top, kOnTop);
    mask_mirrored(d_.mask_bottom, kOnBottom);
    if (both) exchanged();
  }

 private:
  void warn(const std::string& file, const char* code, std::string message, std::string hint) {
    notes_.warn({file, 0, 0, code, std::move(message), std::move(hint), ""});
  }

  [[nodiscard]] std::vector<FitPoint> hole_points(std::uint8_t wants) const {
    std::vector<FitPoint> out;
    for (const Hole& h : d_.holes) {
      if (h.from == h.to && h.plated.value_or(true) && !h.span) out.push_back({h.from, wants, ""});
    }
    return out;
  }
  // Where the netlist itself has its holes: the witness where the drill files say nothing.
  [[nodiscard]] std::vector<FitPoint> netlist_points(std::uint8_t wants) const {
    std::vector<FitPoint> out;
    if (!d_.netlist) return out;
    for (const NetlistRecord& r : d_.netlist->records) {
      if (r.kind == FeatureKind::through_hole) out.push_back({r.at, wants, ""});
    }
    return out;
  }

  // All holes lie in pads of one side, and in those of the other only once it is mirrored.
  bool mirrored(const LayerImage& layer, std::uint8_t own, std::uint8_t other) {
    std::vector<FitPoint> points = hole_points(own);
    const bool by_netlist = points.size() < kFewest;
    if (by_netlist) points = netlist_points(own);
    if (points.size() < kFewest) return false;
    std::vector<FitPoint> there = points;
    for (FitPoint& p : there) p.wants = other;
    if (10 * landed(there, places_, Frame()) < 8 * points.size()) return false;
    const std::size_t here = landed(points, places_, Frame());
    if (2 * here >= points.size()) return false;
    const auto frame = mirror_that_fits(points, layer, own);
    if (!frame) return false;
    warn(layer.file, "DSN-022",
         fmt::format("is mirrored in {}: {} of {} {} lie in its pads as it is, {} once it is "
                     "mirrored back",
                     frame->mirror_x ? "x" : "y", here, points.size(),
                     by_netlist ? "drilled points of the netlist" : "plated holes",
                     landed(points, places_of(layer, own, true), *frame)),
         "export it as seen from the top, like the other layers");
    return true;
  }

  static std::optional<Frame> mirror_that_fits(const std::vector<FitPoint>& points,
                                               const LayerImage& layer, std::uint8_t bit) {
    const std::vector<FitPlace> places = places_of(layer, bit, false);
    if (places.empty()) return std::nullopt;
    const FitResult fit = find_frame(points, places);
    const auto mirrors = [](const Frame& f) { return f.mirror_x != f.mirror_y && f.factor == 1.0; };
    if (const auto* frame = std::get_if<Frame>(&fit)) {
      return mirrors(*frame) ? std::optional(*frame) : std::nullopt;
    }
    // A symmetrical layer may fit mirrored in x and in y: mirrored it is either way.
    const auto* two = std::get_if<TwoFits>(&fit);
    if (two != nullptr && mirrors(two->one) && mirrors(two->other)) return two->one;
    return std::nullopt;
  }

  [[nodiscard]] static std::vector<FitPoint> openings(const LayerImage& mask, std::uint8_t wants) {
    std::vector<FitPoint> out;
    for (const FitPlace& p : places_of(mask, wants, false)) out.push_back({p.at, wants, ""});
    return out;
  }

  void mask_mirrored(const std::optional<LayerImage>& mask, std::uint8_t own) {
    const LayerImage& copper = own == kOnTop ? d_.copper.front() : d_.copper.back();
    if (!mask || copper.objects.empty()) return;
    const std::vector<FitPoint> points = openings(*mask, own);
    const std::size_t here = landed(points, places_, Frame());
    if (points.size() < kFewest || 2 * here >= points.size()) return;
    const auto frame = mirror_that_fits(points, copper, own);
    if (!frame) return;
    warn(mask->file, "DSN-022",
         fmt::format("is mirrored in {} against the copper of its side: {} of {} openings lie on "
                     "pads as it is, {} once it is mirrored back",
                     frame->mirror_x ? "x" : "y", here, points.size(),
                     landed(points, places_of(copper, own, true), *frame)),
         "export it as seen from the top, like the other layers");
  }

  [[nodiscard]] Sides count(std::vector<FitPoint> points) const {
    Sides out;
    for (FitPoint& p : points) {
      const bool own = landed({p}, places_, Frame()) > 0;
      p.wants = p.wants == kOnTop ? kOnBottom : kOnTop;
      const bool other = landed({p}, places_, Frame()) > 0;
      out.own += own && !other ? 1u : 0u;
      out.other += other && !own ? 1u : 0u;
    }
    return out;
  }

  [[nodiscard]] Sides by_netlist() const {
    std::vector<FitPoint> points;
    if (!d_.netlist) return {};
    for (const NetlistRecord& r : d_.netlist->records) {
      if (r.kind != FeatureKind::surface) continue;
      if (r.access == 1) points.push_back({r.at, kOnTop, ""});
      if (r.access == d_.netlist->bottom_access) points.push_back({r.at, kOnBottom, ""});
    }
    return count(std::move(points));
  }

  [[nodiscard]] Sides by_masks() const {
    Sides all;
    for (const auto& [mask, side] :
         {std::pair(&d_.mask_top, kOnTop), std::pair(&d_.mask_bottom, kOnBottom)}) {
      if (!*mask) continue;
      const Sides one = count(openings(**mask, side));
      all.own += one.own;
      all.other += one.other;
    }
    return all;
  }

  void exchanged() {
    const Sides netlist = by_netlist(), masks = by_masks();
    const std::string& file = d_.copper.front().file;
    if (netlist.hand() == Hand::exchanged) {
      warn(file, "DSN-021",
           fmt::format("top and bottom copper look exchanged: {} surface pads of the netlist lie "
                       "on pads of the other side alone, {} on pads of their own side alone",
                       netlist.other, netlist.own),
           "exchange artwork: top and bottom in board.yaml");
    } else if (masks.hand() == Hand::exchanged) {
      const bool copper_right = netlist.hand() == Hand::right;
      const std::string& mask = d_.mask_top ? d_.mask_top->file : d_.mask_bottom->file;
      warn(mask, "DSN-023",
           fmt::format("the masks of top and bottom look exchanged: {} openings lie on pads of "
                       "the other side alone, {} on pads of their own side alone",
                       masks.other, masks.own),
           copper_right ? "exchange mask: top and bottom in board.yaml"
                        : "exchange mask: top and bottom in board.yaml, or artwork: top and "
                          "bottom if it is these that are wrong; a look at the lettering tells");
    }
  }

  const Design& d_;
  Diagnostics& notes_;
  std::vector<FitPlace> places_;
};

}  // namespace

void check_layers(const Design& design, Diagnostics& notes) {
  if (design.copper.size() >= 2) Check(design, notes).run();
}

}  // namespace isthmus::formats
