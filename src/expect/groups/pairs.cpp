// SPDX-License-Identifier: Apache-2.0
#include "expect/groups/pairs.hpp"

#include <algorithm>
#include <limits>
#include <map>
#include <queue>

namespace isthmus::expect {
namespace {

// All gaps between two pieces of copper that exist at this stage.
struct Border {
  std::size_t to{};
  std::vector<std::size_t> gaps;
  double distance_nm{std::numeric_limits<double>::infinity()};
  double weight{};
};

// Two bridges at once, through copper between: rarer than one by this share (common practice, no
// source).
constexpr double kTwoFaults = 1e-3;

struct Map {
  std::vector<std::vector<Border>> borders;      // by piece, ascending by neighbour
  std::vector<std::vector<std::size_t>> groups;  // by piece
  [[nodiscard]] bool pointless(std::size_t piece) const { return groups[piece].empty(); }
};

Map map_of(const Ground& ground, const Pieces& pieces, const Grouping& grouping) {
  std::vector<std::map<std::size_t, Border>> found(pieces.count);
  for (std::size_t g = 0; g < ground.gaps.size(); ++g) {
    const copper::Gap& gap = ground.gaps[g];
    if (!ground.counts(index(gap.layer))) continue;
    const std::size_t a = pieces.of(gap.a);
    const std::size_t b = pieces.of(gap.b);
    if (a == b) continue;
    for (const auto& [from, to] : {std::pair(a, b), std::pair(b, a)}) {
      Border& border = found[from][to];
      border.to = to;
      border.gaps.push_back(g);
      border.distance_nm = std::min(border.distance_nm, gap.distance_nm);
      border.weight += gap.weight;
    }
  }
  Map map;
  map.borders.resize(pieces.count);
  for (std::size_t p = 0; p < pieces.count; ++p) {
    for (auto& [to, border] : found[p]) map.borders[p].push_back(std::move(border));
  }
  map.groups.resize(pieces.count);
  for (std::size_t g = 0; g < grouping.groups.size(); ++g) {
    map.groups[grouping.pieces[g]].push_back(g);
  }
  return map;
}

// The shortest chain of gaps from a piece to another, and the pointless pieces on it.
struct Chain {
  std::size_t to{};
  double distance_nm{};
  double weight{};
  std::vector<std::size_t> gaps;
  std::vector<std::size_t> through;
};

class Walk {
 public:
  Walk(const Map& map, std::size_t from) : map_(map), from_(from) {}

  // Every piece with points that is reached directly or through pointless pieces, ascending.
  std::vector<Chain> run() {
    queue_.push({0.0, from_});
    reached_[from_] = Reached{};
    while (!queue_.empty()) {
      const auto [distance, piece] = queue_.top();
      queue_.pop();
      if (distance > reached_[piece].distance) continue;
      if (piece != from_ && !map_.pointless(piece)) continue;
      for (const Border& border : map_.borders[piece]) step(piece, distance, border);
    }
    std::vector<Chain> chains;
    for (const auto& [piece, r] : reached_) {
      if (piece != from_ && !map_.pointless(piece)) chains.push_back(chain_to(piece));
    }
    return chains;
  }

 private:
  struct Reached {
    double distance{};
    std::size_t before{};
    const Border* border{};
  };
  using Entry = std::pair<double, std::size_t>;

  void step(std::size_t piece, double distance, const Border& border) {
    // A direct neighbour keeps its direct gaps, however short a chain round them is.
    const bool direct = piece == from_ && !map_.pointless(border.to);
    const double d = direct ? -1.0 : std::max(distance, 0.0) + border.distance_nm;
    const auto known = reached_.find(border.to);
    if (known != reached_.end() && known->second.distance <= d) return;
    reached_[border.to] = {d, piece, &border};
    queue_.push({d, border.to});
  }

