// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/places.hpp"

#include <algorithm>
#include <map>
#include <numeric>
#include <unordered_map>

#include "tests/audit/faulty.hpp"
#include "tests/audit/skeleton.hpp"

namespace isthmus::audit {
namespace {

constexpr double kSpanned = 1.25e6;   // nm: what a soldered lead bridges on its pad
constexpr double kSamePlace = 0.1e6;  // nm
constexpr double kPourHalf = 1.5e6;   // nm: copper 3 mm wide is a pour
constexpr double kNoSize = 0.25e6;    // nm: half a pad whose size nobody says

class Finder {
 public:
  Finder(const formats::Design& design, const Raster& raster) : design_(design), raster_(raster) {}
  Places find();

 private:
  void rings();
  void records();
  void named_objects();
  void openings();
  void unlisted_pads();
  void pours();
  void drop_dead_ends();
  void index();
  void futures();
  void ties();
  enum class Unless { never, covered };  // covered: copper of a place found before
  void add(Place place, const std::vector<Cell>& cells, Unless unless = Unless::never);
  [[nodiscard]] bool covered(const std::vector<Span>& spans) const;
  [[nodiscard]] bool ring_near(std::int32_t layer, Position p, double reach) const;
  [[nodiscard]] bool known(std::int32_t layer, Position p) const;
  [[nodiscard]] const formats::Object* flash_at(std::int32_t layer, Position p) const;
  [[nodiscard]] std::vector<Cell> cells_of(std::int32_t layer, const formats::Object& object,
                                           Position middle) const;
  [[nodiscard]] std::vector<Cell> pad_cells(std::int32_t layer, Position p, double radius) const;
  void name_net(std::int32_t layer, Position p, double reach, const std::string& net);
  [[nodiscard]] bool is_outer(std::int32_t layer) const {
    return layer == 0 || layer + 1 == raster_.layers();
  }
  [[nodiscard]] bool etched(std::int32_t layer) const {
    return !raster_.copper[static_cast<std::size_t>(layer)].empty();
  }

