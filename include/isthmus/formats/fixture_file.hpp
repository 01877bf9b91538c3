// SPDX-License-Identifier: Apache-2.0
// fixture.yaml as plain values. Keys: docs/formats/fixture.md.
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "isthmus/base/geometry.hpp"
#include "isthmus/base/result.hpp"
#include "isthmus/base/terms.hpp"

namespace isthmus::formats {

using Channel = int;  // 1-based

// What one probe touches: a named point, a bare place, or both (`{point: U1.3, at: [x, y]}`).
struct ProbeEntry {
  std::string point;  // empty when only a place is given
  std::optional<Position> at;
  std::optional<Channel> twin;  // second tip on the same pad
  std::optional<Side> side{};   // nothing: the placement's own; both: a clip through a hole
  std::optional<Side> from{};   // of a clip: where its body is; nothing: where it touches
  bool clip{false};             // listed under `clips`: stays where it is
  std::int32_t line{}, column{};
};
// Held in the hand; forked: two tips insulated from each other.
struct NeedleEntry {
  Channel channel{};
  std::optional<Channel> fork{};
};
struct PlacementEntry {
  std::string name;
  Side side{Side::top};  // side the probes come from; both: plates on both sides at once
  std::map<Channel, ProbeEntry> probes;  // and clips
  std::vector<NeedleEntry> needles;      // any: the placement is played by hand
};
struct FixtureFile {
  std::filesystem::path path;
  int channels{};
  bool contact_check{false};
  std::vector<PlacementEntry> placements;
  std::string tip_kind{"needle"};
  Nanometres tip_diameter{500_um};
  Amperes tip_current{0.1};
  Ohms tip_contact{0.05};  // expected contact resistance of one tip; key tips: {contact: 50 mohm}
  double tip_contact_spread{1.0};                             // it may be this share above or below
  std::string made_for_board, made_for_stage, made_for_hash;  // empty: not checked
};

// Reads a fixture. Whether it fits a board is asked by the plan.
//
// Shape   clips stand among the probes of their placement, marked `clip`.
// Errors  YML-0xx at file:line:column: a channel twice (as probe, clip or twin), beyond `channels`,
//         below 1; two placements of one name; not 2..256 channels; a probe on the side its plate
//         is not on.
// Source  docs/formats/fixture.md.
Result<FixtureFile> read_fixture_file(const std::filesystem::path& path);
Result<FixtureFile> parse_fixture_file(std::string_view bytes, const std::filesystem::path& path);
std::string write_fixture_file(const FixtureFile& fixture);

}  // namespace isthmus::formats
