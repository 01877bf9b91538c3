// SPDX-License-Identifier: Apache-2.0
// From the sources of points (netlist records, X2 flashes, bare artwork) to named points on copper.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "expect/holes/joins.hpp"

namespace isthmus::expect {

// One physical pad or hole, before the stage decides whether a hole is one point or two.
struct Pad {
  std::string ref, pin;
  bool via{false};
  std::string net;          // verbatim
  std::string net_full;     // X2 name
  bool own_net{false};      // N/C or blank: a net of its own, named later
  bool unknown_net{false};  // the artwork has a pad here but says no net
  Position at;
  Side access{Side::top};
  bool through{false};              // has, or should have, a hole
  std::optional<std::size_t> hole;  // index into joins
  Nanometres size{};                // smaller extent; 0 unknown
  std::string id;                   // without a side
  std::vector<std::string> aliases;
  std::vector<std::optional<IslandId>> islands;  // by layer, all layers of the design
  // Net name, and the X2 name where cut names coincide: what makes two points one net.
  std::string key;
  [[nodiscard]] bool has_copper() const;
};

std::vector<Pad> pads_of_netlist(const Ground& ground, const Holes& holes, Diagnostics& notes);
std::vector<Pad> pads_of_x2(const Ground& ground, const Holes& holes);
// Names nothing but the places; nets are given by the pieces of copper later.
std::vector<Pad> pads_of_artwork(const Ground& ground, const Holes& holes);

// Merges records of one physical pad, orders by ref, pin, x, y, side, and gives the ids.
// Two records at the ends of a slot are two pads.
std::vector<Pad> name_pads(std::vector<Pad> pads, const Holes& holes);

// Finds the copper under every pad, the X2 names of their nets, and the names of nets of their own.
void place_pads(const Ground& ground, const Holes& holes, std::vector<Pad>& pads);

struct StagePoints {
  std::vector<Point> points;
  std::vector<std::string> keys;    // net identity by point
  std::vector<std::size_t> pad_of;  // by point
};
// Splits holes that nothing joins, and leaves out what the stage does not have.
StagePoints points_at_stage(const Ground& ground, const Holes& holes, const std::vector<Pad>& pads);

// Whether it is drawn to be probed, soldered or drilled, as its aperture function says.
bool is_pad(const formats::Attributes& a);
// A flash or an area that says so; an untagged flash may be.
bool may_be_pad(const formats::Object& object, const formats::Attributes& a);

// A place of the object well inside it, and its smaller extent.
Position place_of(const formats::Object& object);
Nanometres extent_of(const formats::Object& object);

struct Pieces;
// Appends points that nobody asks for (`required` false): holes, flashed pads, mask openings, drawn
// pads and pours that `known` does not name. Their net is that of their copper, now or once all is
// joined; else "#<island>".
void add_unlisted(const Ground& ground, const Holes& holes, const std::vector<Pad>& known,
                  const Pieces& pieces, const Pieces& promised, StagePoints& stage);

}  // namespace isthmus::expect
