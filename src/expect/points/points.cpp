// SPDX-License-Identifier: Apache-2.0
#include "expect/points/points.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace isthmus::expect {
namespace {

// Without a size the netlist's word for the place is good to a tenth of a millimetre.
constexpr Nanometres kUnsizedReach = 100_um;

bool reaches(Side access, std::size_t layer, std::size_t last) {
  if (layer == 0 && access != Side::bottom) return true;
  if (layer == last && access != Side::top) return true;
  return access == Side::both;
}

std::optional<IslandId> island_under(const Ground& ground, std::size_t layer, const Pad& pad) {
  if (const auto island = ground.index.at(ground.layer(layer), pad.at)) return island;
  const Nanometres reach = pad.size.value > 0 ? pad.size / 2 : kUnsizedReach;
  const auto near = ground.index.near(ground.layer(layer), pad.at, reach);
  if (near.empty()) return std::nullopt;
  return near.front();
}

// Of the islands at the hole's rim the one under the pad's own place, else the nearest to the hole.
void place_in_hole(const Ground& ground, const Join& join, Pad& pad) {
  for (const IslandId island : join.islands) {
    const std::size_t layer = index(ground.copper.island(island).layer);
    if (!reaches(pad.access, layer, ground.last())) continue;
    if (!pad.islands[layer] || ground.index.at(ground.layer(layer), pad.at) == island) {
      pad.islands[layer] = island;
    }
  }
}

// Where a tip meets this copper: the place itself, else the nearest on its middle axis (a pilot dot
// is left out of a pad's middle, a pad is split).
Position laid_on(const Ground& ground, IslandId island, Position at) {
  if (!ground.conductors || locate(at, ground.copper.island(island)) != Where::outside) return at;
  return ground.conductors->nodes[copper::nearest_node(*ground.conductors, island, at)].at;
}

void place_on_surface(const Ground& ground, Pad& pad) {
  for (std::size_t layer = 0; layer < ground.layers(); ++layer) {
    if (layer != 0 && layer != ground.last()) continue;
    if (reaches(pad.access, layer, ground.last())) {
      pad.islands[layer] = island_under(ground, layer, pad);
    }
  }
}

// Nets of their own that meet on one island are one, named by the first pad there.
void name_own_nets(const Ground& ground, std::vector<Pad>& pads) {
  const std::size_t n = ground.copper.islands.size();
  Sets sets(n + pads.size());
  for (std::size_t i = 0; i < pads.size(); ++i) {
    if (!pads[i].own_net) continue;
    for (const auto& island : pads[i].islands) {
      if (island) sets.unite(index(*island), n + i);
    }
  }
  std::map<std::size_t, std::string> names;
  for (std::size_t i = 0; i < pads.size(); ++i) {
    if (!pads[i].own_net) continue;
    const auto [entry, first] = names.try_emplace(sets.find(n + i), "N/C(" + pads[i].id + ")");
    pads[i].net = entry->second;
  }
}

// X2 net of the flash under the pad: same place within 0.1 mm on a layer the pad reaches.
using FlashNets =
    std::map<std::pair<std::int64_t, std::int64_t>, std::vector<std::pair<Position, std::string>>>;
constexpr std::int64_t kCell = 1'000'000;
constexpr double kSamePlace = 100'000;

std::int64_t cell(std::int64_t v) { return v >= 0 ? v / kCell : (v - kCell + 1) / kCell; }

FlashNets flash_nets(const formats::LayerImage& image) {
  FlashNets found;
  for (const auto& object : image.objects) {
    if (!object.dark || object.kind != formats::ObjectKind::flash || object.spine.empty()) continue;
    const auto& nets = image.attributes[object.attributes].nets;
    if (!nets || nets->size() != 1 || nets->front().empty() || nets->front() == "N/C") continue;
    const Position p = object.spine.front();
    found[{cell(p.x), cell(p.y)}].push_back({p, nets->front()});
  }
  return found;
}

std::string full_name_at(const FlashNets& nets, Position at) {
  std::string best;
  double nearest = kSamePlace;
  for (std::int64_t x = cell(at.x) - 1; x <= cell(at.x) + 1; ++x) {
    for (std::int64_t y = cell(at.y) - 1; y <= cell(at.y) + 1; ++y) {
      const auto entry = nets.find({x, y});
      if (entry == nets.end()) continue;
      for (const auto& [p, net] : entry->second) {
        const double d = distance_nm(p, at);
        if (d > nearest || (d == nearest && !best.empty())) continue;
        nearest = d;
        best = net;
      }
    }
  }
  return best;
}

void find_full_names(const Ground& ground, std::vector<Pad>& pads) {
  const FlashNets top = flash_nets(ground.design.copper.front());
  const FlashNets bottom = flash_nets(ground.design.copper.back());
  for (Pad& pad : pads) {
    if (!pad.net_full.empty() || pad.own_net) continue;
    if (pad.access != Side::bottom) pad.net_full = full_name_at(top, pad.at);
    if (pad.net_full.empty() && pad.access != Side::top) {
      pad.net_full = full_name_at(bottom, pad.at);
    }
  }
}

// As netlist exporters fold names into 14 columns: upper case, no blanks.
std::string folded(const std::string& text) {
  std::string out;
  for (const char c : text) {
    const bool graphic = c > ' ' && c <= '~';
    out += !graphic ? '?' : (c >= 'a' && c <= 'z') ? static_cast<char>(c - 'a' + 'A') : c;
  }
  return out;
}

// Whether `net` can be what is left of `full` in a field of 14 columns (IPC-D-356A, columns 4-17).
bool cut_from(const std::string& net, const std::string& full) {
  constexpr std::size_t kField = 14;
  if (net.size() < kField || full.size() <= net.size()) return false;
  const std::string a = folded(net);
  const std::string b = folded(full);
  return b.compare(0, a.size(), a) == 0 || b.compare(b.size() - a.size(), a.size(), a) == 0;
}

// Nets whose cut names coincide while their full names differ are two. A pad without a full name
// goes with the pads on its copper, else stays with the bare name.
void tell_cut_names_apart(std::vector<Pad>& pads) {
  std::map<std::string, std::set<std::string>> fulls;
  for (Pad& pad : pads) {
    pad.key = pad.net;
    if (!pad.own_net && cut_from(pad.net, pad.net_full)) fulls[pad.net].insert(pad.net_full);
  }
  std::map<std::pair<std::string, IslandId>, std::string> by_island;
  for (Pad& pad : pads) {
    const auto entry = fulls.find(pad.net);
    if (entry == fulls.end() || entry->second.size() < 2 || !entry->second.count(pad.net_full))
      continue;
    pad.key = pad.net + '\n' + pad.net_full;
    for (const auto& island : pad.islands) {
      if (island) by_island.try_emplace({pad.net, *island}, pad.key);
    }
  }
  for (Pad& pad : pads) {
    if (pad.key != pad.net) continue;
    for (const auto& island : pad.islands) {
      const auto entry = island ? by_island.find({pad.net, *island}) : by_island.end();
      if (entry != by_island.end()) pad.key = entry->second;
    }
  }
}

struct Maker {
  const Ground& ground;
  const std::vector<Pad>& pads;
  StagePoints out{};

