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

void least(std::size_t& fewest, std::size_t size) {
  if (fewest == Fewest::kNever || size < fewest) fewest = size;
}

class Judge {
 public:
  Judge(const Case& c, Pairs pairs, std::size_t most)
      : case_(c), tried_(c.wiring, c.touched, pairs), most_(most) {
    out_.needed.resize(c.wiring.entries);
  }

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
    const auto entries = named(set, played);
    if (!masked && !holds_any(set, hiding_)) {
      hiding_.push_back(set);
      for (const auto e : entries) out_.needed[e] = true;
    }
    const Derived& d = derived(set, played);
    const auto cannot_tell = [&](std::uint32_t e) { return d.state[e] == FaultState::cannot_tell; };
    if (std::none_of(entries.begin(), entries.end(), cannot_tell)) escaped(set, masked, d);
    if (masked) masked_.push_back(set);
  }

  void escaped(const Set& set, bool masked, const Derived& d) {
    const EscapeKind kind = masked                    ? EscapeKind::masked
                            : holds_any(set, masked_) ? EscapeKind::on_masked
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

  // Entries that name the faults: their own, and those that speak of a feature they part from
  // another, or from a touched place.
  [[nodiscard]] std::vector<std::uint32_t> named(const Set& set, const Played& played) const {
    const Wiring& w = case_.wiring;
    std::vector<std::uint32_t> out;
    for (const std::size_t i : set) {
      const auto& own = tried_.primitives()[i].entries;
      out.insert(out.end(), own.begin(), own.end());
    }
    const auto& touched = case_.touched;
    const auto parted = [&](std::uint32_t m, std::uint32_t n) {
      const bool is_touched = std::find(touched.begin(), touched.end(), n) != touched.end();
      return (w.nodes[n].feature || is_touched) && w.nodes[n].piece == w.nodes[m].piece &&
             played.drawn[m] != played.drawn[n];
    };
    for (const auto& way : w.ways) {
      for (std::uint32_t n = 0; n < w.nodes.size(); ++n) {
        if (parted(way.node, n)) out.push_back(way.entry);
      }
    }
    for (std::uint32_t n = 0; n < w.nodes.size(); ++n) {
      bool any = false;
      for (std::uint32_t m = 0; m < w.nodes.size(); ++m) any = any || parted(n, m);
      if (w.nodes[n].feature && any) add_breaks_to(n, out);
    }
    std::sort(out.begin(), out.end());
    out.erase(std::unique(out.begin(), out.end()), out.end());
    return out;
  }

  // Entries that alone part a feature from all others of its piece.
  void add_breaks_to(std::uint32_t node, std::vector<std::uint32_t>& out) const {
    for (std::size_t e = 0; e < case_.wiring.edges.size(); ++e) {
      const auto& edge = case_.wiring.edges[e];
      if (edge.entry == Wiring::kNone) continue;
      std::vector<bool> lost(case_.wiring.edges.size());
      lost[e] = true;
      if (parts_from(case_.wiring, lost, node, true)) out.push_back(edge.entry);
    }
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
  Judged out_;
  std::vector<Set> hiding_, masked_;
  std::map<std::vector<bool>, Derived> by_free_;
};

}  // namespace

std::size_t Judged::fewest(EscapeKind kind) const {
  const auto found =
      std::find_if(escapes.begin(), escapes.end(), [&](const Escape& e) { return e.kind == kind; });
  return found == escapes.end() ? Fewest::kNever : found->set.size();
}

Judged judge(const Case& c, Pairs pairs, std::size_t most) { return Judge(c, pairs, most).run(); }

}  // namespace isthmus::test
