// SPDX-License-Identifier: Apache-2.0
#include "diagnose/rounds.hpp"

#include <algorithm>

namespace isthmus::diagnose {
namespace {

using Sequences = RoundProofs::Sequences;

std::optional<std::uint32_t> nearest_before(const Sequences& list, std::uint32_t sequence) {
  const auto at = std::ranges::lower_bound(list, sequence);
  return at == list.begin() ? std::nullopt : std::optional(*std::prev(at));
}

std::optional<std::uint32_t> nearest_after(const Sequences& list, std::uint32_t sequence) {
  const auto at = std::ranges::upper_bound(list, sequence);
  return at == list.end() ? std::nullopt : std::optional(*at);
}

}  // namespace

void RoundProofs::load(int row, Channel clip, std::size_t closed) {
  std::size_t& most = loads_[{row, clip}];
  most = std::max(most, closed);
}

void RoundProofs::sort() {
  for (auto* by_clip : {&lost_, &met_, &met_elsewhere_}) {
    for (auto& [clip, list] : *by_clip) std::ranges::sort(list);
  }
  for (auto& [key, list] : proven_) {
    std::ranges::sort(list);
    const Channel clip = key.second;
    std::erase_if(list, [&](std::uint32_t s) { return !met_by(met_elsewhere_, clip, s, s); });
  }
}

bool RoundProofs::met_by(const std::map<Channel, Sequences>& met, Channel clip, std::uint32_t first,
                         std::uint32_t last) const {
  const auto it = met.find(clip);
  if (it == met.end()) return false;
  const auto at = std::ranges::upper_bound(it->second, last);
  if (at == it->second.begin()) return false;
  const std::uint32_t latest = *std::prev(at);
  return latest >= first || !lost_between(clip, latest, first);
}

bool RoundProofs::hangs(Channel clip, std::uint32_t first, std::uint32_t last) const {
  return met_by(met_, clip, first, last);
}

bool RoundProofs::lost_between(Channel clip, std::uint32_t from, std::uint32_t to) const {
  const auto it = lost_.find(clip);
  if (it == lost_.end()) return false;
  const auto next = nearest_after(it->second, from);
  return next && *next < to;
}

bool RoundProofs::proven_around(int row, Channel clip, std::uint32_t sequence) const {
  const auto it = proven_.find({row, clip});
  if (it == proven_.end()) return false;
  const auto before = nearest_before(it->second, sequence);
  const auto after = nearest_after(it->second, sequence);
  return before && after && !lost_between(clip, *before, *after);
}

bool RoundProofs::stayed(Channel clip, std::uint32_t first, std::uint32_t last) const {
  std::optional<std::uint32_t> before, after;
  const auto take = [&](const Sequences& list) {
    if (const auto b = nearest_before(list, first)) before = std::max(before.value_or(0), *b);
    if (const auto a = nearest_after(list, last)) after = std::min(after.value_or(UINT32_MAX), *a);
  };
  for (const int row : {1, 2}) {
    if (const auto it = proven_.find({row, clip}); it != proven_.end()) take(it->second);
  }
  if (const auto it = met_.find(clip); it != met_.end()) take(it->second);
  if (!before || !after) return false;
  const auto it = lost_.find(clip);
  return it == lost_.end() || std::ranges::none_of(it->second, [&](std::uint32_t s) {
           return s > *before && s < *after && (s < first || s > last);
         });
}

bool RoundProofs::holds_under_load(int row, Channel clip, std::size_t closed) const {
  // By the adapter's check alone, as on a plate.
  if (!loads_.contains({1, clip}) && !loads_.contains({2, clip})) return true;
  const auto at = loads_.find({row, clip});
  return at != loads_.end() && at->second >= closed && at_voltage.contains(clip);
}

std::optional<std::uint32_t> RoundProofs::last_proven(Channel clip) const {
  std::optional<std::uint32_t> last;
  for (const int row : {1, 2}) {
    const auto it = proven_.find({row, clip});
    if (it != proven_.end() && !it->second.empty())
      last = std::max(last.value_or(0), it->second.back());
  }
  return last;
}

std::optional<std::uint32_t> RoundProofs::last_lost(Channel clip) const {
  const auto it = lost_.find(clip);
  return it == lost_.end() || it->second.empty() ? std::nullopt : std::optional(it->second.back());
}

}  // namespace isthmus::diagnose
