// SPDX-License-Identifier: Apache-2.0
// Whether a needle stands where it was asked to, and clips hang where they were said to.
#include <algorithm>

#include "session/guide/driver.hpp"

namespace isthmus::session {
namespace {

constexpr int kMostWrong = 3;  // the same pad, told each time: then it is taken as it is

}  // namespace

std::vector<PointId> Driver::points_near(const std::vector<plan::Channel>& clips,
                                         const Job& job) const {
  std::vector<PointId> list;
  for (const plan::Channel c : clips) {
    const auto clip = std::ranges::find(round_.clips, c, &plan::HandClip::channel);
    if (clip == round_.clips.end()) continue;
    const auto& group = board_.expectation.point(clip->point).group;
    PointId best = clip->point;
    const auto far = [&](PointId p) {
      return distance_nm(board_.expectation.point(p).at, job.touch.at);
    };
    if (group) {
      for (const PointId p : board_.expectation.group(*group).points) {
        if (far(p) < far(best)) best = p;
      }
    }
    list.push_back(best);
  }
  return list;
}

// Whether what it conducts to fits the pad that was asked for. Nothing is booked otherwise: it may be
// the next net's pad, or a clip that hangs on another wire than was said.
Driver::Pad Driver::pad_of(Job& job) {
  const plan::Placement p = placement_for(job);
  const plan::Channel needle = tips(job).channel;
  const auto own = plan::own_channels(board_, p, needle);
  job.heard_own = own.empty() ? own : watch_.conducts_to(own);
  if (!job.heard_own.empty()) return Pad::right;
  const auto others = plan::other_channels(board_, p, needle);
  if (others.empty()) return Pad::right;
  const auto heard = watch_.conducts_to(others);
  if (heard.empty()) return Pad::right;  // open, or beside: its own readings say
  const Swapped swapped = exchanged(job, heard);
  if (swapped == Swapped::yes) return pad_of(job);
  if (swapped == Swapped::perhaps) return Pad::later;
  job.wrong = heard == job.heard ? job.wrong + 1 : 1;
  job.heard = heard;
  if (job.wrong >= kMostWrong) return Pad::right;
  tell(event::Wrong{touch_, job.touch.point, points_near(heard, job)});
  job.again = true;
  return Pad::wrong;
}

// Two clips that each answer for the other's net were exchanged when they were fitted. Until the
// other net was asked as well nothing is known.
Driver::Swapped Driver::exchanged(const Job& job, const std::vector<plan::Channel>& heard) {
  if (heard.size() != 1 || answered_.contains(heard[0])) return Swapped::no;
  const auto channels = plan::own_channels(board_, placement_for(job), tips(job).channel);
  const auto own = std::ranges::find_if(round_.clips, [&](const plan::HandClip& c) {
    return std::ranges::find(channels, c.channel) != channels.end();
  });
  const auto other = std::ranges::find(round_.clips, heard[0], &plan::HandClip::channel);
  if (own == round_.clips.end() || other == round_.clips.end() || answered_.contains(own->channel))
    return Swapped::no;
  answered_instead_[own->channel] = heard[0];
  const auto back = answered_instead_.find(heard[0]);
  if (back == answered_instead_.end() || back->second != own->channel) {
    const auto& group = board_.expectation.point(other->point).group;
    if (!group) return Swapped::no;
    std::vector<PointId> places = board_.expectation.group(*group).points;
    std::erase(places, other->point);
    queue_.push_front(job);
    if (ask(places, "prove-clip")) return Swapped::perhaps;
    queue_.pop_front();
    return Swapped::no;
  }
  tell(event::Clip{own->channel, own->point, "exchanged", heard[0]});
  answered_instead_.erase(back);
  answered_instead_.erase(own->channel);
  if (!wait_for_done()) return Swapped::no;
  // What was read against either was read against the other.
  for (; !booked_.empty(); booked_.pop_back()) {
    if (run_.knowledge().plan().placements[booked_.back().placement].round != number_) break;
    run_.take_back(booked_.back().placement, "clips exchanged");
    booked_.back().job.again = true;
    queue_.push_front(booked_.back().job);
  }
  std::swap(own->channel, other->channel);
  std::ranges::sort(round_.clips, {}, &plan::HandClip::channel);
  return Swapped::yes;
}

// Nothing conducts there to a clip of its net: the pad is broken off, or cannot be reached, or the
// clip is gone. Where a second place does not hear it either, it is the clip.
void Driver::silent(const Job& job) {
  for (const plan::Channel c : plan::own_channels(board_, placement_for(job), tips(job).channel)) {
    const auto clip = std::ranges::find(round_.clips, c, &plan::HandClip::channel);
    if (clip == round_.clips.end()) continue;
    std::set<PointId>& places = silent_[c];
    places.insert(job.touch.point);
    if (places.size() >= 2) {
      places.clear();
      proven_.erase(c);
      tell(event::Clip{c, clip->point, "lost", std::nullopt});
    }
    const auto& group = board_.expectation.point(job.touch.point).group;
    if (!group) continue;
    std::vector<PointId> elsewhere = board_.expectation.group(*group).points;
    std::erase_if(elsewhere, [&](PointId p) { return p == clip->point || p == job.touch.point; });
    if (clip->point != job.touch.point) elsewhere.push_back(clip->point);
    ask(elsewhere, places.empty() ? "after-clip-lost" : "prove-clip");
  }
}

}  // namespace isthmus::session