  const formats::Design& design_;
  const Raster& raster_;
  Places out_;
  std::unordered_map<std::uint32_t, std::vector<Span>> covered_;  // by run
};

const formats::Object* Finder::flash_at(std::int32_t layer, Position p) const {
  const formats::Object* best = nullptr;
  for (const formats::Object& o : design_.copper[static_cast<std::size_t>(layer)].objects) {
    if (o.kind != formats::ObjectKind::flash || !o.dark) continue;
    for (const Polygon& polygon : o.shape) {
      const bool inside =
          box_of(polygon.outer).contains(p) && locate(p, polygon.outer) != Where::outside;
      if (inside && (!best || o.width < best->width)) best = &o;
    }
  }
  return best;
}

std::vector<Cell> Finder::cells_of(std::int32_t layer, const formats::Object& object,
                                   Position middle) const {
  std::vector<Cell> cells;
  for (const Cell& c : cells_near(raster_.grid, layer, {middle, middle}, kSpanned)) {
    const Position p = raster_.grid.middle(c.x, c.y);
    for (const Polygon& polygon : object.shape) {
      if (!box_of(polygon.outer).contains(p) || locate(p, polygon) == Where::outside) continue;
      cells.push_back(c);
      break;
    }
  }
  return cells;
}

std::vector<Cell> Finder::pad_cells(std::int32_t layer, Position p, double radius) const {
  if (const formats::Object* flash = flash_at(layer, p)) return cells_of(layer, *flash, p);
  return cells_near(raster_.grid, layer, {p, p}, std::min(radius, kSpanned));
}

// Only copper of one conductor, that nearest to the place.
void Finder::add(Place place, const std::vector<Cell>& cells, Unless unless) {
  std::optional<std::uint32_t> home;
  double nearest = 0;
  const std::vector<Span> spans = spans_of(raster_, cells);
  for (const Span& s : spans) {
    const Run& run = raster_.runs[s.run];
    const double d = closest(place.at, Segment{raster_.grid.middle(s.x0, run.y),
                                               raster_.grid.middle(s.x1, run.y)})
                         .distance_nm;
    if (!home || d < nearest) home = s.run, nearest = d;
  }
  if (!home) return;
  place.conductor = raster_.label[*home];
  for (const Span& s : spans) {
    if (raster_.label[s.run] == place.conductor) place.spans.push_back(s);
  }
  if (unless == Unless::covered && covered(place.spans)) return;
  for (const Span& s : place.spans) covered_[s.run].push_back(s);
  out_.all.push_back(std::move(place));
}

bool Finder::covered(const std::vector<Span>& spans) const {
  return std::ranges::any_of(spans, [&](const Span& s) {
    const auto it = covered_.find(s.run);
    return it != covered_.end() && std::ranges::any_of(it->second, [&](const Span& known) {
             return known.x0 <= s.x1 && s.x0 <= known.x1;
           });
  });
}

bool Finder::ring_near(std::int32_t layer, Position p, double reach) const {
  return std::ranges::any_of(out_.all, [&](const Place& place) {
    return place.hole && place.layer == layer && distance_nm(place.at, p) <= reach;
  });
}

bool Finder::known(std::int32_t layer, Position p) const {
  return std::ranges::any_of(out_.all, [&](const Place& place) {
    return place.layer == layer && distance_nm(place.at, p) <= kSamePlace;
  });
}

void Finder::rings() {
  for (std::size_t h = 0; h < raster_.holes.size(); ++h) {
    const Drilled& hole = raster_.holes[h];
    if (hole.unplated) continue;
    const double rim = static_cast<double>(hole.diameter.value) / 2 + kNoSize;
    for (std::int32_t layer = 0; layer < raster_.layers(); ++layer) {
      if (hole.rims[static_cast<std::size_t>(layer)].empty()) continue;
      add({hole.at, layer, {}, {}, h, "ring"}, pad_cells(layer, hole.at, rim));
    }
  }
}

void Finder::name_net(std::int32_t layer, Position p, double reach, const std::string& net) {
  if (net.empty() || net == "N/C") return;
  const auto cell = raster_.nearest(layer, p, reach);
  if (cell) out_.nets[raster_.label_at(*cell)].insert(net);
}

void Finder::records() {
  if (!design_.netlist) return;
  for (const formats::NetlistRecord& r : design_.netlist->records) {
    if (r.kind == formats::FeatureKind::tooling || r.access < 0) continue;
    const bool hole = r.kind == formats::FeatureKind::through_hole || r.access == 0;
    for (const std::int32_t layer : {0, raster_.layers() - 1}) {
      const int side = layer == 0 ? 1 : design_.netlist->bottom_access;
      if (!etched(layer) || (!hole && r.access != side)) continue;
      const double half = static_cast<double>(std::max(r.size_x, r.size_y).value) / 2;
      const double bore = static_cast<double>(r.hole.value_or(Nanometres{}).value) / 2;
      const double reach = std::max({half, bore + kSamePlace, kNoSize});
      name_net(layer, r.at, reach, r.net);
      if (!known(layer, r.at) && !(hole && ring_near(layer, r.at, reach)))
        add({r.at, layer, {}, {}, {}, r.ref + "." + r.pin}, pad_cells(layer, r.at, reach));
      if (raster_.layers() == 1) break;
    }
  }
}

// Names that the copper files give themselves.
void Finder::named_objects() {
  if (design_.board.netlist_source != formats::NetlistSource::gerber_x2) return;
  for (std::int32_t layer = 0; layer < raster_.layers(); ++layer) {
    const formats::LayerImage& image = design_.copper[static_cast<std::size_t>(layer)];
    if (!etched(layer)) continue;
    for (const formats::Object& o : image.objects) {
      const auto& nets = image.attributes[o.attributes].nets;
      if (!o.dark || o.spine.empty() || !nets || nets->size() != 1) continue;
      name_net(layer, o.spine.front(), 0.5e6, nets->front());
    }
  }
}

void Finder::openings() {
  const auto of_side = [&](const std::optional<formats::LayerImage>& mask, std::int32_t layer) {
    if (!mask || layer < 0 || !etched(layer)) return;
    for (const formats::Object& o : mask->objects) {
      if (!o.dark || o.shape.empty()) continue;
      Box box;
      for (const Polygon& p : o.shape) box.add(box_of(p.outer));
      add({box.centre(), layer, {}, {}, {}, "opening"}, cells_of(layer, o, box.centre()),
          Unless::covered);
    }
  };
  of_side(design_.mask_top, 0);
  of_side(design_.mask_bottom, raster_.layers() - 1);
}

void Finder::unlisted_pads() {
  for (std::int32_t layer = 0; layer < raster_.layers(); ++layer) {
    if (!is_outer(layer) || !etched(layer)) continue;
    const formats::LayerImage& image = design_.copper[static_cast<std::size_t>(layer)];
    for (const formats::Object& o : image.objects) {
      if (o.kind != formats::ObjectKind::flash || !o.dark || o.spine.empty()) continue;
      const std::string& function = image.attributes[o.attributes].aperture_function;
      if (!function.empty() && function.find("Pad") == std::string::npos) continue;
      const Position at = o.spine.front();
      add({at, layer, {}, {}, {}, "pad"}, cells_of(layer, o, at), Unless::covered);
    }
  }
}

// Copper wider than a pour must be is one, whether anything is soldered to it or not: its deepest
// cell stands for it.
void Finder::pours() {
  const auto least =
      static_cast<std::uint16_t>(kPourHalf * 10 / static_cast<double>(raster_.grid.cell));
  for (std::int32_t layer = 0; layer < raster_.layers(); ++layer) {
    if (!etched(layer)) continue;
    const auto depth = depth_of(raster_.grid, raster_.copper[static_cast<std::size_t>(layer)]);
    std::map<Label, std::pair<std::uint16_t, Cell>> deepest;  // by island
    const auto& first = raster_.first_run[static_cast<std::size_t>(layer)];
    for (std::uint32_t r = first.front(); r < first.back(); ++r) {
      const Run& run = raster_.runs[r];
      for (std::int32_t x = run.x0; x <= run.x1; ++x) {
        const std::uint16_t here = depth[raster_.grid.at(x, run.y)];
        auto& best = deepest[raster_.island[r]];
        if (here >= least && here > best.first) best = {here, {layer, x, run.y}};
      }
    }
    for (const auto& [island, best] : deepest) {
      if (best.first == 0) continue;
      const Position at = raster_.grid.middle(best.second.x, best.second.y);
      add({at, layer, {}, {}, {}, "pour"}, cells_near(raster_.grid, layer, {at, at}, kNoSize),
          Unless::covered);
    }
  }
}

void Finder::index() {
  out_.of_conductor.assign(raster_.labels, {});
  for (std::size_t i = 0; i < out_.all.size(); ++i)
    out_.of_conductor[out_.all[i].conductor].push_back(static_cast<std::uint32_t>(i));
}

// The ring of a joined hole that leads nowhere but into its own hole is no place: the wire or lead
// reaches it from the other side.
void Finder::drop_dead_ends() {
  std::vector<bool> dead(out_.all.size(), false);
  Faulty without(raster_);
  for (std::size_t i = 0; i < out_.all.size(); ++i) {
    const Place& ring = out_.all[i];
    if (!ring.hole || !raster_.holes[*ring.hole].metal) continue;
    const std::size_t metal = *raster_.holes[*ring.hole].metal;
    Fault emptied;
    emptied.emptied = {metal};
    without.apply(emptied);
    std::vector<Label> mine, theirs;
    for (const Span& s : ring.spans) without.labels_of(s, mine);
    bool leads_on = false;
    for (const std::uint32_t other : out_.of_conductor[ring.conductor]) {
      if (leads_on || other == i) continue;
      theirs.clear();
      for (const Span& s : out_.all[other].spans) without.labels_of(s, theirs);
      leads_on = std::ranges::find_first_of(theirs, mine) != theirs.end();
    }
    dead[i] = !leads_on;
  }
  std::vector<bool> alive(raster_.holes.size(), false);
  for (std::size_t i = 0; i < dead.size(); ++i) {
    if (out_.all[i].hole && !dead[i]) alive[*out_.all[i].hole] = true;
  }
  std::vector<Place> kept;
  for (std::size_t i = 0; i < dead.size(); ++i) {
    if (dead[i] && !alive[*out_.all[i].hole])  // a lone pin: one ring stands for it
      dead[i] = false, alive[*out_.all[i].hole] = true;
    if (!dead[i]) kept.push_back(std::move(out_.all[i]));
  }
  out_.all = std::move(kept);
}

void Finder::futures() {
  std::vector<std::uint32_t> parent(raster_.labels);
  std::iota(parent.begin(), parent.end(), 0u);
  const auto root = [&](std::uint32_t l) {
    while (parent[l] != l) l = parent[l];
    return l;
  };
  for (const Drilled& hole : raster_.holes) {
    if (hole.unplated) continue;
    std::optional<Label> first;
    for (const auto& rim : hole.rims) {
      for (const Span& s : rim) {
        const Label l = root(raster_.label[s.run]);
        if (first)
          parent[l] = root(*first);
        else
          first = l;
      }
    }
  }
  out_.nets_of_future.assign(raster_.labels, {});
  for (Label l = 0; l < raster_.labels; ++l) {
    out_.future.push_back(root(l));
    out_.nets_of_future[root(l)].insert(out_.nets[l].begin(), out_.nets[l].end());
  }
}

void Finder::ties() {
  for (const auto& nets : design_.board.net_ties) {
    for (const std::string& a : nets) {
      for (const std::string& b : nets) out_.tied.insert({a, b});
    }
  }
}

Places Finder::find() {
  out_.nets.assign(raster_.labels, {});
  rings();
  records();
  named_objects();
  openings();
  unlisted_pads();
  pours();
  index();
  drop_dead_ends();
  index();
  futures();
  ties();
  return std::move(out_);
}

}  // namespace

bool Places::may_conduct(Label a, Label b) const {
  if (future[a] == future[b]) return true;
  for (const std::string& m : nets_of_future[future[a]]) {
    for (const std::string& n : nets_of_future[future[b]]) {
      if (m == n || tied.contains({m, n})) return true;
    }
  }
  return false;
}

std::string Places::nets_in_words(Label l) const {
  std::string words;
  for (const std::string& n : nets_of_future[future[l]]) words += (words.empty() ? "" : "+") + n;
  return words.empty() ? "no net" : words;
}

Places find_places(const formats::Design& design, const Raster& raster) {
  return Finder(design, raster).find();
}

}  // namespace isthmus::audit
