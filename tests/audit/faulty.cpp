// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/faulty.hpp"

#include <algorithm>
#include <numeric>

namespace isthmus::audit {

const char* name(FaultKind k) {
  switch (k) {
    case FaultKind::slit:
      return "slit";
    case FaultKind::hole:
      return "hole";
    case FaultKind::ways:
      return "ways";
    case FaultKind::splash:
      return "splash";
    case FaultKind::masked:
      return "masked";
  }
  return "";
}

Faulty::Faulty(const Raster& raster)
    : raster_(raster),
      cut_(raster.runs.size(), 0),
      gone_(raster.metals.size(), 0),
      seen_(raster.nodes(), 0),
      owner_(raster.nodes(), 0),
      next_(static_cast<Label>(raster.labels)) {}

void Faulty::apply(const Fault& fault) {
  ++epoch_;
  pieces_of_.clear();
  pieces_.clear();
  seeds_.clear();
  touched_.clear();
  unions_.clear();
  next_ = static_cast<Label>(raster_.labels);
  for (const std::size_t m : fault.emptied) gone_[m] = epoch_;
  cut(fault);
  collect_seeds(fault);
  flood();
  join(fault);
}

// Splits the runs that lose cells into what is left of them.
void Faulty::cut(const Fault& fault) {
  const std::vector<Span> spans = spans_of(raster_, fault.removed);
  for (std::size_t i = 0; i < spans.size();) {
    const std::uint32_t run = spans[i].run;
    cut_[run] = epoch_;
    const auto first = static_cast<std::uint32_t>(pieces_.size());
    std::int32_t x = raster_.runs[run].x0;
    for (; i < spans.size() && spans[i].run == run; ++i) {
      if (spans[i].x0 > x) pieces_.push_back({run, x, spans[i].x0 - 1});
      x = spans[i].x1 + 1;
    }
    if (x <= raster_.runs[run].x1) pieces_.push_back({run, x, raster_.runs[run].x1});
    pieces_of_[run] = {first, static_cast<std::uint32_t>(pieces_.size())};
  }
  const std::size_t nodes = raster_.nodes() + pieces_.size();
  if (seen_.size() < nodes) seen_.resize(nodes, 0), owner_.resize(nodes, 0);
  for (std::size_t n = raster_.nodes(); n < seen_.size(); ++n) seen_[n] = 0;
}

template <class F>
void Faulty::parts_over(std::uint32_t run, std::int32_t x0, std::int32_t x1, F&& f) const {
  if (!is_cut(run)) {
    if (raster_.runs[run].x0 <= x1 && x0 <= raster_.runs[run].x1) f(static_cast<Node>(run));
    return;
  }
  const auto [first, last] = pieces_of_.at(run);
  for (std::uint32_t i = first; i < last; ++i) {
    if (pieces_[i].x0 <= x1 && x0 <= pieces_[i].x1) f(static_cast<Node>(raster_.nodes()) + i);
  }
}

template <class F>
void Faulty::around(Node n, F&& f) const {
  if (n >= raster_.runs.size() && n < raster_.nodes()) {
    for (const Span& s : raster_.metals[n - raster_.runs.size()].feet)
      parts_over(s.run, s.x0, s.x1, f);
    return;
  }
  std::uint32_t run = n;
  std::int32_t x0{}, x1{};
  if (n < raster_.runs.size()) {
    x0 = raster_.runs[n].x0, x1 = raster_.runs[n].x1;
  } else {
    const Piece& p = pieces_[n - raster_.nodes()];
    run = p.run, x0 = p.x0, x1 = p.x1;
  }
  for (auto i = raster_.neighbour_begin[run]; i < raster_.neighbour_begin[run + 1]; ++i)
    parts_over(raster_.neighbours[i], x0, x1, f);
  for (auto i = raster_.metal_begin[run]; i < raster_.metal_begin[run + 1]; ++i) {
    const std::size_t m = raster_.metals_of[i];
    if (gone(m)) continue;
    const auto& feet = raster_.metals[m].feet;
    const bool stands = std::ranges::any_of(
        feet, [&](const Span& s) { return s.run == run && s.x0 <= x1 && x0 <= s.x1; });
    if (stands) f(raster_.metal_node(m));
  }
}

void Faulty::add_seed(Node n) {
  if (seen_[n] == epoch_) return;
  seen_[n] = epoch_;
  owner_[n] = static_cast<std::uint32_t>(seeds_.size());
  seeds_.push_back(n);
}

// All that lies beside what was lost: each piece of the conductor holds at least one.
void Faulty::collect_seeds(const Fault& fault) {
  for (std::size_t i = 0; i < pieces_.size(); ++i) add_seed(static_cast<Node>(raster_.nodes() + i));
  for (const auto& [run, range] : pieces_of_) {
    touched_.push_back(raster_.label[run]);
    for (auto i = raster_.neighbour_begin[run]; i < raster_.neighbour_begin[run + 1]; ++i) {
      if (!is_cut(raster_.neighbours[i])) add_seed(raster_.neighbours[i]);
    }
    for (auto i = raster_.metal_begin[run]; i < raster_.metal_begin[run + 1]; ++i) {
      if (!gone(raster_.metals_of[i])) add_seed(raster_.metal_node(raster_.metals_of[i]));
    }
  }
  for (const std::size_t m : fault.emptied) {
    touched_.push_back(raster_.label[raster_.metal_node(m)]);
    for (const Span& s : raster_.metals[m].feet)
      parts_over(s.run, s.x0, s.x1, [&](Node n) { add_seed(n); });
  }
  std::ranges::sort(touched_);
  touched_.erase(std::unique(touched_.begin(), touched_.end()), touched_.end());
}

std::uint32_t Faulty::root(std::uint32_t seed) const {
  while (parent_[seed] != seed) seed = parent_[seed] = parent_[parent_[seed]];
  return seed;
}

Label Faulty::good_label(Node n) const {
  return n >= raster_.nodes() ? raster_.label[pieces_[n - raster_.nodes()].run] : raster_.label[n];
}

void Faulty::flood() {
  parent_.resize(seeds_.size());
  std::iota(parent_.begin(), parent_.end(), 0u);
  front_.assign(seeds_.size(), {});
  seed_label_.assign(seeds_.size(), kNone);
  std::vector<std::pair<Label, std::uint32_t>> by_label;
  for (std::uint32_t s = 0; s < seeds_.size(); ++s) {
    front_[s].nodes = {seeds_[s]};
    by_label.push_back({good_label(seeds_[s]), s});
  }
  std::ranges::sort(by_label);
  for (std::size_t i = 0; i < by_label.size();) {
    const Label label = by_label[i].first;
    std::vector<std::uint32_t> seeds;
    for (; i < by_label.size() && by_label[i].first == label; ++i)
      seeds.push_back(by_label[i].second);
    flood_label(label, seeds);
  }
}

void Faulty::meet(std::uint32_t a, std::uint32_t b) {
  if (front_[a].left() < front_[b].left()) std::swap(a, b);
  parent_[b] = a;
  Front &to = front_[a], &from = front_[b];
  to.nodes.insert(to.nodes.end(), from.nodes.begin() + static_cast<std::ptrdiff_t>(from.head),
                  from.nodes.end());
  from = {};
}

// All seeds at once, a node each in turn: what is small ends early, and the last needs no flood.
void Faulty::flood_label(Label label, const std::vector<std::uint32_t>& seeds) {
  std::vector<std::uint32_t> active = seeds, ended;
  while (active.size() > 1) {
    std::vector<std::uint32_t> still;
    for (const std::uint32_t s : active) {
      if (root(s) != s) continue;
      if (front_[s].left() == 0) {
        ended.push_back(s);
        continue;
      }
      const Node n = front_[s].nodes[front_[s].head++];
      around(n, [&](Node m) {
        const std::uint32_t mine = root(s);
        if (seen_[m] != epoch_) {
          seen_[m] = epoch_, owner_[m] = mine;
          front_[mine].nodes.push_back(m);
        } else if (const std::uint32_t other = root(owner_[m]); other != mine) {
          meet(mine, other);
        }
      });
      still.push_back(s);
    }
    active.clear();
    for (const std::uint32_t s : still) active.push_back(root(s));
    std::ranges::sort(active);
    active.erase(std::unique(active.begin(), active.end()), active.end());
  }
  const bool rest = !active.empty();
  if (rest) seed_label_[active.front()] = label;
  for (std::size_t i = 0; i < ended.size(); ++i)
    seed_label_[ended[i]] = !rest && i == 0 ? label : next_++;
}

Label Faulty::raw(Node n) const {
  if (seen_[n] == epoch_) return seed_label_[root(owner_[n])];
  return good_label(n);
}

Label Faulty::joined(Label l) const {
  for (const auto& [from, to] : unions_) {
    if (l == from) l = to;
  }
  return l;
}

void Faulty::join(const Fault& fault) {
  const auto held = [&](const Hold& h) { return h.metal ? of_metal(*h.metal) : at(h.cell); };
  for (const auto& [a, b] : fault.joined) {
    const Label la = held(a), lb = held(b);
    if (la == kNone || lb == kNone || la == lb) continue;
    unions_.push_back({std::max(la, lb), std::min(la, lb)});
    for (const Hold& h : {a, b}) {
      touched_.push_back(h.metal ? raster_.label[raster_.metal_node(*h.metal)]
                                 : raster_.label_at(h.cell));
    }
  }
  std::ranges::sort(touched_);
  touched_.erase(std::unique(touched_.begin(), touched_.end()), touched_.end());
}

bool Faulty::emptied(std::size_t metal) const { return gone(metal); }

bool Faulty::removed(Cell c) const {
  const std::uint32_t run = raster_.run_at(c);
  return run != kNone && is_cut(run) && at(c) == kNone;
}

Label Faulty::at(Cell c) const {
  const std::uint32_t run = raster_.run_at(c);
  if (run == kNone) return kNone;
  Label label = kNone;
  parts_over(run, c.x, c.x, [&](Node n) { label = joined(raw(n)); });
  return label;
}

Label Faulty::of_metal(std::size_t metal) const {
  return gone(metal) ? kNone : joined(raw(raster_.metal_node(metal)));
}

void Faulty::labels_of(const Span& span, std::vector<Label>& out) const {
  parts_over(span.run, span.x0, span.x1, [&](Node n) { out.push_back(joined(raw(n))); });
}

}  // namespace isthmus::audit
