// SPDX-License-Identifier: Apache-2.0
#include "isthmus/formats/fixture_file.hpp"

#include <fmt/format.h>

#include <array>
#include <set>

#include "isthmus/formats/design.hpp"
#include "isthmus/formats/names.hpp"
#include "isthmus/formats/quantity.hpp"
#include "isthmus/formats/text.hpp"
#include "isthmus/formats/yaml.hpp"

namespace isthmus::formats {
namespace {

constexpr int kMinChannels = 2, kMaxChannels = 256;

class FixtureReader {
 public:
  FixtureReader(const std::filesystem::path& path, std::string_view source)
      : yaml_(path.string(), source) {
    fixture_.path = path;
  }

  Result<FixtureFile> read(const YamlNode& root) {
    if (yaml_.map(root,
                  {"isthmus", "channels", "contact-check", "placements", "tips", "made-for"})) {
      read_head(root);
      read_placements(root);
      read_tips(root);
      read_made_for(root);
    }
    if (yaml_.problem()) return *yaml_.problem();
    return std::move(fixture_);
  }

 private:
  void read_head(const YamlNode& root) {
    const YamlNode* version = yaml_.required(root, "isthmus", "begin the file with: isthmus: 1");
    if (version != nullptr && version->text != "1") {
      yaml_.fail(*version, "YML-008", "this program reads version 1 of the fixture description",
                 "isthmus: 1");
    }
    if (const YamlNode* n = yaml_.required(root, "channels", "channels: 64")) {
      const std::optional<std::int64_t> v = to_int(yaml_.text(*n));
      if (!v || *v < kMinChannels || *v > kMaxChannels) {
        yaml_.fail(*n, "YML-018", "'channels' has to be a whole number from 2 to 256");
      } else {
        fixture_.channels = static_cast<int>(*v);
      }
    }
    if (const YamlNode* n = root.find("contact-check")) fixture_.contact_check = yaml_.truth(*n);
  }

  void read_placements(const YamlNode& root) {
    const YamlNode* placements = yaml_.required(root, "placements");
    if (placements == nullptr || !yaml_.list(*placements, "placements")) return;
    if (placements->children.empty()) {
      yaml_.fail(*placements, "YML-012", "a fixture has at least one placement");
    }
    std::set<std::string> names;
    for (const YamlNode& n : placements->children) {
      if (!yaml_.map(n, {"name", "side", "probes", "clips", "needles"})) return;
      PlacementEntry placement;
      if (const YamlNode* name = yaml_.required(n, "name", "name: A")) {
        placement.name = yaml_.text(*name);
        if (const std::string unfit = unfit_as_name(placement.name); !unfit.empty())
          yaml_.fail(*name, "YML-021", unfit, kNameHint);
        if (!names.insert(placement.name).second) {
          yaml_.fail(*name, "YML-017",
                     "there are two placements named '" + shown(placement.name) + "'",
                     "give each a name of its own");
        }
      }
      if (const YamlNode* side = yaml_.required(n, "side", "side: top, bottom, or both")) {
        placement.side = std::array{Side::top, Side::bottom,
                                    Side::both}[yaml_.word(*side, {"top", "bottom", "both"})];
      }
      read_contacts(n, placement);
      fixture_.placements.push_back(std::move(placement));
    }
  }

  // 0 after a failure.
  Channel channel(const YamlNode& at, const std::string& text, std::set<Channel>& used) {
    const std::optional<std::int64_t> v = to_int(text);
    if (!v || *v < 1 || *v > fixture_.channels) {
      yaml_.fail(at, "YML-016",
                 "'" + shown(text) + "' is not a channel of this fixture: 1 to " +
                     std::to_string(fixture_.channels),
                 "use another channel, or correct 'channels'");
      return 0;
    }
    const auto c = static_cast<Channel>(*v);
    if (!used.insert(c).second) {
      yaml_.fail(at, "YML-015", "channel " + std::to_string(c) + " is used twice in this placement",
                 "each probe and each twin needs a channel of its own");
    }
    return c;
  }

  // Probes and clips share one set of channels.
  void read_contacts(const YamlNode& n, PlacementEntry& placement) {
    const YamlNode* clips = n.find("clips");
    const YamlNode* probes = clips != nullptr || n.find("needles") != nullptr
                                 ? n.find("probes")
                                 : yaml_.required(n, "probes", "probes: {1: U1.3}");
    std::set<Channel> used;
    if (const YamlNode* needles = n.find("needles")) read_needles(*needles, used, placement);
    if (probes != nullptr) read_probes(*probes, false, used, placement);
    if (clips != nullptr) read_probes(*clips, true, used, placement);
  }