  void add(std::size_t pad_index, const std::string& suffix, Side side,
           const std::vector<std::size_t>& layers) {
    const Pad& pad = pads[pad_index];
    Point p;
    p.id = pad.id + suffix;
    p.net = pad.net;
    p.net_full = pad.net_full;
    p.at = pad.at;
    if (layers.size() == 1 && !pad.hole)
      p.at = laid_on(ground, *pad.islands[layers.front()], pad.at);
    p.side = side;
    p.islands.resize(ground.layers());
    for (const std::size_t layer : layers) p.islands[layer] = pad.islands[layer];
    p.join = pad.hole;
    p.size = pad.size;
    p.via = pad.via;
    for (const std::string& alias : pad.aliases) p.aliases.push_back(alias + suffix);
    out.points.push_back(std::move(p));
    out.keys.push_back(pad.key);
    out.pad_of.push_back(pad_index);
  }

  [[nodiscard]] std::vector<std::size_t> all_layers() const {
    std::vector<std::size_t> layers(ground.layers());
    for (std::size_t i = 0; i < layers.size(); ++i) layers[i] = i;
    return layers;
  }

  void add_without_copper(std::size_t i) {
    const Side access = pads[i].access;
    if (access == Side::top && !ground.counts(0)) return;
    if (access == Side::bottom && !ground.counts(ground.last())) return;
    add(i, "", access, {});
  }

  void add_joined(std::size_t i) {
    const bool top = pads[i].islands.front().has_value();
    const bool bottom = pads[i].islands.back().has_value();
    add(i, "", top == bottom ? Side::both : top ? Side::top : Side::bottom, all_layers());
  }

  void add_sides(std::size_t i) {
    const Pad& pad = pads[i];
    const std::size_t last = ground.last();
    const bool top = pad.islands.front() && ground.counts(0);
    const bool bottom = last > 0 && pad.islands.back() && ground.counts(last);
    const bool sided = pad.access == Side::both || pad.through;
    if (top) add(i, sided ? "@top" : "", Side::top, {0});
    if (bottom) add(i, sided ? "@bottom" : "", Side::bottom, {last});
  }
};

}  // namespace

bool Pad::has_copper() const {
  return std::any_of(islands.begin(), islands.end(), [](const auto& i) { return i.has_value(); });
}

void place_pads(const Ground& ground, const Holes& holes, std::vector<Pad>& pads) {
  for (Pad& pad : pads) {
    pad.islands.assign(ground.layers(), std::nullopt);
    if (pad.hole) place_in_hole(ground, holes.joins[*pad.hole], pad);
    if (pad.has_copper()) continue;
    place_on_surface(ground, pad);
    if (!pad.has_copper()) continue;
    pad.hole.reset();  // the copper is beside the hole: a join does not reach it
    for (const auto& island : pad.islands) {
      if (!island) continue;
      pad.at = laid_on(ground, *island, pad.at);
      break;
    }
  }
  name_own_nets(ground, pads);
  find_full_names(ground, pads);
  tell_cut_names_apart(pads);
}

StagePoints points_at_stage(const Ground& ground, const Holes& holes,
                            const std::vector<Pad>& pads) {
  Maker maker{ground, pads};
  for (std::size_t i = 0; i < pads.size(); ++i) {
    const Pad& pad = pads[i];
    if (!pad.has_copper()) {
      maker.add_without_copper(i);
    } else if (pad.hole && holes.joined[*pad.hole]) {
      maker.add_joined(i);
    } else {
      maker.add_sides(i);
    }
  }
  return std::move(maker.out);
}

}  // namespace isthmus::expect
