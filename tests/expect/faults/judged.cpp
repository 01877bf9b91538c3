// SPDX-License-Identifier: Apache-2.0
#include "tests/expect/faults/judged.hpp"

#include <algorithm>
#include <map>

#include "tests/expect/faults/sketch.hpp"

namespace isthmus::test {
namespace {

using expect::Derived;
using expect::FaultState;
using expect::Wiring;

using Set = std::vector<std::size_t>;

bool holds(const Set& whole, const Set& part) {
  return std::includes(whole.begin(), whole.end(), part.begin(), part.end());
}

bool holds_any(const Set& whole, const std::vector<Set>& parts) {
  return std::any_of(parts.begin(), parts.end(), [&](const Set& p) { return holds(whole, p); });
}

// "No join made" holds every join.
Set spelt_out(Set set, const Exhaustion& tried) {
  const auto& all = tried.primitives();
  const Primitive& most = all[set.back()];  // it is the last
  if (most.edges.size() <= 2) return set;
  for (std::size_t i = 0, last = set.back(); i < last; ++i) {
    const auto& part = all[i].edges;
    if (part.empty()) continue;
    if (std::includes(most.edges.begin(), most.edges.end(), part.begin(), part.end()))
      set.push_back(i);
  }
  std::sort(set.begin(), set.end());
  return set;
}

void least(std::size_t& fewest, std::size_t size) {
  if (fewest == Fewest::kNever || size < fewest) fewest = size;
}

// Entries that alone part a feature from all others of its piece.
void add_breaks_to(const Wiring& w, std::uint32_t node, std::vector<std::uint32_t>& out) {
  for (std::size_t e = 0; e < w.edges.size(); ++e) {
    if (w.edges[e].entry == Wiring::kNone) continue;
    std::vector<bool> lost(w.edges.size());
    lost[e] = true;
    if (parts_from(w, lost, node, true)) out.push_back(w.edges[e].entry);
  }
}

// Features that the set parts from another, or from a touched place.
std::vector<std::uint32_t> parted_features(const Case& c, const Played& played) {
  const auto& nodes = c.wiring.nodes;
  std::vector<std::uint32_t> out;
  for (std::uint32_t n = 0; n < nodes.size(); ++n) {
    bool parted = false;
    for (std::uint32_t m = 0; m < nodes.size(); ++m) {
      const bool touched = std::find(c.touched.begin(), c.touched.end(), m) != c.touched.end();
      parted = parted || ((nodes[m].feature || touched) && nodes[m].piece == nodes[n].piece &&
                          played.drawn[m] != played.drawn[n]);
    }
    if (nodes[n].feature && parted) out.push_back(n);
  }
  return out;
}

std::vector<std::uint32_t> named_by(const Case& c, const Exhaustion& tried, const Set& set,
                                    const Played& played, Naming naming) {
  std::vector<std::uint32_t> out;
  const auto parted = parted_features(c, played);
  for (const std::size_t i : set) {
    const Primitive& p = tried.primitives()[i];
    if (naming == Naming::breaks && !parted.empty() && p.facing != SIZE_MAX) continue;
    out.insert(out.end(), p.entries.begin(), p.entries.end());
  }
  for (const std::uint32_t n : parted) {
    add_breaks_to(c.wiring, n, out);
    for (const auto& way : c.wiring.ways) {
      if (way.node == n) out.push_back(way.entry);
    }
  }
  return out;
}

class Judge {
 public:
  Judge(const Case& c, Pairs pairs, std::size_t most, Naming naming)
      : case_(c), tried_(c.wiring, c.touched, pairs), most_(most), naming_(naming) {}

  Judged run() {
    each_set(tried_.primitives().size(), most_, [&](const Set& set) { look_at(set); });
    return std::move(out_);
  }

 private:
  void look_at(const Set& set) {
    const Played played = tried_.play(set);
    if (played.harm == Harm::none || !played.reads_good) return;
    const bool masked = played.harm == Harm::masked;
    least(masked ? out_.masked : out_.hide, set.size());
    const auto entries = named_by(case_, tried_, set, played, naming_);
    const Derived& d = derived(set, played);
    const auto cannot_tell = [&](std::uint32_t e) { return d.state[e] == FaultState::cannot_tell; };
    if (std::none_of(entries.begin(), entries.end(), cannot_tell)) escaped(set, masked, d);
    if (masked) masked_.push_back(set);
  }

  void escaped(const Set& set, bool masked, const Derived& d) {
    const EscapeKind kind = masked                                       ? EscapeKind::masked
                            : holds_any(spelt_out(set, tried_), masked_) ? EscapeKind::on_masked
                                                                         : EscapeKind::plain;
    for (const Escape& e : out_.escapes) {
      if (e.kind == kind && holds(set, e.set)) return;
    }
    const bool elsewhere = std::count(d.state.begin(), d.state.end(), FaultState::cannot_tell) > 0;
    out_.escapes.push_back({kind, set, elsewhere,
                            case_.name + ": " + tried_.name(set) +
                                (elsewhere ? " (another entry blocks)" : " (PASSES)") + "\n" +
                                text(case_.wiring, case_.touched)});
  }

  // The readings between tied pieces are free: what follows from them too.
  const Derived& derived(const Set& set, const Played& played) {
    const auto found = by_free_.find(played.free);
    if (found != by_free_.end()) return found->second;
    return by_free_.emplace(played.free, derive(case_.wiring, tried_.facts(set))).first->second;
  }

  const Case& case_;
  Exhaustion tried_;
  std::size_t most_;
  Naming naming_;
  Judged out_;
  std::vector<Set> masked_;
  std::map<std::vector<bool>, Derived> by_free_;
};

}  // namespace

std::size_t Judged::fewest(EscapeKind kind) const {
  const auto found =
      std::find_if(escapes.begin(), escapes.end(), [&](const Escape& e) { return e.kind == kind; });
  return found == escapes.end() ? Fewest::kNever : found->set.size();
}

Judged judge(const Case& c, Pairs pairs, std::size_t most, Naming naming) {
  return Judge(c, pairs, most, naming).run();
}

}  // namespace isthmus::test
