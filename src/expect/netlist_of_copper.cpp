// SPDX-License-Identifier: Apache-2.0
#include "isthmus/expect/netlist_of_copper.hpp"

#include <algorithm>
#include <map>
#include <set>
#include <string>

namespace isthmus::expect {
namespace {

using formats::NetlistRecord;

// Names as the columns of IPC-D-356A can carry them.
std::string graphic(std::string text) {
  for (char& c : text) {
    if (c < ' ' || c > '~') c = '?';
  }
  return text;
}

class Pieces {
 public:
  explicit Pieces(const Expectation& e) : e_(e) {
    for (const Group& g : e.groups) {
      Piece& piece = pieces_[g.islands.front()];
      const std::string net = graphic(g.net);
      piece.nets.insert(net);
      homes_[net].insert(g.islands.front());
    }
    std::size_t made = 0;
    for (auto& [island, piece] : pieces_) {
      const std::string& net = *piece.nets.begin();
      const bool own = piece.nets.size() == 1 && homes_.at(net).size() == 1 && !net.empty() &&
                       net != "N/C" && net.front() != ' ' && net.back() != ' ' && net.size() <= 58;
      piece.name = own ? net : "";
      while (piece.name.empty()) {
        const std::string name = "COPPER-" + std::to_string(++made);
        if (!homes_.contains(name)) piece.name = name;
      }
    }
  }

  [[nodiscard]] const std::string& name_of(GroupId g) const {
    return pieces_.at(e_.group(g).islands.front()).name;
  }

 private:
  struct Piece {
    std::set<std::string> nets;
    std::string name;
  };
  const Expectation& e_;
  std::map<IslandId, Piece> pieces_;  // by first island
  std::map<std::string, std::set<IslandId>> homes_;
};

// "U1.3", "R4.1#2" and "J1.1@top" without what was added to tell places apart.
void name_record(const std::string& id, NetlistRecord& r) {
  std::string name = graphic(id.substr(0, id.find('@')));
  name = name.substr(0, name.find('#'));
  const std::size_t dot = name.find('.');
  r.ref = name.substr(0, dot);
  r.pin = dot == std::string::npos ? "" : name.substr(dot + 1);
}

}  // namespace

formats::Netlist netlist_of_copper(const Board& board) {
  const Expectation& e = board.expectation;
  const Pieces pieces(e);
  formats::Netlist netlist;
  netlist.metric = true;
  netlist.bottom_access = std::max(2, static_cast<int>(board.copper.layers));
  for (const Point& point : e.points) {
    if (!point.group) continue;
    NetlistRecord r;
    r.net = pieces.name_of(*point.group);
    r.at = point.at;
    r.size_x = r.size_y = point.size;
    r.access = point.side == Side::both ? 0 : point.side == Side::top ? 1 : netlist.bottom_access;
    if (point.side == Side::both && point.join) {
      r.kind = formats::FeatureKind::through_hole;
      r.hole = e.joins[*point.join].diameter;
      r.plated = board.design.holes[e.joins[*point.join].hole].plated;
      // Less apart is the rounding of the netlist it was read from (0.0001 inch).
      const Position hole = e.joins[*point.join].at;
      if (distance_nm(hole, point.at) > 5000) r.hole_at = hole;
    } else if (point.side == Side::both) {
      r.kind = formats::FeatureKind::through_hole;
    }
    std::vector<std::string> names = point.aliases;
    names.insert(names.begin(), point.id);
    for (const std::string& name : names) {
      name_record(name, r);
      if (point.via) {
        r.ref = "VIA";
        r.pin.clear();
      }
      netlist.records.push_back(r);
    }
  }
  return netlist;
}

}  // namespace isthmus::expect