  // [15, 16], or [[14, 15], 16] where the first is forked.
  void read_needles(const YamlNode& list, std::set<Channel>& used, PlacementEntry& placement) {
    if (!yaml_.list(list, "needles")) return;
    for (const YamlNode& n : list.children) {
      NeedleEntry needle;
      if (n.kind == YamlKind::list && n.children.size() == 2) {
        needle.channel = channel(n, n.children[0].text, used);
        needle.fork = channel(n, n.children[1].text, used);
      } else {
        needle.channel = channel(n, yaml_.text(n), used);
      }
      placement.needles.push_back(needle);
    }
  }

  void read_probes(const YamlNode& list, bool clips, std::set<Channel>& used,
                   PlacementEntry& placement) {
    if (list.kind != YamlKind::map) {
      yaml_.fail(list, "YML-004", "'" + list.key + "' has to be a map: {1: U1.3, 2: [x, y]}");
      return;
    }
    for (const YamlNode& n : list.children) {
      const Channel c = channel(n.at_key(), n.key, used);
      ProbeEntry probe = read_probe(n, clips && !placement.needles.empty(), used);
      probe.clip = clips;
      probe.line = n.line;
      probe.column = n.column;
      check_side(n, probe, placement);
      if (yaml_.problem()) return;
      placement.probes.emplace(c, std::move(probe));
    }
  }

  // The pins of one plate cannot reach round the board; clips can.
  void check_side(const YamlNode& n, const ProbeEntry& probe, const PlacementEntry& placement) {
    if (probe.clip || !probe.side || placement.side == Side::both || *probe.side == placement.side)
      return;
    const std::string plate(name(placement.side));
    yaml_.fail(*n.find("side"), "YML-019",
               "the placement's probes come from the " + plate + ", this one names the " +
                   std::string(name(*probe.side)),
               "write the placement's side as 'both', or list the probe under 'clips'");
  }

  static Side side_of(std::size_t word) {
    return std::array{Side::top, Side::bottom, Side::both}[word];
  }

  // A clip of a placement by hand may go through a hole, and says where its body is.
  void read_sides(const YamlNode& n, bool by_hand, ProbeEntry& probe) {
    const YamlNode *side = n.find("side"), *from = n.find("from");
    if (side != nullptr)
      probe.side = side_of(by_hand ? yaml_.word(*side, {"top", "bottom", "both"})
                                   : yaml_.word(*side, {"top", "bottom"}));
    if (from != nullptr) probe.from = side_of(yaml_.word(*from, {"top", "bottom"}));
  }

  ProbeEntry read_probe(const YamlNode& n, bool by_hand, std::set<Channel>& used) {
    ProbeEntry probe;
    if (n.kind == YamlKind::list) {
      probe.at = yaml_.place(n);
    } else if (n.kind == YamlKind::map &&
               (by_hand ? yaml_.map(n, {"point", "at", "side", "from"})
                        : yaml_.map(n, {"point", "at", "twin", "side"}))) {
      if (const YamlNode* point = n.find("point")) probe.point = yaml_.text(*point);
      if (const YamlNode* at = n.find("at")) probe.at = yaml_.place(*at);
      if (const YamlNode* twin = n.find("twin")) {
        probe.twin = channel(*twin, yaml_.text(*twin), used);
      }
      read_sides(n, by_hand, probe);
      if (probe.point.empty() && !probe.at) {
        yaml_.fail(n, "YML-003", "a probe needs a point or a place",
                   "{point: U1.3} or {at: [x, y]}");
      }
    } else {
      probe.point = yaml_.text(n);
    }
    return probe;
  }

  void read_tips(const YamlNode& root) {
    const YamlNode* tips = root.find("tips");
    if (tips == nullptr ||
        !yaml_.map(*tips, {"kind", "diameter", "current", "contact", "contact-spread"})) {
      return;
    }
    const auto need = [&](const YamlNode& n, bool good) {
      if (!good) yaml_.fail(n, "YML-012", "'" + n.key + "' is out of range");
    };
    if (const YamlNode* n = tips->find("kind")) fixture_.tip_kind = yaml_.text(*n);
    if (const YamlNode* n = tips->find("diameter")) {
      fixture_.tip_diameter = yaml_.quantity(*n, parse_length);
      need(*n, fixture_.tip_diameter.value > 0);
    }
    if (const YamlNode* n = tips->find("current")) {
      fixture_.tip_current = yaml_.quantity(*n, parse_current);
      need(*n, fixture_.tip_current.value > 0);
    }
    if (const YamlNode* n = tips->find("contact")) {
      fixture_.tip_contact = yaml_.quantity(*n, parse_resistance);
      need(*n, fixture_.tip_contact.value >= 0);
    }
    if (const YamlNode* n = tips->find("contact-spread")) {
      fixture_.tip_contact_spread = yaml_.number(*n);
      need(*n, fixture_.tip_contact_spread >= 0);
    }
  }

