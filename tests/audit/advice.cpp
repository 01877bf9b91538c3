// SPDX-License-Identifier: Apache-2.0
#include "tests/audit/advice.hpp"

#include <fmt/format.h>

#include "tests/audit/bench.hpp"

namespace isthmus::audit {
namespace {

// Every point from every side that reaches it, as if one plate held them all.
plan::Placement all_points(const expect::Board& board) {
  plan::Placement all;
  const auto& points = board.expectation.points;
  for (std::size_t i = 0; i < points.size(); ++i) {
    for (const Side side : {Side::top, Side::bottom}) {
      if (points[i].side != Side::both && points[i].side != side) continue;
      plan::Probe probe;
      probe.channel = static_cast<plan::Channel>(all.probes.size());
      probe.point = PointId{static_cast<std::uint32_t>(i)};
      probe.at = points[i].at;
      probe.side = side;
      all.probes.push_back(probe);
    }
  }
  return all;
}

class Adviser {
 public:
  Adviser(const expect::Board& board, const diagnose::Diagnosis& diagnosis, const Raster& raster,
          const Places& places)
      : board_(board),
        places_(places),
        all_(all_points(board)),
        bench_(raster, {all_}, 4),
        faulty_(raster) {
    faulty_.apply({});
    good_ = bench_.labels(faulty_);
    std::size_t next = 0;
    for (const expect::FaultState state : diagnosis.states) {
      const bool told = state == expect::FaultState::cannot_tell;
      advice_.push_back(told ? diagnosis.cannot_tell.at(next++).would_tell
                             : std::vector<std::string>{});
    }
  }
  void judge(const Silent& silent, Advice& out);

 private:
  [[nodiscard]] bool tells(std::size_t a, std::size_t b) const {
    if (good_[a] == kNone || good_[b] == kNone || now_[a] == kNone || now_[b] == kNone)
      return false;
    const bool one = good_[a] == good_[b];
    return one ? now_[a] != now_[b]
               : now_[a] == now_[b] && !places_.may_conduct(good_[a], good_[b]);
  }
  [[nodiscard]] std::vector<std::size_t> contacts(const std::string& id) const {
    std::vector<std::size_t> found;
    for (std::size_t c = 0; c < all_.probes.size(); ++c) {
      const bool named = id.empty() || board_.expectation.point(all_.probes[c].point).id == id;
      if (named) found.push_back(c);
    }
    return found;
  }
  [[nodiscard]] bool any_tells(const std::string& p, const std::string& q) const {
    for (const std::size_t a : contacts(p)) {
      for (const std::size_t b : contacts(q)) {
        if (tells(a, b)) return true;
      }
    }
    return false;
  }

  const expect::Board& board_;
  const Places& places_;
  plan::Placement all_;
  Bench bench_;
  Faulty faulty_;
  std::vector<Label> good_, now_;
  std::vector<std::vector<std::string>> advice_;  // by entry
};

void Adviser::judge(const Silent& silent, Advice& out) {
  faulty_.apply(silent.fault);
  now_ = bench_.labels(faulty_);
  std::string advised;
  for (const expect::EntryId e : silent.entries) {
    const auto& ids = advice_.at(index(e));
    if (ids.empty()) continue;
    advised += fmt::format(" [{}]", fmt::join(ids, ", "));
    if (any_tells(ids.front(), ids.size() > 1 ? ids.back() : "")) {
      ++out.right;
      return;
    }
  }
  const Fault& f = silent.fault;
  const std::string text = fmt::format("{} ({:.2f}, {:.2f}) {}{}", audit::name(f.kind),
                                       to_mm(f.at.x), to_mm(f.at.y), name(f.side), advised);
  if (!advised.empty())
    out.wrong.push_back(text);
  else if (any_tells("", ""))
    out.missed.push_back(text);
  else
    ++out.nobody;
}

}  // namespace

Advice check_advice(const expect::Board& board, const diagnose::Diagnosis& diagnosis,
                    const Raster& raster, const Places& places, const std::vector<Silent>& silent) {
  Advice out;
  Adviser adviser(board, diagnosis, raster, places);
  for (const Silent& s : silent) adviser.judge(s, out);
  return out;
}

}  // namespace isthmus::audit