  Chain chain_to(std::size_t piece) {
    Chain chain;
    chain.to = piece;
    chain.weight = std::numeric_limits<double>::infinity();
    for (std::size_t at = piece; at != from_; at = reached_[at].before) {
      const Border& border = *reached_[at].border;
      chain.distance_nm += border.distance_nm;
      chain.weight = std::min(chain.weight, border.weight);
      chain.gaps.insert(chain.gaps.end(), border.gaps.begin(), border.gaps.end());
      if (at != piece) chain.through.push_back(at);
    }
    if (!chain.through.empty()) chain.weight *= kTwoFaults;
    std::sort(chain.gaps.begin(), chain.gaps.end());
    return chain;
  }

  const Map& map_;
  std::size_t from_;
  std::map<std::size_t, Reached> reached_;
  std::priority_queue<Entry, std::vector<Entry>, std::greater<>> queue_;
};

class Finder {
 public:
  Finder(const Pieces& pieces, const Grouping& grouping, const Ties& ties)
      : grouping_(grouping), ties_(ties), islands_(pieces.count) {
    for (std::size_t i = 0; i < pieces.of_island.size(); ++i) {
      islands_[pieces.of_island[i]].push_back(static_cast<IslandId>(i));
    }
  }

  [[nodiscard]] bool isolated(std::size_t a, std::size_t b) const {
    return grouping_.keys[a] != grouping_.keys[b] &&
           !ties_.tied(grouping_.groups[a].net, grouping_.groups[b].net);
  }

  void add(std::size_t a, std::size_t b, const Chain& chain) {
    if (!isolated(a, b)) return;
    Pair pair;
    pair.a = static_cast<GroupId>(std::min(a, b));
    pair.b = static_cast<GroupId>(std::max(a, b));
    pair.distance_nm = chain.distance_nm;
    pair.gaps = chain.gaps;
    pair.weight = chain.weight;
    for (const std::size_t piece : chain.through) {
      pair.through.insert(pair.through.end(), islands_[piece].begin(), islands_[piece].end());
    }
    std::sort(pair.through.begin(), pair.through.end());
    pairs_.push_back(std::move(pair));
  }

  std::vector<Pair> take() {
    std::sort(pairs_.begin(), pairs_.end(), [](const Pair& x, const Pair& y) {
      return std::pair(x.a, x.b) < std::pair(y.a, y.b);
    });
    return std::move(pairs_);
  }

 private:
  const Grouping& grouping_;
  const Ties& ties_;
  std::vector<std::vector<IslandId>> islands_;
  std::vector<Pair> pairs_;
};

}  // namespace

Ties::Ties(const std::vector<std::vector<std::string>>& ties) {
  for (const auto& tie : ties) {
    for (const auto& a : tie) {
      for (const auto& b : tie) pairs_.insert({a, b});
    }
  }
}

bool Ties::tied(const std::string& a, const std::string& b) const {
  return pairs_.count({a, b}) > 0;
}

Pairs find_pairs(const Ground& ground, const Pieces& pieces, const Grouping& grouping,
                 const Ties& ties) {
  const Map map = map_of(ground, pieces, grouping);
  Finder finder(pieces, grouping, ties);
  for (std::size_t piece = 0; piece < pieces.count; ++piece) {
    const auto& here = map.groups[piece];
    for (std::size_t i = 0; i < here.size(); ++i) {
      for (std::size_t k = i + 1; k < here.size(); ++k) finder.add(here[i], here[k], Chain{});
    }
    if (here.empty()) continue;
    for (const Chain& chain : Walk(map, piece).run()) {
      if (chain.to < piece) continue;
      for (const std::size_t a : here) {
        for (const std::size_t b : map.groups[chain.to]) finder.add(a, b, chain);
      }
    }
  }
  Pairs out;
  out.near = finder.take();
  std::size_t all = 0;
  for (std::size_t a = 0; a < grouping.groups.size(); ++a) {
    for (std::size_t b = a + 1; b < grouping.groups.size(); ++b) all += finder.isolated(a, b);
  }
  out.beyond = all - out.near.size();
  return out;
}

}  // namespace isthmus::expect