  void read_made_for(const YamlNode& root) {
    const YamlNode* made = root.find("made-for");
    if (made == nullptr || !yaml_.map(*made, {"board", "stage", "hash"})) return;
    if (const YamlNode* n = made->find("board")) fixture_.made_for_board = yaml_.text(*n);
    if (const YamlNode* n = made->find("hash")) fixture_.made_for_hash = yaml_.text(*n);
    if (const YamlNode* n = made->find("stage")) {
      fixture_.made_for_stage = yaml_.text(*n);
      if (!parse_stage(fixture_.made_for_stage)) {
        yaml_.fail(*n, "YML-010", "'" + shown(n->text) + "' is not a stage",
                   "etched-top, etched-bottom, etched, joined, finished");
      }
    }
  }

  YamlReader yaml_;
  FixtureFile fixture_;
};

std::string probe_text(const ProbeEntry& p) {
  const bool plain = !p.twin && !p.side && !p.from;
  if (plain && !p.at) return yaml_text(p.point);
  if (plain && p.point.empty()) return place_text(*p.at);
  std::string out;
  if (!p.point.empty()) out += "point: " + yaml_text(p.point);
  if (p.at) out += (out.empty() ? "at: " : ", at: ") + place_text(*p.at);
  if (p.twin) out += ", twin: " + std::to_string(*p.twin);
  if (p.side) out += fmt::format(", side: {}", name(*p.side));
  if (p.from) out += fmt::format(", from: {}", name(*p.from));
  return "{" + out + "}";
}

std::string needles_text(const std::vector<NeedleEntry>& needles) {
  std::string out;
  for (const NeedleEntry& n : needles) {
    out += out.empty() ? "" : ", ";
    out += n.fork ? fmt::format("[{}, {}]", n.channel, *n.fork) : std::to_string(n.channel);
  }
  return "    needles: [" + out + "]\n";
}

std::string contacts_text(const PlacementEntry& p, bool clips) {
  std::string out;
  for (const auto& [c, probe] : p.probes) {
    if (probe.clip == clips) out += fmt::format("      {}: {}\n", c, probe_text(probe));
  }
  return out;
}

}  // namespace

Result<FixtureFile> parse_fixture_file(std::string_view bytes, const std::filesystem::path& path) {
  Result<YamlNode> root = parse_yaml(bytes, path.string());
  if (!root) return root.problem();
  return FixtureReader(path, bytes).read(*root);
}

Result<FixtureFile> read_fixture_file(const std::filesystem::path& path) {
  Result<std::string> bytes = read_whole_file(path);
  if (!bytes) return bytes.problem();
  return parse_fixture_file(*bytes, path);
}

std::string write_fixture_file(const FixtureFile& f) {
  std::string out = fmt::format("isthmus: 1\nchannels: {}\ncontact-check: {}\nplacements:\n",
                                f.channels, f.contact_check);
  for (const PlacementEntry& p : f.placements) {
    out += fmt::format("  - name: {}\n    side: {}\n", yaml_text(p.name), name(p.side));
    const std::string probes = contacts_text(p, false), clips = contacts_text(p, true);
    if (p.needles.empty() || !probes.empty())
      out += "    probes:" + (probes.empty() ? " {}\n" : "\n" + probes);
    if (!p.needles.empty()) out += needles_text(p.needles);
    if (!clips.empty()) out += "    clips:\n" + clips;
  }
  out += fmt::format(
      "tips: {{kind: {}, diameter: {}, current: {}, contact: {}, contact-spread: {}}}\n",
      yaml_text(f.tip_kind), text_of(f.tip_diameter), text_of(f.tip_current),
      text_of(f.tip_contact), f.tip_contact_spread);
  std::string made;
  for (const auto& [key, value] :
       {std::pair{"board", f.made_for_board}, std::pair{"stage", f.made_for_stage},
        std::pair{"hash", f.made_for_hash}}) {
    if (!value.empty())
      made += (made.empty() ? "" : ", ") + fmt::format("{}: {}", key, yaml_text(value));
  }
  if (!made.empty()) out += "made-for: {" + made + "}\n";
  return out;
}

}  // namespace isthmus::formats
